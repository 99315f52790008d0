"""The second copy of all jobs' lines, and what is looked up of jobs without them.

One SQLite file. It holds nothing that the jobs' files do not hold: when it is missing,
damaged or of another edition, it is made anew from them. What is read of it is proved:
lines by their chain, all else by a checksum of its own.
"""

import json
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import NamedTuple

from bot.store.habits import checksum
from bot.store.transaction import transaction

EDITION = 4
BEFORE = 3
"""The edition whose lines are as in this one, and whose outcomes kept no words."""
PATIENCE_S = 5.0
"""So long another window may write. Our choice."""

PRAGMAS = (
    "journal_mode=DELETE",  # one file: nothing that could be parted from it
    "synchronous=EXTRA",  # a power cut undoes no commit
    "trusted_schema=OFF",
    "cell_size_check=ON",
    "mmap_size=0",
)

# `editions` begin anywhere, so that no other copy's are taken for those of this one

_TABLES = """
BEGIN IMMEDIATE;
CREATE TABLE IF NOT EXISTS line (
    job INTEGER NOT NULL, seq INTEGER NOT NULL, text TEXT NOT NULL,
    PRIMARY KEY (job, seq)
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS listed (
    job INTEGER PRIMARY KEY, is_open INTEGER NOT NULL, told TEXT NOT NULL,
    crc INTEGER NOT NULL
);
CREATE INDEX IF NOT EXISTS still_open ON listed (job) WHERE is_open;
CREATE TABLE IF NOT EXISTS outcome (
    job INTEGER PRIMARY KEY, at TEXT NOT NULL, card TEXT NOT NULL, cause TEXT NOT NULL,
    proved INTEGER NOT NULL, helped INTEGER NOT NULL, opened TEXT NOT NULL,
    truck TEXT NOT NULL, repair TEXT NOT NULL, minutes REAL NOT NULL,
    money REAL NOT NULL, words TEXT NOT NULL, keeps INTEGER NOT NULL,
    crc INTEGER NOT NULL
);
CREATE INDEX IF NOT EXISTS of_card ON outcome (card);
CREATE INDEX IF NOT EXISTS of_truck ON outcome (truck);
CREATE TABLE IF NOT EXISTS score (
    card TEXT PRIMARY KEY, weight REAL NOT NULL, crc INTEGER NOT NULL
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS changed (job INTEGER PRIMARY KEY, edition INTEGER NOT NULL);
CREATE INDEX IF NOT EXISTS in_order ON changed (edition);
CREATE TABLE IF NOT EXISTS editions (first INTEGER NOT NULL, last INTEGER NOT NULL);
INSERT INTO editions SELECT first, first FROM
    (SELECT 1 + abs(random() % 1000000000000) AS first)
    WHERE NOT EXISTS (SELECT * FROM editions);
COMMIT;
"""


_NO_TABLES = "".join(
    f"DROP TABLE IF EXISTS {name};"
    for name in ("listed", "outcome", "score", "edition")
)


class DamagedError(Exception):
    """What was read is not what was written."""


class Listed(NamedTuple):
    """What a list of jobs shows of one, and how long its file was then, in bytes.

    `opened` and `last` are moments, `sure`, `proved` and `helped` those of its outcome.
    """

    number: int
    opened: str
    last: str
    stage: str
    card: str
    words: str
    proved: bool
    helped: bool
    sure: float
    size: int


class Ended(NamedTuple):
    """How a job ended: what lists, ranking and a truck's history look up.

    `opened` is the moment of its first words, `at` that of its outcome. `words` are all
    that was said of the fault, `keeps` whether they may help to find the page.
    """

    job: int
    at: str
    card: str
    cause: str
    proved: bool
    helped: bool
    opened: str
    truck: str
    repair: str
    minutes: float
    money: float
    words: str = ""
    keeps: bool = False


class Second:
    """The open file."""

    def __init__(self, path: Path) -> None:
        """Open it, or make it.

        Raises:
            sqlite3.Error: it is damaged, of another edition, or cannot be made.
        """
        self.path = path
        self._db = sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None)
        self._db.text_factory = lambda raw: raw.decode("utf-8", "replace")
        try:
            for pragma in PRAGMAS:
                self._db.execute(f"PRAGMA {pragma}")
            edition = self._edition()
            self.check_length()
            self.is_new = edition == 0
            self.is_older = edition == BEFORE
            if self.is_older:  # the lines are as they are now; the rest is made anew
                self._db.executescript(_NO_TABLES)
            if self.is_new or self.is_older:
                self._db.executescript(_TABLES)
            if edition not in (0, BEFORE, EDITION):
                raise sqlite3.DatabaseError("of another edition")
        except BaseException:
            self._db.close()
            raise

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def is_filled(self) -> None:
        """Note that it holds all that the files hold: it need not be made anew."""
        self._db.execute(f"PRAGMA user_version = {EDITION}")

    def check_length(self) -> None:
        """Find the file as long as it says that it is; longer while somebody writes.

        Within a transaction it says how long it will be.

        Raises:
            sqlite3.DatabaseError: it is shorter, or gone.
        """
        if self._db.in_transaction:
            return
        pages, size = (
            int(self._db.execute(f"PRAGMA {name}").fetchone()[0])
            for name in ("page_count", "page_size")
        )
        try:
            is_cut = self.path.stat().st_size < pages * size
        except OSError:
            is_cut = True
        if is_cut:
            raise sqlite3.DatabaseError("cut off")

    def _edition(self) -> int:
        return int(self._db.execute("PRAGMA user_version").fetchone()[0])

    def writing(self) -> AbstractContextManager[None]:
        """One transaction, within another one a part of it: all of it, or nothing."""
        return transaction(self._db)

    def lines(self, job: int) -> list[str]:
        """The lines of a job, the first among them."""
        query = "SELECT text FROM line WHERE job = ? ORDER BY seq"
        return [str(row[0]) for row in self._db.execute(query, (job,))]

    def numbers(self) -> set[int]:
        """The jobs of which it holds lines."""
        return {
            int(row[0]) for row in self._db.execute("SELECT DISTINCT job FROM line")
        }

    def highest(self) -> int:
        """The highest number there is; 0 for none."""
        row = self._db.execute("SELECT max(job) FROM line").fetchone()
        return int(row[0] or 0)

    def add(self, job: int, first: int, texts: Sequence[str]) -> None:
        """Put lines in, whose numbers begin at `first`; what stood there goes."""
        rows = [(job, seq, text) for seq, text in enumerate(texts, first)]
        self._db.executemany("INSERT OR REPLACE INTO line VALUES (?, ?, ?)", rows)

    def replace(self, job: int, texts: Sequence[str]) -> None:
        """Put all lines of a job in anew."""
        with self.writing():
            self._db.execute("DELETE FROM line WHERE job = ?", (job,))
            self.add(job, 0, texts)

    def look_up(self, listed: Listed, ended: Ended | None) -> None:
        """Keep what is looked up of a job; `ended` is None while it is open."""
        job = listed.number
        told = json.dumps(listed)
        is_open = ended is None
        row = (job, is_open, told, checksum(job, is_open, told))
        with self.writing():
            self._db.execute("INSERT OR REPLACE INTO listed VALUES (?, ?, ?, ?)", row)
            self._end(job, ended)

    def _end(self, job: int, ended: Ended | None) -> None:
        before = self._db.execute("SELECT * FROM outcome WHERE job = ?", (job,))
        old = before.fetchone()
        new = (*ended, checksum(*ended)) if ended else None
        if old == new:
            return
        self._db.execute("DELETE FROM outcome WHERE job = ?", (job,))
        if new:
            marks = ", ".join("?" * len(new))
            self._db.execute(f"INSERT INTO outcome VALUES ({marks})", new)
        more: dict[str, float] = {}
        for row, sign in ((old, -1), (new, 1)):
            if row:
                more[str(row[2])] = more.get(str(row[2]), 0.0) + sign * _weight(row)
        for card, weight in more.items():
            self._score(card, weight)
        self._db.execute("UPDATE editions SET last = last + 1")
        query = "INSERT OR REPLACE INTO changed SELECT ?, last FROM editions"
        self._db.execute(query, (job,))

    def _score(self, card: str, more: float) -> None:
        """How many jobs ended on a card, as `_weight` counts them: so much more.

        Added up anew only where the sum so far is missing or damaged.
        """
        query = "SELECT weight, crc FROM score WHERE card = ?"
        old = self._db.execute(query, (card,)).fetchone()
        if old and old[1] == checksum(card, old[0]):
            weight = float(old[0]) + more
        else:
            of_card = self._db.execute("SELECT * FROM outcome WHERE card = ?", (card,))
            weight = sum(map(_weight, of_card))
        new = (card, weight, checksum(card, weight))
        self._db.execute("INSERT OR REPLACE INTO score VALUES (?, ?, ?)", new)

    def listed(self, most: int, *, only_open: bool = False) -> tuple[Listed, ...]:
        """What is shown of the newest jobs, the newest first.

        Raises:
            DamagedError: a row is not as it was written.
        """
        where = "WHERE is_open " if only_open else ""
        rows = self._db.execute(
            f"SELECT * FROM listed {where}ORDER BY job DESC LIMIT ?", (most,)
        )
        return tuple(_listed(*row) for row in rows)

    def wrongs(self) -> Iterator[str]:
        """What is wrong with the file itself, or with what is looked up in it."""
        for row in self._db.execute("PRAGMA integrity_check(3)"):
            if row[0] != "ok":
                yield f"The second copy of the jobs is damaged ({row[0]})"
        try:
            for row in self._db.execute("SELECT * FROM listed"):
                _listed(*row)
            for row in self._db.execute("SELECT * FROM outcome"):
                ended_of(row)
            for card, weight, crc in self._db.execute("SELECT * FROM score"):
                if crc != checksum(card, weight):
                    raise DamagedError
        except (DamagedError, ValueError, TypeError):
            yield "What is looked up of the jobs is damaged"

    def size(self, job: int) -> int | None:
        """How long the file of a job was, in bytes, when it was last looked into."""
        row = self._db.execute("SELECT * FROM listed WHERE job = ?", (job,)).fetchone()
        return _listed(*row).size if row else None

    def ended(self, card: str) -> tuple[Ended, ...]:
        """How the jobs on a card ended, in order.

        Raises:
            DamagedError: a row is not as it was written.
        """
        query = "SELECT * FROM outcome WHERE card = ? ORDER BY job"
        return tuple(ended_of(row) for row in self._db.execute(query, (card,)))

    def keeping(self) -> tuple[Ended, ...]:
        """How the jobs whose words are kept ended, in order.

        Raises:
            DamagedError: a row is not as it was written.
        """
        query = "SELECT * FROM outcome WHERE keeps ORDER BY job"
        return tuple(ended_of(row) for row in self._db.execute(query))

    def ended_of(self, truck: str) -> tuple[Ended, ...]:
        """How the jobs of a truck ended, in order; "" for those that name none.

        Raises:
            DamagedError: a row is not as it was written.
        """
        query = "SELECT * FROM outcome WHERE truck = ? ORDER BY job"
        return tuple(ended_of(row) for row in self._db.execute(query, (truck,)))


def _listed(job: int, is_open: int, told: str, crc: int) -> Listed:
    if not isinstance(told, str) or crc != checksum(job, bool(is_open), told):
        raise DamagedError
    return Listed(*json.loads(told))


def _weight(row: Sequence[object]) -> float:
    """What an outcome counts for its card: a proved one 1, another half."""
    return 1.0 if row[4] else 0.5


def ended_of(row: Sequence[object]) -> Ended:
    """How a job ended, from its row.

    Raises:
        DamagedError: the row is not as it was written.
    """
    *told, crc = row
    job, at, card, cause, proved, helped, opened, truck, repair, *spent = told
    *figures, words, keeps = spent
    minutes, money = (float(str(value)) for value in figures)
    ended = Ended(
        int(str(job)),
        str(at),
        str(card),
        str(cause),
        bool(proved),
        bool(helped),
        str(opened),
        str(truck),
        str(repair),
        minutes,
        money,
        str(words),
        bool(keeps),
    )
    if crc != checksum(*ended):
        raise DamagedError
    return ended
