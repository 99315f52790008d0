"""What is left in a damaged second copy of jobs whose files are gone as well.

The database is opened as a copy of its bytes, filled up to the length that it says it
has, and read row by row: a page that is lost costs its own rows and no others.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from itertools import count
from pathlib import Path

from bot.store.chain import Best, best

MOST_LOST_IN_ROW = 64
"""After so many lines in a row that cannot be read no more is looked for."""

_PAGE_SIZE, _PAGES = slice(16, 18), slice(28, 32)
"""Where the head of the file says how long its pages are, and how many there are.
Source: the documented file format of SQLite."""

MOST_BYTES = 2**31


def salvaged(path: Path, here: Iterable[int]) -> Iterator[tuple[int, Best]]:
    """Jobs that have no file, with the lines of them that can be proved.

    Nobody can tell what else there was: each is said to have lost something.

    Args:
        path: the damaged file.
        here: the jobs that have a file.
    """
    import tempfile  # slow to load, and needed once in years

    try:
        raw = path.read_bytes()
    except OSError:
        return
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy.db"
        copy.write_bytes(raw.ljust(_length(raw), b"\0"))
        database = sqlite3.connect(copy)
        database.text_factory = lambda raw: raw.decode("utf-8", "replace")
        try:
            for job in sorted(_jobs(database, here)):
                found = best(job, (), _lines(database, job))
                if found:
                    yield job, found._replace(lost=max(1, found.lost))
        finally:
            database.close()


def _length(raw: bytes) -> int:
    """How long the file says it is, in bytes; what is there already at least."""
    size = int.from_bytes(raw[_PAGE_SIZE], "big")
    whole = (65536 if size == 1 else size) * int.from_bytes(raw[_PAGES], "big")
    return whole if whole < MOST_BYTES else len(raw)


def _jobs(database: sqlite3.Connection, here: Iterable[int]) -> set[int]:
    """The numbers of jobs that may be in it and have no file."""
    known = set(here)
    top = max(known, default=0)
    try:
        row = database.execute("SELECT max(job) FROM line").fetchone()
        top = max(top, int(row[0] or 0))
    except (sqlite3.Error, ValueError, TypeError):
        top += 1
    return set(range(1, top + 1)) - known


def _lines(database: sqlite3.Connection, job: int) -> Iterator[str]:
    """The lines of a job that can be read, in order."""
    lost = 0
    for seq in count():
        try:
            row = database.execute(
                "SELECT text FROM line WHERE job = ? AND seq = ?", (job, seq)
            ).fetchone()
        except (sqlite3.Error, ValueError, TypeError, OverflowError):
            lost += 1
        else:
            if row is None:
                return
            lost = 0
            yield str(row[0])
        if lost > MOST_LOST_IN_ROW:
            return
