"""Jobs of the first edition, rows in one database, moved over into files once."""

import sqlite3
import zlib
from collections.abc import Iterator
from itertools import groupby
from os import urandom
from pathlib import Path

from bot.store.chain import DIGEST, Line, write_head, write_line
from bot.store.copies import Copies
from bot.store.errors import JournalError
from bot.store.mending import LOST

OLD, MOVED = "journal.db", "journal-1.db"
EDITION = 1

_Row = tuple[int, int, str, str, str, int]


def move_over(home: Path, copies: Copies) -> None:
    """Write a file for each job of the first edition, and keep its database aside.

    It can be cut short anywhere and is done again; a job that has a file is left alone.
    Rows that are damaged are left out, and a line says so in their place.

    Args:
        home: the folder in which the database may lie.
        copies: where the files go.
    """
    old = home / OLD
    if not old.exists():
        return
    try:
        moved = _moved(old, copies)
    except (sqlite3.Error, JournalError, OSError) as error:
        copies.remark(f"{OLD}, of an earlier chock, is left as it is ({error}).")
        return
    copies.remark(f"{moved} jobs of an earlier chock were taken over.")


def _moved(old: Path, copies: Copies) -> int:
    rows = _rows(old)
    moved = 0
    with copies.writing():
        for number, of_job in groupby(rows, key=lambda row: row[0]):
            texts = _texts(number, list(of_job))
            if not copies.files.size(number):
                copies.files.replace(number, texts)
                moved += 1
        old.replace(old.with_name(MOVED))
    return moved


def _rows(old: Path) -> list[_Row]:
    """All events by job and number; what lies in a file beside it is taken in first."""
    database = sqlite3.connect(old, isolation_level=None)
    try:
        edition = int(database.execute("PRAGMA user_version").fetchone()[0])
        if edition > EDITION:
            raise sqlite3.DatabaseError("it was written by a newer chock")
        database.execute("PRAGMA journal_mode=DELETE")
        query = "SELECT job, seq, at, kind, said, crc FROM event ORDER BY job, seq"
        return database.execute(query).fetchall()
    finally:
        database.close()


def _texts(number: int, rows: list[_Row]) -> list[str]:
    """The lines of a job's file."""
    texts = [write_head(number, _bare(rows[0][2]), urandom(8).hex())]
    for seq, line in enumerate(_lines(rows), 1):
        texts.append(write_line(texts[-1][-DIGEST:], line._replace(seq=seq)))
    return texts


def _lines(rows: list[_Row]) -> Iterator[Line]:
    wanted = 1
    for job, seq, at, kind, said, crc in rows:
        is_whole = crc == zlib.crc32(f"{job}\n{seq}\n{at}\n{kind}\n{said}".encode())
        if seq != wanted or not is_whole:
            yield Line(0, True, _bare(at), LOST, '{"lines": 1}')
        if is_whole:
            yield Line(0, True, _bare(at), kind, said)
        wanted = seq + 1


def _bare(at: str) -> str:
    return "".join(at.split()) or "-"
