"""The two copies of every job's lines, kept alike: the files, and a second.

A line is on the disk in the job's file before `add` returns, and in the second copy
too unless a remark says otherwise. What one copy has wrong is put right from the other
when a job is read; what both have lost is marked by a line of its own.
"""

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from itertools import chain, count
from os import urandom
from pathlib import Path
from typing import TypeVar

from bot.store.chain import (
    DIGEST,
    EDITION,
    Best,
    Line,
    best,
    read_head,
    write_head,
    write_line,
)
from bot.store.errors import JournalError, MovedOn
from bot.store.jobfiles import JobFiles, MovedOnError, Tail
from bot.store.lock import alone
from bot.store.mending import rechained, wrongs
from bot.store.salvage import salvaged
from bot.store.second import DamagedError, Ended, Listed, Second

JOBS, SECOND, LOCK = "jobs", "jobs-2.db", "jobs.lock"
PATIENCE_S = 5.0
"""So long another window may write. Our choice."""

GONE = (
    "The second copy of the jobs was not there, and was made anew from the jobs' files."
)
BOTH_GONE = (
    "Jobs were kept here, and neither their files nor the second copy is there; "
    "'chock jobs restore FILE' takes a backup back."
)
DAMAGED = "What was looked up of the jobs was damaged, and was made anew."

BROKEN = (sqlite3.Error, ValueError, TypeError, OverflowError)
"""What Python's reader of databases raises at a damaged one; it tries to read even the
garbage in the message of an error."""

_DAMAGE = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_ERROR)
_Told = TypeVar("_Told")
LookUp = Callable[[int], tuple[Listed, Ended | None]]
"""From a file's size in bytes, what is to be looked up of its job."""


class Copies:
    """Both copies, in one folder."""

    def __init__(self, home: Path) -> None:
        """Open them.

        Args:
            home: the folder, which is there.
        """
        self.home = home
        self.remarks: list[str] = []
        self.files = JobFiles(home / JOBS)
        self.second: Second | None = None
        self.is_fresh = False
        self._tails: dict[int, Tail] = {}
        self._is_filling = False
        self._open_second()

    def close(self) -> None:
        """Close what is open."""
        if self.second:
            self.second.close()

    def remark(self, says: str) -> None:
        """Note what happened, once."""
        if says not in self.remarks:
            self.remarks.append(says)

    def _open_second(self) -> None:
        """Open the second copy; a damaged one is set aside, and made anew."""
        path = self.home / SECOND
        try:
            self.second = Second(path)
        except BROKEN as error:
            self.second = None
            if not _is_damage(error):
                self.remark(f"No second copy of the jobs is kept here ({error}).")
                return
            self._begin_second()
        else:
            self.is_fresh = self.second.is_new or self.second.is_older
            if self.second.is_new and any(self.files.numbers()):
                self.remark(GONE)
            elif self.second.is_new and self.files.folder.is_dir():
                self.remark(BOTH_GONE)

    def _begin_second(self) -> None:
        """Set the damaged second copy aside, and begin a new one."""
        path = self.home / SECOND
        try:
            aside = set_aside(path)
            self.second = Second(path)
        except (*BROKEN, OSError) as error:
            self.remark(f"No second copy of the jobs is kept here ({error}).")
            return
        self.is_fresh = True
        self.remark(
            f"The second copy of the jobs was damaged. It is kept as {aside.name} and "
            "was made anew from the jobs' files."
        )
        for job, found in salvaged(aside, self.files.numbers()):
            self._bring_back(job, found)

    def _bring_back(self, job: int, found: Best) -> None:
        """Write the file of a job anew from what was left of its second copy alone."""
        try:
            self.files.replace(job, rechained(found))
        except OSError as error:
            self.remark(f"Job {job} cannot be put right here ({error.strerror}).")
            return
        for wrong, right in wrongs(job, found):
            self.remark(f"{wrong}: {right}.")

    def renew_second(self) -> bool:
        """Begin a new second copy if anything is wrong with this one, or none is."""
        if self.second is None:
            self._open_second()
        second = self.second
        nothing: tuple[str, ...] = ()
        wrong = self.ask(lambda second: tuple(second.wrongs()), nothing)
        if second and second is self.second and wrong:
            second.close()
            self._begin_second()
        return self.is_fresh

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Nobody else writes meanwhile.

        Raises:
            JournalError: another window writes, or nothing can be written here.
        """
        try:
            with alone(self.home / LOCK, PATIENCE_S) as is_alone:
                if not is_alone:
                    raise JournalError("another window is writing all the time")
                yield
        except OSError as error:
            raise JournalError(error.strerror or f"{error}") from error

    def ask(self, asked: Callable[[Second], _Told], otherwise: _Told) -> _Told:
        """What the second copy answers, or something else where it cannot."""
        if self.second is None:
            return otherwise
        try:
            return asked(self.second)
        except BROKEN as error:
            self.second.close()
            self.second = None
            if _is_damage(error):
                self._open_second()
            else:
                self.remark(f"The second copy of the jobs was not written ({error}).")
            return otherwise

    def numbers(self) -> list[int]:
        """All jobs that either copy knows, in order."""
        nothing: set[int] = set()
        return sorted(self.ask(Second.numbers, nothing).union(self.files.numbers()))

    def claim(self, at: str) -> int:
        """Begin a job: its number is claimed by making its file.

        Raises:
            JournalError: it cannot be made.
        """
        with self.writing():
            highest = self.ask(Second.highest, 0) or max(
                self.files.numbers(), default=0
            )
            for job in count(highest + 1):
                head = write_head(job, at, urandom(8).hex())
                tail = self.files.claim(job, head)
                if tail:
                    self._tails[job] = tail
                    self._put_second(job, 0, [head])
                    return job
        raise AssertionError("numbers have no end")

    def add(self, job: int, lines: Sequence[Line], look_up: LookUp) -> None:
        """Put the lines of one answer behind the last, all or none.

        Raises:
            MovedOn: the job goes on in another window.
            JournalError: nothing was added.
        """
        with self.writing():
            tail = self._tails.get(job)
            if tail is None:
                raise MovedOn(f"job {job} is not open in this window")
            texts: list[str] = []
            digest = tail.digest
            for line in lines:
                texts.append(write_line(digest, line))
                digest = texts[-1][-DIGEST:]
            size = self._add(job, tail, texts)
            self._tails[job] = Tail(size, tail.seq + len(texts), digest)
            self._put_second(job, tail.seq + 1, texts, look_up(size))

    def look_up(self, job: int, look_up: LookUp) -> None:
        """Keep what is looked up of a job that was read, if that is not so already."""
        tail = self._tails[job]

        def keep(second: Second) -> None:
            try:
                size = second.size(job)
            except DamagedError:
                size = None
                self.remark(DAMAGED)
            if size != tail.size:
                second.look_up(*look_up(tail.size))

        self.ask(keep, None)

    def is_stale(self, job: int, size: int) -> bool:
        """Whether a job's file is not as long as it was."""
        return self.files.size(job) != size

    def newer(self) -> Iterator[int]:
        """Jobs whose files the second copy does not know, by their numbers."""
        job = self.ask(Second.highest, 0) + 1
        while self.second and self.files.size(job):
            yield job
            job += 1

    @contextmanager
    def filling(self) -> Iterator[None]:
        """The second copy is filled meanwhile, in one transaction."""
        second = self.second
        if second is None:
            yield
            return
        try:
            with second.writing():
                self._is_filling = True
                yield
                second.is_filled()
        except BROKEN as error:
            self.remark(f"The second copy of the jobs was not written ({error}).")
        finally:
            self._is_filling = False
        self.is_fresh = False

    def next_seq(self, job: int) -> int:
        """The number of the next line of a job that is open in this window."""
        tail = self._tails.get(job)
        return tail.seq + 1 if tail else 1

    def _add(self, job: int, tail: Tail, texts: Sequence[str]) -> int:
        """Add to the file; one that was cut or lost since is put right before."""
        try:
            return self.files.add(job, tail, texts)
        except (MovedOnError, FileNotFoundError):
            found = self._put_right(job)
            if found is None or _tail(found) != tail:
                raise MovedOn(f"job {job} goes on in another window") from None
            return self.files.add(job, tail, texts)

    def _put_second(
        self,
        job: int,
        first: int,
        texts: Sequence[str],
        looked_up: tuple[Listed, Ended | None] | None = None,
    ) -> None:
        """Put lines into the second copy, with what is looked up of the job."""

        def put(second: Second) -> None:
            second.check_length()  # which SQLite would notice at some later answer
            with second.writing():
                second.add(job, first, texts)
                if looked_up:
                    second.look_up(*looked_up)

        was_there = self.second is not None
        if not was_there:
            self._open_second()
        self.ask(put, None)
        if not was_there:
            self._put_right(job)

    def read(self, job: int) -> Best | None:
        """The lines of a job, put right where one copy has them wrong; None for no job.

        Raises:
            JournalError: nothing of it can be proved, or a newer chock wrote it.
        """
        found = self.look_at(job)
        if found and self._is_filling and found.is_missing_in_second:
            texts = found.texts
            self.ask(lambda second: second.replace(job, texts), None)
        elif found and not found.is_sound:
            try:
                with self.writing():
                    found = self._put_right(job)
            except JournalError as error:
                self.remark(f"Job {job} cannot be put right here ({error}).")
        if found:
            self._tails[job] = _tail(found)
        return found

    def put_back(self, job: int, texts: Sequence[str]) -> None:
        """Write both copies of a job anew, from a backup.

        Raises:
            JournalError: they cannot be written.
        """
        with self.writing():
            self.files.replace(job, texts)
            self.ask(lambda second: second.replace(job, texts), None)

    def look_at(self, job: int) -> Best | None:
        """What the copies of a job come to, as they are; None for no job.

        Raises:
            JournalError: nothing of it can be proved, or a newer chock wrote it.
        """
        try:
            first, _ = self.files.read(job)
        except OSError as error:
            self.remark(f"The file of job {job} cannot be read ({error.strerror}).")
            first = []
        second = self.ask(lambda second: second.lines(job), first)
        told = list(filter(None, first))  # a damaged file may be all line feeds
        rows = chain(told, filter(None, second[:1]))
        head = next((h for text in rows if (h := read_head(text))), None)
        if head and head.edition > EDITION:
            raise JournalError(f"job {job} was written by a newer chock; use that one")
        found = best(job, told, second)
        if found is None and any(map(str.strip, chain(told, second))):
            raise JournalError(
                f"nothing in the file of job {job} can be proved; 'chock jobs check' "
                "says what is there"
            )
        if found and not (found.mended or found.torn) and first != [*found.texts, ""]:
            found = found._replace(mended=1)  # a line feed, or what is no line
        return found

    def _put_right(self, job: int) -> Best | None:
        """Make both copies what the better lines of each say; needs `writing`."""
        found = self.look_at(job)
        if found is None or found.is_sound:
            return found
        texts = rechained(found) if found.lost else found.texts
        if found.lost or found.mended:
            self.files.replace(job, texts)
        elif found.torn:
            self.files.cut(job, _tail(found).size)
        if found.lost or found.spare:
            self.ask(lambda second: second.replace(job, texts), None)
        for wrong, right in wrongs(job, found):
            if not self.is_fresh or (self.second and self.second.is_older):
                self.remark(f"{wrong}: {right}.")
        return best(job, texts, texts)


def _tail(found: Best) -> Tail:
    size = sum(len(text) + 1 for text in found.texts)
    return Tail(size, len(found.lines), found.texts[-1][-DIGEST:])


def _is_damage(error: Exception) -> bool:
    """Whether a database is not what it was, and not merely out of reach."""
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT)
    return code & 0xFF in _DAMAGE or code == sqlite3.SQLITE_IOERR_SHORT_READ


def set_aside(path: Path) -> Path:
    """Give a damaged file another name, and what belongs to it too; never delete it."""
    number = 1
    while (aside := path.with_name(f"{path.name}.damaged-{number}")).exists():
        number += 1
    for end in ("-journal", "-wal", "-shm"):
        beside = path.with_name(path.name + end)
        if beside.exists():
            beside.replace(path.with_name(aside.name + end))
    path.replace(aside)
    return aside
