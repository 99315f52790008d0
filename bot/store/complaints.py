"""What was complained of in the jobs whose cause was found."""

import sqlite3
from collections.abc import Collection, Iterator

from bot.job.job import NOT_KNOWN
from bot.store.habits import rows_of
from bot.store.second import DamagedError, Ended, ended_of

_KNOWN = "card != '' AND cause NOT IN ('', ?)"


def complained(path: str) -> dict[int, int]:
    """The mark of each job whose cause is known; another one when its outcome is.

    Args:
        path: the second copy of the jobs (`bot.store.second`).
    """
    rows = rows_of(path, f"SELECT job, crc FROM outcome WHERE {_KNOWN}", NOT_KNOWN)
    return {int(job): int(mark) for job, mark in rows}


def complaints(path: str, jobs: Collection[int]) -> Iterator[Ended]:
    """How some jobs ended, with the words of the complaint; damaged rows are left out.

    Args:
        path: the second copy of the jobs.
        jobs: their numbers.
    """
    marks = ",".join(map(str, jobs))
    for row in rows_of(path, f"SELECT * FROM outcome WHERE job IN ({marks})"):
        try:
            yield ended_of(row)
        except (DamagedError, ValueError, TypeError, sqlite3.Error):
            continue
