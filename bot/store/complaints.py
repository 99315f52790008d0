"""What was complained of in the jobs whose cause was found."""

import sqlite3
from collections.abc import Iterable

from bot.job.job import NOT_KNOWN
from bot.store.habits import rows_of
from bot.store.second import DamagedError, Ended, ended_of


def changed(path: str, since: int, most: int) -> dict[int, int]:
    """Jobs whose outcomes changed after that edition, the first to do so first.

    By number of job: the edition of its last change. A job that was opened again is
    among them.

    Args:
        path: the second copy of the jobs (`bot.store.second`).
        since: an edition of that copy.
        most: how many jobs are wanted.
    """
    query = (
        "SELECT job, edition FROM changed WHERE edition > ? ORDER BY edition LIMIT ?"
    )
    return {int(job): int(at) for job, at in rows_of(path, query, since, most)}


def complaints(path: str, jobs: Iterable[int]) -> dict[int, Ended]:
    """How those of some jobs ended whose cause is known, with what was complained of.

    Damaged rows are left out.
    """
    marks = ",".join(map(str, jobs))
    found: dict[int, Ended] = {}
    for row in rows_of(path, f"SELECT * FROM outcome WHERE job IN ({marks})"):
        try:
            ended = ended_of(row)
        except (DamagedError, ValueError, TypeError, sqlite3.Error):
            continue
        if ended.card and ended.cause not in ("", NOT_KNOWN):
            found[ended.job] = ended
    return found
