"""The repository of a knowledge base: the few things that sharing needs of git.

Objects, commits and references are read and written, and brought to and from a remote;
the work tree itself is never touched here (`bot.store.worktree`).
"""

import hashlib
import re
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from bot.store.gitrun import (
    MOST_LISTED,
    MOST_OUTPUT,
    SECONDS,
    SECONDS_AWAY,
    SETTINGS,
    Bounds,
    GitError,
    Refused,
    run,
)

NO_FILE = "0" * 40
OURS = "chock"
"""The folder in `.git` that is ours, and where our own references lie."""

_FILE = "100644"
_BRANCH = re.compile(r"[A-Za-z0-9][A-Za-z0-9._/-]{0,99}")
_SHA = re.compile(r"[0-9a-f]{40}|[0-9a-f]{64}")


class Entry(NamedTuple):
    """A file in a tree: its mode, the object, its bytes."""

    mode: str
    sha: str
    size: int

    @property
    def is_file(self) -> bool:
        """Whether it is an ordinary file that nobody can run."""
        return self.mode == _FILE


class Who(NamedTuple):
    """Whose commits these are: a pen name, and the device's id."""

    pen: str
    device: str

    @property
    def called(self) -> str:
        """The pen name as git can write it down."""
        kept = "".join(c if c.isalnum() or c in " -" else " " for c in self.pen)
        return " ".join(kept.split())[:60] or "member"

    @property
    def settings(self) -> tuple[str, ...]:
        """As git is told."""
        device = re.sub(r"[^a-z0-9-]+", "-", self.device.lower()).strip("-")[:64]
        email = f"{device or 'device'}@club.invalid"
        return "-c", f"user.name={self.called}", "-c", f"user.email={email}"


def remote_of(said: str) -> str:
    """A remote as git takes it: an address, or a folder's whole path.

    Raises:
        GitError: it cannot be one, or the folder is not there.
    """
    if not said or said.startswith("-") or "::" in said or not said.isprintable():
        raise GitError(
            f"'{said.encode('unicode_escape').decode()}' is no remote; write a folder "
            "or an address such as ssh://host/club.git"
        )
    if "://" in said or re.match(r"[^/\\:]{2,}:", said):
        return said
    folder = Path(said).expanduser().absolute()
    if not folder.is_dir():
        raise GitError(
            f"no folder '{folder}'; plug in the stick it is on, or write where it is"
        )
    return str(folder)


AT_ONCE = 500
"""Contents asked for at once, so that what git prints stays within its bounds."""


class Git:
    """The repository of a knowledge base."""

    def __init__(self, kb: Path) -> None:
        """Open it; nothing is looked at before it is asked for."""
        self.kb = kb
        self.folder = kb / ".git"
        self.ours = self.folder / OURS
        self._trees: dict[str, Mapping[str, Entry]] = {}

    def run(
        self,
        *words: str,
        given: bytes = b"",
        who: Who | None = None,
        index: Path | None = None,
        seconds: float = SECONDS,
        most: int = MOST_OUTPUT,
    ) -> bytes:
        """What a command prints.

        Raises:
            Refused: it ended with an error.
            GitError: it took too long or printed too much.
        """
        settings = who.settings if who else ()
        where = (f"--git-dir={self.folder}", f"--work-tree={self.kb}")
        command = ("git", *where, *SETTINGS, *settings, *words)
        more = {"GIT_INDEX_FILE": str(index)} if index else {}
        bounds = Bounds(seconds, most, self.folder / "objects" / "pack")
        return run(command, self.kb, given, more, bounds)

    def asked(self, *words: str) -> str:
        """What a command prints, without its line end; "" where it finds nothing."""
        try:
            return self.run(*words).decode("utf-8", "replace").strip()
        except Refused:
            return ""

    def make(self) -> None:
        """Make the repository, if there is none; its branch is main."""
        quiet = ("--quiet", "--template=", "--initial-branch=main")
        run(("git", *SETTINGS, "init", *quiet), self.kb)
        self.run("config", "core.fileMode", "false")
        self.ours.mkdir(exist_ok=True)

    def form(self) -> str:
        """A name as long as git's names of contents are here, for `blob_name`."""
        is_long = self.asked("rev-parse", "--show-object-format") == "sha256"
        return NO_FILE + "0" * 24 if is_long else NO_FILE

    def origin(self, remote: str) -> str:
        """Where plain git commands share with; set where nothing was said yet."""
        found = self.asked("config", "--local", "--get", "remote.origin.url")
        if not found:
            self.run("config", "remote.origin.url", remote)
            spec = "+refs/heads/*:refs/remotes/origin/*"
            self.run("config", "remote.origin.fetch", spec)
        return found or remote

    def follow(self, branch: str, there: str) -> None:
        """Have plain git commands on that branch share with the one of that name."""
        if not self.asked("config", "--local", "--get", f"branch.{branch}.merge"):
            self.run("config", f"branch.{branch}.remote", "origin")
            self.run("config", f"branch.{branch}.merge", f"refs/heads/{there}")

    def branch(self) -> str:
        """The branch that the work tree is on.

        Raises:
            GitError: it is on none, or in the midst of something begun by hand.
        """
        for name in ("MERGE_HEAD", "rebase-merge", "rebase-apply", "CHERRY_PICK_HEAD"):
            if (self.folder / name).exists():
                raise GitError(
                    "a merge begun by hand is not at its end; say git commit, or "
                    "git merge --abort (git rebase --abort), then share"
                )
        found = self.asked("symbolic-ref", "-q", "HEAD").removeprefix("refs/heads/")
        if not _BRANCH.fullmatch(found):
            raise GitError("git is on no branch here; say git switch main, then share")
        return found

    def commit_of(self, name: str) -> str:
        """The commit that a reference means; "" where there is none."""
        return self.asked("rev-parse", "--quiet", "--verify", f"{name}^{{commit}}")

    def tree(self, commit: str) -> Mapping[str, Entry]:
        """All files of a commit, by path; none for no commit."""
        if commit not in self._trees:
            self._trees[commit] = self._tree(commit) if commit else {}
        return self._trees[commit]

    def _tree(self, commit: str) -> dict[str, Entry]:
        words = ("ls-tree", "-r", "-z", "-l", "--full-tree", commit)
        said = self.run(*words, most=MOST_LISTED)
        found: dict[str, Entry] = {}
        for row in said.split(b"\0")[:-1]:
            look, _, path = row.partition(b"\t")
            mode, _, sha, size = look.decode("ascii").split()
            name = path.decode("utf-8", "backslashreplace")
            found[name] = Entry(mode, sha, int(size) if size.isdigit() else 0)
        return found

    def blobs(self, shas: Iterable[str]) -> dict[str, bytes]:
        """The contents of objects, by their names."""
        wanted = sorted(set(shas))
        found: dict[str, bytes] = {}
        for first in range(0, len(wanted), AT_ONCE):
            found |= self._some_blobs(wanted[first : first + AT_ONCE])
        return found

    def _some_blobs(self, wanted: list[str]) -> dict[str, bytes]:
        given = "".join(f"{sha}\n" for sha in wanted).encode("ascii")
        said = self.run("cat-file", "--batch", given=given)
        found: dict[str, bytes] = {}
        at = 0
        for sha in wanted:
            ends = said.index(b"\n", at)
            head = said[at:ends].split()
            if len(head) != 3:
                raise GitError("the repository is damaged here; clone the club anew")
            size = int(head[2])
            found[sha] = said[ends + 1 : ends + 1 + size]
            at = ends + size + 2
        return found

    def put(self, contents: Iterable[bytes]) -> dict[bytes, str]:
        """Keep contents as objects; their names."""
        wanted = sorted(set(contents))
        if not wanted:
            return {}
        with tempfile.TemporaryDirectory(dir=self.ours) as folder:
            paths = [Path(folder, str(n)) for n in range(len(wanted))]
            for path, data in zip(paths, wanted, strict=True):
                path.write_bytes(data)
            given = "".join(f"{path}\n" for path in paths).encode("utf-8")
            keep = ("hash-object", "-w", "--no-filters", "--stdin-paths")
            said = self.run(*keep, given=given)
        return dict(zip(wanted, said.decode("ascii").split(), strict=True))

    def commit(
        self,
        files: Mapping[str, str],
        parents: Sequence[str],
        subject: str,
        who: Who,
    ) -> str:
        """Write a commit of those files, path -> object; nothing points to it yet."""
        index = self.ours / "making"
        index.unlink(missing_ok=True)
        rows = (f"{_FILE} {sha}\t{path}\0" for path, sha in sorted(files.items()))
        given = "".join(rows).encode("utf-8")
        self.run("update-index", "-z", "--index-info", given=given, index=index)
        tree = self.run("write-tree", index=index).decode("ascii").strip()
        index.unlink(missing_ok=True)
        after = [word for parent in parents for word in ("-p", parent)]
        said = self.run("commit-tree", *after, "-m", subject, tree, who=who)
        return said.decode("ascii").strip()

    def bases(self, one: str, two: str) -> list[str]:
        """The best commits that both come from."""
        return sorted(self.asked("merge-base", "--all", one, two).split())

    def heads(self, remote: str) -> tuple[str, dict[str, str]]:
        """The branch that a remote begins with, and all its branches with commits.

        Raises:
            GitError: there is no repository, or no way to it.
        """
        ask = ("ls-remote", "--symref", "--", remote, "HEAD", "refs/heads/*")
        said = self.run(*ask, seconds=SECONDS_AWAY).decode("utf-8", "replace")
        first, heads = "", {}
        for line in said.splitlines():
            what, _, name = line.partition("\t")
            branch = name.removeprefix("refs/heads/")
            if what.startswith("ref: refs/heads/"):
                first = what.removeprefix("ref: refs/heads/")
            elif branch != name and _BRANCH.fullmatch(branch) and _SHA.fullmatch(what):
                heads[branch] = what
        return first, heads

    def fetch(self, remote: str, branch: str) -> str:
        """Bring what is on a branch of a remote here; its commit.

        Raises:
            GitError: it cannot be brought.
        """
        name = f"refs/{OURS}/incoming"
        quiet = (
            "--quiet",
            "--no-tags",
            "--no-recurse-submodules",
            "--no-write-fetch-head",
        )
        spec = f"+refs/heads/{branch}:{name}"
        self.run("fetch", *quiet, "--", remote, spec, seconds=SECONDS_AWAY)
        return self.commit_of(name)

    def push(self, remote: str, commit: str, branch: str) -> None:
        """Put a commit on a branch of a remote, if it goes on from what is there.

        Raises:
            Refused: somebody was faster, or nothing may be written there.
        """
        spec = f"{commit}:refs/heads/{branch}"
        quiet = ("--quiet", "--no-follow-tags", "--recurse-submodules=no")
        self.run("push", *quiet, "--", remote, spec, seconds=SECONDS_AWAY)

    def outgoing(self, commit: str, there: str) -> list[tuple[str, str]]:
        """The files of all commits that the other side has not: path and object."""
        without = ("--not", there) if there else ()
        said = self.run("rev-list", "--objects", commit, *without)
        rows = (row.partition(b" ") for row in said.splitlines())
        named = [
            (path.decode("utf-8", "backslashreplace"), sha)
            for sha, _, path in rows
            if path
        ]
        given = b"".join(sha + b"\n" for _, sha in named)
        if not named:
            return []
        kinds = self.run("cat-file", "--batch-check", given=given).split(b"\n")
        pairs = zip(named, kinds, strict=False)
        return [
            (path, sha.decode()) for (path, sha), kind in pairs if b" blob " in kind
        ]

    def advance(self, name: str, new: str, old: str | None = None) -> None:
        """Have a reference mean another commit, if it still means the old one.

        An empty `old` means that there is none yet, None that it does not matter.
        """
        self.run("update-ref", name, new, *([] if old is None else [old or NO_FILE]))

    def settle(self, commit: str) -> None:
        """Make git's own list of the work tree's files that of a commit."""
        index = self.ours / "index"
        index.unlink(missing_ok=True)
        self.run("read-tree", commit, index=index)
        with suppress(Refused):  # some files are other than in the commit, and may be
            self.run("update-index", "-q", "--refresh", index=index)
        index.replace(self.folder / "index")


def blob_name(data: bytes, like: str = NO_FILE) -> str:
    """The name that git gives to a content; of the length that `like` has."""
    digest = hashlib.new("sha256" if len(like) > 40 else "sha1", usedforsecurity=False)
    digest.update(b"blob %d\0" % len(data))
    digest.update(data)
    return digest.hexdigest()
