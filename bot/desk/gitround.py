"""One exchange with a remote: what changed here, what is new there, what both make.

Each step is a commit that nothing points to yet; `bot.store.worktree` then brings
branch and files to it. So every step is there whole or not at all.
"""

from collections.abc import Iterable, Mapping
from contextlib import suppress
from time import sleep
from typing import NamedTuple

from bot.club import names
from bot.club.clashes import Clash
from bot.club.joined import (
    AS_THEY_ARE,
    ATTRIBUTES,
    aside_path,
    counted,
    join,
    kind_of,
    needs_content,
)
from bot.desk.gate import Checks, look_through, why_not, why_stays
from bot.model.place import BotError
from bot.store import worktree
from bot.store.files import write_whole
from bot.store.git import Git, Who, blob_name
from bot.store.gitrun import GitError, Refused
from bot.store.worktree import NONE, Look, Move, Plan

TRIES, PAUSE_S = 8, 0.05
"""How often it is tried when others are faster, and the first pause. Our choice."""

EDITED = "it was written to this very moment; share again, and it is put together"
Shas = Mapping[str, str]
"""Files by path, each by the name of its content."""


class Change(NamedTuple):
    """A file that is new, changed or gone, and what people call such a file."""

    path: str
    kind: str
    how: str


class Conflict(NamedTuple):
    """A file of which two edits do not go together.

    It is theirs now; ours lies at `aside`.
    """

    path: str
    aside: str
    clashes: tuple[Clash, ...]

    def __str__(self) -> str:
        told = "; ".join(str(clash) for clash in self.clashes)
        return f"{self.path}: {told}; yours is set aside as {self.aside}"


class Stay(NamedTuple):
    """A file that is not shared as it is here, and why."""

    path: str
    why: str


class Exchanged(NamedTuple):
    """What went out, what came in, what clashed, what stays here.

    `unsent` says why nothing went out though something should have; else it is empty.
    """

    shared: tuple[Change, ...] = ()
    came: tuple[Change, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    stays: tuple[Stay, ...] = ()
    unsent: str = ""


class _Made(NamedTuple):
    """A tree in the making, and what the work tree needs to be like it.

    `fresh` are contents that git may not have yet, by their names.
    """

    files: dict[str, str]
    moves: list[Move]
    fresh: dict[str, bytes]


class Round:
    """One exchange."""

    def __init__(self, git: Git, there: str, who: Who, checks: Checks) -> None:
        self.git = git
        self.there = there
        self.who = who
        self.checks = checks
        self.branch = git.branch()
        self.at = self.branch
        self.form = git.form()
        self.stays: dict[str, str] = {}
        self.conflicts: list[Conflict] = []
        self.passed: set[tuple[str, str]] = set()

    def run(self) -> Exchanged:
        """All of it, again and again while somebody else is faster."""
        own = here = self._own()
        theirs, unsent = "", ""
        for nth in range(TRIES):
            here, theirs = self._take(here)
            unsent, is_over = self._send(here, theirs)
            if is_over:
                break
            sleep(PAUSE_S * (1 + nth * (sum(self.who.device.encode()) % 7)))
        if not unsent and (own, theirs) != (here, here):
            self._shared(here)
        before, now = self._shas(theirs), self._shas(here)
        return Exchanged(
            () if unsent else _changes(before, now),
            _changes(self._shas(own), now),
            tuple(self.conflicts),
            tuple(Stay(path, why) for path, why in sorted(self.stays.items())),
            unsent,
        )

    def begin(self) -> tuple[Change, ...]:
        """Take what the remote has into an empty work tree."""
        self.branch = self._branch_there(*self.git.heads(self.there))
        self.git.run("symbolic-ref", "HEAD", f"refs/heads/{self.branch}")
        here, _ = self._take("")
        if not here:
            raise GitError(f"nothing is at '{self.there}' yet; share something first")
        self._shared(here)
        return _changes({}, self._shas(here))

    def _shas(self, commit: str) -> dict[str, str]:
        return {path: entry.sha for path, entry in self.git.tree(commit).items()}

    def _fresh(self, made: _Made, path: str, data: bytes) -> str:
        """Have a file with that content in a tree; the content's name."""
        name = blob_name(data, self.form)
        made.files[path] = name
        made.fresh[name] = data
        return name

    def _commit(self, made: _Made, was: Shas, parents: list[str], does: str) -> str:
        self.git.put(made.fresh.values())
        self.passed |= {(path, sha) for path, sha in made.files.items()}
        told = counted(change.path for change in _changes(was, made.files))
        subject = f"{self.who.called}: {does}{told or 'nothing new'}"
        return self.git.commit(made.files, parents, subject, self.who)

    def _bring(self, old: str, new: str, moves: Iterable[Move]) -> None:
        for path in worktree.bring(self.git, Plan(self.branch, old, new, tuple(moves))):
            self.stays.setdefault(path, EDITED)

    def _aside(
        self, made: _Made, path: str, data: bytes, clashes: tuple[Clash, ...]
    ) -> Move:
        aside = aside_path(path, data)
        self.conflicts.append(Conflict(path, aside, clashes))
        return Move(aside, NONE, self._fresh(made, aside, data))

    # What changed here

    def _own(self) -> str:
        """The commit that has what may be shared of the files here; "" for none."""
        if not (self.git.kb / ATTRIBUTES).exists():
            write_whole(self.git.kb / ATTRIBUTES, AS_THEY_ARE.decode())
        head = self.git.commit_of(f"refs/heads/{self.branch}")
        was, seen = self._shas(head), worktree.look(self.git.kb)
        if _pages(was) and not _pages((*seen.files, *seen.odd)):
            raise BotError(
                "all pages are gone here; say git restore . before you share"
            )
        behind = worktree.behind(self.git)
        made = _Made({}, [], {})
        self._fresh(made, ATTRIBUTES, AS_THEY_ARE)
        self.stays.update(seen.odd)
        for path in sorted({*was, *seen.files} - {ATTRIBUTES}):
            self._own_file(made, path, was.get(path, ""), seen, behind)
        commit = head
        if made.files != was and (head or len(made.files) > 1):
            commit = self._commit(made, was, [head] if head else [], "")
        if commit != head or made.moves:
            self._bring(head, commit, made.moves)
        worktree.caught_up(self.git, behind.keys() - self.stays.keys())
        return commit

    def _own_file(
        self, made: _Made, path: str, was: str, seen: Look, behind: Shas
    ) -> None:
        """What is committed of one file."""
        data = seen.files.get(path)
        if data is None:
            if was and path in behind and path not in seen.odd:
                made.moves.append(Move(path, NONE, was))  # what waited comes
            if was and (path in behind or path in seen.odd) and names.allowed(path):
                made.files[path] = was
            return
        if blob_name(data, self.form) == was:
            made.files[path] = was
            return
        why = why_stays(path, data, seen, bool(was), self.checks)
        if why:
            self.stays[path] = why
            if was:
                made.files[path] = was
        elif path in behind:
            self._late(made, path, behind[path], data, was)
        else:
            self._fresh(made, path, data)

    def _late(self, made: _Made, path: str, base: str, data: bytes, was: str) -> None:
        """Put together a file that was written before what is committed came."""
        known = self.git.blobs(sha for sha in (base, was) if sha not in (NONE, ""))
        joined = join(path, known.get(base), data, known.get(was), self.checks.reads)
        old, new = blob_name(data, self.form), NONE
        if joined.kept is not None:
            new = self._fresh(made, path, joined.kept)
        if new != old:
            made.moves.append(Move(path, old, new))
        if joined.aside is not None:
            made.moves.append(self._aside(made, path, joined.aside, joined.clashes))

    # What is new there

    def _take(self, here: str) -> tuple[str, str]:
        """Take in what is there; the commit here then, and the one that is there."""
        first, heads = self.git.heads(self.there)
        self.at = self._branch_there(first, heads)
        if heads.get(self.at, "") in ("", here):
            return here, heads.get(self.at, "")
        theirs = self.git.fetch(self.there, self.at)
        bases = self.git.bases(here, theirs) if here else []
        if theirs in bases:
            return here, theirs
        tree, ours = self.git.tree(theirs), self._shas(here)
        look_through(self.git, tree, ours.values())
        made = self._together(ours, self._shas(theirs), [self._shas(b) for b in bases])
        if _pages(ours) and not _pages(made.files):
            raise BotError("no page is left in what is shared there; ask the club why")
        is_ours = not here or here in bases
        new = theirs
        if not is_ours or made.files != self._shas(theirs):
            parents = [theirs] if is_ours else [here, theirs]
            new = self._commit(made, ours, parents, "takes in ")
        moves = (
            Move(path, ours.get(path, NONE), made.files.get(path, NONE))
            for path in sorted({*ours, *made.files})
        )
        self._bring(here, new, (move for move in moves if move.old != move.new))
        return new, theirs

    def _branch_there(self, first: str, heads: Shas) -> str:
        """The branch of the remote that the club shares."""
        if self.branch in heads or not heads:
            return self.branch
        only = next(iter(heads)) if len(heads) == 1 else ""
        found = first if first in heads else only
        if not found:
            raise GitError(
                f"of the branches there none is '{self.branch}'; say git switch -c "
                f"with one of these names: {', '.join(sorted(heads))[:200]}"
            )
        return found

    def _together(self, ours: Shas, theirs: Shas, bases: list[dict[str, str]]) -> _Made:
        """The tree that two make together."""
        made = _Made({}, [], {})
        wanted: list[tuple[str, str, str, str]] = []
        for path in sorted({*ours, *theirs}):
            one, two = ours.get(path, ""), theirs.get(path, "")
            base = _base(one, two, [tree.get(path, "") for tree in bases])
            taken = one if two == base else two
            if one == two and path != ATTRIBUTES:
                made.files[path] = one
            elif base in (one, two) and not needs_content(path):
                made.files.update({path: taken} if taken else {})
            else:
                wanted.append((path, base, one, two))
        known = self.git.blobs(sha for _, *shas in wanted for sha in shas if sha)
        for path, *shas in wanted:
            old, ours_now, theirs_now = (known.get(sha) for sha in shas)
            joined = join(path, old, ours_now, theirs_now, self.checks.reads)
            if joined.kept is not None:
                self._fresh(made, path, joined.kept)
            if joined.aside is not None:
                self._aside(made, path, joined.aside, joined.clashes)
        return made

    # What goes out

    def _send(self, here: str, theirs: str) -> tuple[str, bool]:
        """Pass on what is new here; why it was not, and whether that is the end."""
        if not here:
            return "", True
        if here != theirs:
            if why := self._gate(here, theirs):
                return why, True
            try:
                self.git.push(self.there, here, self.at)
            except Refused as error:
                _, heads = self.git.heads(self.there)
                is_over = heads.get(self.at, "") == theirs
                faster = "others are faster again and again; share again in a while"
                return (str(error) if is_over else faster), is_over
        return "", True

    def _gate(self, here: str, theirs: str) -> str:
        """Why something in the commits that would be passed on may not be, or ""."""
        out = [one for one in self.git.outgoing(here, theirs) if one not in self.passed]
        known = self.git.blobs(sha for path, sha in out if names.allowed(path))
        for path, sha in out:
            if why := why_not(path, known.get(sha, b""), self.checks):
                return (
                    f"a commit made by hand holds {path!a}: {why}; take it out of "
                    "the commits before you share"
                )
        return ""

    def _shared(self, here: str) -> None:
        """Have plain git commands know what the remote has, and git tidy up."""
        if self.git.origin(self.there) == self.there:
            self.git.follow(self.branch, self.at)
            self.git.advance(f"refs/remotes/origin/{self.at}", here)
        with suppress(Refused):
            self.git.run("gc", "--auto", "--quiet")


def _base(one: str, two: str, bases: list[str]) -> str:
    """What both began with, where they have more than one beginning in common.

    What one side still has of any of them it has not changed.
    """
    return next((sha for sha in (one, two) if sha in bases), bases[0] if bases else "")


def _pages(paths: Iterable[str]) -> bool:
    return any(names.PAGE.fullmatch(path) for path in paths)


def _changes(old: Shas, new: Shas) -> tuple[Change, ...]:
    found = []
    for path in sorted({*old, *new}):
        if old.get(path) != new.get(path):
            how = "new" if path not in old else "changed" if path in new else "gone"
            found.append(Change(path, kind_of(path), how))
    return tuple(found)
