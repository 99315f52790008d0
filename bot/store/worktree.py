"""The files of a knowledge base beside its commits: looked at, and brought to another.

All or nothing: what is to stand where is written down first (the plan), from there on
it is carried out, by whoever comes next if need be, and only then the branch means the
new commit. A file that somebody wrote meanwhile is never touched; what it began from is
noted (`behind`), so that its next commit takes nothing back.
"""

import os
import shutil
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from time import monotonic, sleep
from typing import NamedTuple

from bot.club import lines
from bot.club.names import allowed, most_bytes
from bot.model.place import BotError
from bot.store.files import read_whole, sync_folder, write_whole
from bot.store.git import OURS, Git, blob_name

FOLDERS = ("cards", "procedures", "notes", "stop-rules", "club")
MOST_DEPTH = 6
PATIENCE_S = 1.0
"""No command of git holds one of the locks that are ours for as long. Our choice."""

NONE, ODD = "-", "?"
"""In place of an object's name: no file, and something that cannot be read as one."""

_PLAN = lines.Grammar(
    "the plan of an exchange",
    ("branch", "old", "new", "file"),
    frozenset({"file"}),
    most_bytes=16_000_000,
    most_lines=100_000,
)
_BEHIND = _PLAN._replace(called="what is behind its commit", names=("file",))


class Look(NamedTuple):
    """The files of a knowledge base by path, and what lies there but cannot be read.

    Of these it is said why.
    """

    files: Mapping[str, bytes]
    odd: Mapping[str, str]


class Move(NamedTuple):
    """A file to be brought from one object to another; `NONE` for no file."""

    path: str
    old: str
    new: str


class Plan(NamedTuple):
    """What the branch and the files were, and what they shall be."""

    branch: str
    old: str
    new: str
    moves: tuple[Move, ...]


def look(kb: Path) -> Look:
    """All files that may be shared, as they are now.

    Raises:
        BotError: a folder cannot be looked into, so that nobody can tell what is gone.
    """
    files: dict[str, bytes] = {}
    odd: dict[str, str] = {}
    for path, name in _files(kb):
        try:
            if path.is_symlink():
                odd[name] = "it is a link; put the file itself there"
            elif allowed(name):
                files[name] = read_whole(path, most_bytes(name))
                files[name].decode("utf-8")
            elif name.endswith((".md", ".txt", ".yaml", ".json")):
                odd[name] = "no file of that name is shared; see kb/README.md"
        except OSError as error:
            odd[name] = f"it cannot be read ({error.strerror})"
        except UnicodeDecodeError:
            files.pop(name)
            odd[name] = "it is not UTF-8 text; save it as UTF-8"
    return Look(files, odd)


def _files(kb: Path) -> Iterator[tuple[Path, str]]:
    """What may be a file, and its path in the knowledge base, in order."""
    waiting = [kb]
    while waiting:
        folder = waiting.pop()
        for entry in sorted(_entries(folder), key=lambda entry: entry.name):
            path = folder / entry.name
            name = path.relative_to(kb).as_posix()
            is_ours = folder != kb or entry.name in FOLDERS
            if entry.name.encode("utf-8", "replace").decode() != entry.name:
                continue
            if entry.is_dir(follow_symlinks=False):
                if is_ours and name.count("/") < MOST_DEPTH and name[0] != ".":
                    waiting.append(path)
            elif is_ours and entry.is_symlink() and path.is_dir():
                raise BotError(
                    f"'{name}' is a link to a folder; put the folder itself there, "
                    "then share"
                )
            elif allowed(name) or (is_ours and entry.name[0] != "." and "/" in name):
                yield path, name


def _entries(folder: Path) -> list[os.DirEntry[str]]:
    try:
        with os.scandir(folder) as entries:
            return list(entries)
    except OSError as error:
        raise BotError(
            f"'{folder}' cannot be looked into ({error.strerror}); mend that, then "
            "share"
        ) from None


def recover(git: Git) -> tuple[str, ...]:
    """Carry out what a death left half done; the files left alone come back."""
    if not git.ours.is_dir():
        return ()
    ours = (git.ours, git.folder / "refs" / OURS, git.folder / "refs" / "remotes")
    _unlock([lock for folder in ours for lock in folder.rglob("*.lock")])
    for name in ("making", "index"):
        (git.ours / name).unlink(missing_ok=True)
    for folder in git.ours.glob("tmp*"):
        shutil.rmtree(folder, ignore_errors=True)
    try:
        data = read_whole(git.ours / "plan", _PLAN.most_bytes)
    except FileNotFoundError:
        return ()
    said = lines.read(data, _PLAN)
    moves = tuple(Move(*row.split(" ")) for row in said["file"])
    old = "" if said["old"][0] == NONE else said["old"][0]
    plan = Plan(said["branch"][0], old, said["new"][0], moves)
    branch = git.folder / "refs" / "heads" / f"{plan.branch}.lock"
    _unlock([branch, git.folder / "HEAD.lock"])  # HEAD too: it means that branch
    if git.commit_of(f"refs/heads/{plan.branch}") in (plan.old, plan.new):
        return _carry_out(git, plan)
    (git.ours / "plan").unlink()  # somebody went on by hand: his commit counts
    return ()


def _unlock(locks: Iterable[Path]) -> None:
    """Take away locks of a git that died; one that is at work has ended by then."""
    until = monotonic() + PATIENCE_S
    for lock in locks:
        while lock.exists() and monotonic() < until:
            sleep(0.02)
        lock.unlink(missing_ok=True)


def bring(git: Git, plan: Plan) -> tuple[str, ...]:
    """Bring the work tree and its branch to a commit; the files left alone come back.

    Raises:
        OSError: the disk failed; either nothing was changed or `recover` goes on.
    """
    rows = tuple(" ".join(move) for move in plan.moves)
    data = lines.write(
        (
            ("branch", plan.branch),
            ("old", plan.old or NONE),
            ("new", plan.new),
            ("file", rows),
        ),
        _PLAN,
    )
    write_whole(git.ours / "plan", data.decode("utf-8"))
    return _carry_out(git, plan)


def _carry_out(git: Git, plan: Plan) -> tuple[str, ...]:
    left: dict[str, str] = {}
    contents = git.blobs(move.new for move in plan.moves if move.new != NONE)
    staged = git.ours / "tmp-file"
    touched: set[Path] = set()
    for move in plan.moves:
        path = git.kb / move.path
        now = _now(path, move)
        if now == move.new:
            continue
        if now not in (move.old, NONE):
            left[move.path] = move.old
            continue
        touched.add(path.parent)
        if move.new == NONE:
            path.unlink(missing_ok=True)
        else:
            _write(staged, contents[move.new])
            _take_up(staged, path, move, left)
    for folder in touched:
        _tidy(folder, git.kb)
    _note(git, left)
    name = f"refs/heads/{plan.branch}"
    if git.commit_of(name) != plan.new:
        git.advance(name, plan.new, plan.old)
    git.settle(plan.new)
    (git.ours / "plan").unlink()
    sync_folder(git.ours)
    return tuple(sorted(left))


def _now(path: Path, move: Move) -> str:
    """The name of what lies there now."""
    try:
        if path.is_symlink():
            return ODD
        like = move.old if move.old != NONE else move.new
        return blob_name(read_whole(path), like)
    except FileNotFoundError:
        return NONE
    except OSError:
        return ODD


def _take_up(staged: Path, path: Path, move: Move, left: dict[str, str]) -> None:
    """Put a file in its place, unless somebody wrote there this very moment."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError):  # a file where a folder should be
        left[move.path] = move.old
        return
    if _now(path, move) in (move.old, NONE):
        staged.replace(path)
    else:
        left[move.path] = move.old


def _write(path: Path, data: bytes) -> None:
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _tidy(folder: Path, kb: Path) -> None:
    """Have the names in a folder on the disk; one that is empty now is taken away."""
    while folder.parent != kb and folder != kb:
        try:
            folder.rmdir()
        except FileNotFoundError:
            pass
        except OSError:
            break
        folder = folder.parent
    sync_folder(folder)


def behind(git: Git) -> dict[str, str]:
    """Files that are not edits of what the commit has, and what they are edits of."""
    try:
        data = read_whole(git.ours / "behind", _BEHIND.most_bytes)
    except FileNotFoundError:
        return {}
    rows = (row.split(" ") for row in lines.read(data, _BEHIND)["file"])
    return {path: sha for sha, path in rows}


def _note(git: Git, left: Mapping[str, str]) -> None:
    """Note what was left alone now; what was behind before stays so."""
    was = behind(git)
    if any(path not in was for path in left):
        _write_behind(git, {**left, **was})


def caught_up(git: Git, paths: Iterable[str]) -> None:
    """Note that files are edits of what the commit has again, or are what it has."""
    was = behind(git)
    kept = {path: sha for path, sha in was.items() if path not in set(paths)}
    if kept != was:
        _write_behind(git, kept)


def _write_behind(git: Git, rows: Mapping[str, str]) -> None:
    said = tuple(f"{sha} {path}" for path, sha in sorted(rows.items()))
    write_whole(git.ours / "behind", lines.write((("file", said),), _BEHIND).decode())
