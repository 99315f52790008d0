"""The journal: every event of every job in one SQLite file, on disk before it counts.

`record` returns only when the disk has the event (WAL with synchronous=FULL: a power
cut loses nothing that was acknowledged). Each row carries a checksum; a job is opened
by replaying its rows, up to the first damaged one if there is one.
"""

import json
import sqlite3
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import reduce
from pathlib import Path

from bot.job.events import Event
from bot.job.job import NOT_KNOWN, Job
from bot.job.moves import WrongStageError, advance
from bot.job.saved import pack, unpack
from bot.model.place import BotError

VERSION = 1
PATIENCE_S = 5.0

_TABLES = """
BEGIN IMMEDIATE;
CREATE TABLE IF NOT EXISTS event (
    job INTEGER NOT NULL, seq INTEGER NOT NULL, at TEXT NOT NULL, kind TEXT NOT NULL,
    said TEXT NOT NULL, crc INTEGER NOT NULL, PRIMARY KEY (job, seq)
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS outcome (
    job INTEGER PRIMARY KEY, at TEXT NOT NULL, card TEXT NOT NULL, cause TEXT NOT NULL,
    repair TEXT NOT NULL, proved INTEGER NOT NULL, helped INTEGER NOT NULL,
    minutes REAL NOT NULL, money REAL NOT NULL
);
PRAGMA user_version = 1;
COMMIT;
"""


class JournalError(BotError):
    """The journal cannot be opened or written."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One job of the journal: its number, first and last moment, state, and damage.

    `whole` is False when a damaged row was found; the job is as it was before that row.
    """

    number: int
    opened: str
    last: str
    job: Job
    whole: bool


@dataclass(frozen=True, slots=True)
class Ending:
    """The cause that a job on a card ended with ("" for none of them), and when.

    It is `NOT_KNOWN` where the job ended before the cause was known.
    """

    job: int
    cause: str
    at: str
    proved: bool


class Journal:
    """All jobs of one person."""

    def __init__(self, path: Path) -> None:
        self.path = path
        try:
            self._db = sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None)
            for pragma in (
                "journal_mode=WAL",
                "synchronous=FULL",
                "trusted_schema=OFF",
                "cell_size_check=ON",
                "mmap_size=0",
            ):
                self._db.execute(f"PRAGMA {pragma}")
            self._check_version()
            if self._version() == 0:
                self._db.executescript(_TABLES)
        except sqlite3.Error as error:
            raise JournalError(
                f"cannot open the journal '{path}' ({error}); choose another folder "
                "with --home DIR"
            ) from error

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def _version(self) -> int:
        return int(self._db.execute("PRAGMA user_version").fetchone()[0])

    def _check_version(self) -> None:
        if self._version() > VERSION:
            raise JournalError(
                f"the journal '{self.path}' was written by a newer chock; use that one "
                "or choose another folder with --home DIR"
            )

    def open_job(self) -> int:
        """A number for a new job; it exists once its first event is recorded."""
        row = self._db.execute("SELECT max(job) FROM event").fetchone()
        return (row[0] or 0) + 1

    def record(self, number: int, job: Job, events: Sequence[Event], at: str) -> Job:
        """Put the events of one answer on disk, all or none, then give the job after.

        Args:
            number: the job's number.
            job: the job as the caller knows it.
            events: what happened, in order.
            at: the moment, ISO 8601.

        Raises:
            JournalError: nothing was written; the job is as it was.
        """
        after = reduce(advance, events, job)
        with self._writing():
            first = self._next_seq(number)
            for seq, event in enumerate(events, first):
                kind, said = pack(event)
                text = json.dumps(said, ensure_ascii=True, sort_keys=True)
                row = (number, seq, at, kind, text, _crc(number, seq, at, kind, text))
                self._db.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?, ?)", row)
            if after.outcome != job.outcome:
                self._keep_outcome(number, after, at)
        return after

    @contextmanager
    def _writing(self) -> Iterator[None]:
        try:
            self._db.execute("BEGIN IMMEDIATE")
            yield
            self._db.execute("COMMIT")
        except sqlite3.Error as error:
            if self._db.in_transaction:
                self._db.execute("ROLLBACK")
            raise JournalError(
                f"not saved ({error}); nothing was lost, free some space and answer "
                "again"
            ) from error

    def _next_seq(self, number: int) -> int:
        query = "SELECT max(seq) FROM event WHERE job = ?"
        return (self._db.execute(query, (number,)).fetchone()[0] or 0) + 1

    def _keep_outcome(self, number: int, job: Job, at: str) -> None:
        outcome = job.outcome
        if outcome is None:  # open, or open again
            self._db.execute("DELETE FROM outcome WHERE job = ?", (number,))
            return
        row = (
            number,
            at,
            job.card,
            outcome.cause,
            outcome.repair,
            outcome.proved,
            outcome.helped,
            outcome.minutes,
            outcome.money,
        )
        marks = ", ".join("?" * len(row))
        self._db.execute(f"INSERT OR REPLACE INTO outcome VALUES ({marks})", row)

    def entry(self, number: int) -> Entry | None:
        """One job, replayed; None when there is no such job."""
        rows = self._db.execute(
            "SELECT seq, at, kind, said, crc FROM event WHERE job = ? ORDER BY seq",
            (number,),
        ).fetchall()
        if not rows:
            return None
        job, last, good = Job(), rows[0][1], 0
        for seq, at, kind, said, crc in rows:
            if crc != _crc(number, seq, at, kind, said) or seq != good + 1:
                break
            try:
                job = advance(job, unpack(kind, json.loads(said)))
            except WrongStageError:
                break
            last, good = at, seq
        return Entry(number, rows[0][1], last, job, whole=good == len(rows))

    def entries(self) -> tuple[Entry, ...]:
        """All jobs, the newest first."""
        rows = self._db.execute("SELECT DISTINCT job FROM event ORDER BY job DESC")
        found = (self.entry(row[0]) for row in rows.fetchall())
        return tuple(entry for entry in found if entry)

    def open_entries(self) -> tuple[Entry, ...]:
        """The jobs that are not closed, the newest first."""
        rows = self._db.execute(
            "SELECT DISTINCT job FROM event WHERE job NOT IN (SELECT job FROM outcome) "
            "ORDER BY job DESC"
        )
        found = (self.entry(row[0]) for row in rows.fetchall())
        return tuple(entry for entry in found if entry)

    def latest_open(self) -> Entry | None:
        """The newest job that is not closed, or None."""
        return next(iter(self.open_entries()), None)

    def endings(self, card: str) -> tuple[Ending, ...]:
        """How the jobs on a card ended, in order.

        Where help was called and no cause named, it is not known.
        """
        rows = self._db.execute(
            "SELECT job, CASE WHEN helped AND cause = '' THEN ? ELSE cause END, at, "
            "proved FROM outcome WHERE card = ? ORDER BY job",
            (NOT_KNOWN, card),
        )
        return tuple(Ending(job, what, at, bool(sure)) for job, what, at, sure in rows)


def _crc(number: int, seq: int, at: str, kind: str, said: str) -> int:
    return zlib.crc32(f"{number}\n{seq}\n{at}\n{kind}\n{said}".encode())
