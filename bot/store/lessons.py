"""What closed jobs taught, as counts that are added to when a job is closed.

Kept in the index beside the pages, but of no page: neither an edited page nor another
lexicon changes them. All of it can be made again from the second copy of the jobs.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable
from contextlib import AbstractContextManager
from typing import NamedTuple

from bot.match.taught import Kept, Lessons, Taught
from bot.store.transaction import transaction

TABLES = """
CREATE TABLE told (
    job INTEGER PRIMARY KEY, card TEXT NOT NULL, terms TEXT NOT NULL
);
CREATE TABLE said (
    term TEXT, card TEXT, jobs INTEGER NOT NULL, PRIMARY KEY (term, card)
) WITHOUT ROWID;
CREATE TABLE kept (term TEXT, job INTEGER, PRIMARY KEY (term, job)) WITHOUT ROWID;
"""

EVERY = ""
"""The term under which all jobs of a card are counted."""

MOST_KEPT = 50
"""So many of the jobs whose kept words have most in common with a text are compared."""


class Told(NamedTuple):
    """A job whose cause is known: its card, its telling terms; are its words kept?"""

    job: int
    card: str
    terms: frozenset[str]
    keeps: bool


def learnt_from(jobs: Iterable[Told]) -> Taught:
    """What some jobs taught, held in memory."""
    database = sqlite3.connect(":memory:", isolation_level=None)
    database.executescript(TABLES)
    lessons = JobLessons(database)
    with lessons.writing():
        for told in jobs:
            lessons.put(told)
    return lessons.of


class JobLessons:
    """The tables of an open index."""

    def __init__(self, database: sqlite3.Connection) -> None:
        self._database = database

    def writing(self) -> AbstractContextManager[None]:
        """All of some changes, or none.

        Raises:
            sqlite3.Error: another chock is writing, or nothing can be written.
        """
        return transaction(self._database)

    def edition(self) -> int:
        """Up to which edition of the outcomes all is learnt; 0 for none."""
        row = self._database.execute(
            "SELECT value FROM about WHERE name = 'lessons'"
        ).fetchone()
        return int(row[0]) if row else 0

    def is_of(self, edition: int) -> None:
        """Note that all is learnt up to that edition."""
        self._database.execute(
            "INSERT OR REPLACE INTO about VALUES ('lessons', ?)", (str(edition),)
        )

    def known(self) -> frozenset[int]:
        """The jobs that were learnt from."""
        query = "SELECT job FROM told WHERE job > 0"
        return frozenset(j for (j,) in self._database.execute(query))

    def forget(self) -> None:
        """Forget all that was learnt."""
        for table in ("told", "said", "kept"):
            self._database.execute(f"DELETE FROM {table}")

    def put(self, told: Told) -> None:
        """Learn from a job of which nothing was learnt yet."""
        terms = sorted(told.terms)
        run = self._database.execute
        row = (told.job, told.card, " ".join(terms))
        run("INSERT INTO told VALUES (?, ?, ?)", row)
        self._database.executemany(
            "INSERT INTO said VALUES (?, ?, 1)"
            " ON CONFLICT (term, card) DO UPDATE SET jobs = jobs + 1",
            ((term, told.card) for term in (EVERY, *terms)),
        )
        if told.keeps:
            rows = ((term, told.job) for term in terms)
            self._database.executemany("INSERT INTO kept VALUES (?, ?)", rows)

    def put_shared(self, wordings: Iterable[tuple[str, frozenset[str]]]) -> None:
        """Keep wordings that other members shared, (page, terms), in place of all.

        They stand under numbers below 0, and count for no terms.
        """
        run = self._database.execute
        for table in ("told", "kept"):
            run(f"DELETE FROM {table} WHERE job < 0")
        for number, (card, terms) in enumerate(wordings, 1):
            row = (-number, card, " ".join(sorted(terms)))
            run("INSERT INTO told VALUES (?, ?, ?)", row)
            pairs = ((term, -number) for term in terms)
            self._database.executemany("INSERT INTO kept VALUES (?, ?)", pairs)

    def take_out(self, job: int) -> None:
        """Forget what was learnt from a job."""
        run = self._database.execute
        row = run("SELECT card, terms FROM told WHERE job = ?", (job,)).fetchone()
        if row is None:
            return
        card, terms = str(row[0]), str(row[1]).split()
        self._database.executemany(
            "UPDATE said SET jobs = jobs - 1 WHERE term = ? AND card = ?",
            ((term, card) for term in (EVERY, *terms)),
        )
        run("DELETE FROM said WHERE card = ? AND jobs < 1", (card,))
        pairs = ((term, job) for term in terms)
        self._database.executemany("DELETE FROM kept WHERE term = ? AND job = ?", pairs)
        run("DELETE FROM told WHERE job = ?", (job,))

    def of(self, terms: Collection[str]) -> Lessons:
        """What was learnt of some terms."""
        run = self._database.execute
        if run("SELECT 1 FROM told LIMIT 1").fetchone() is None:
            return Lessons({}, {})
        jobs = dict(run("SELECT card, jobs FROM said WHERE term = ?", (EVERY,)))
        wanted, marks = tuple(terms), ",".join("?" * len(terms))
        said: dict[str, dict[str, int]] = {}
        for term, card, often in run(
            f"SELECT term, card, jobs FROM said WHERE term IN ({marks})", wanted
        ):
            said.setdefault(term, {})[card] = often
        rows = run(
            "SELECT job, card, terms FROM told WHERE job IN (SELECT job FROM kept"
            f" WHERE term IN ({marks}) GROUP BY job ORDER BY COUNT(*) DESC, job DESC"
            f" LIMIT {MOST_KEPT})",
            wanted,
        )
        kept = [Kept(j, card, frozenset(text.split())) for j, card, text in rows]
        return Lessons(jobs, said, kept)
