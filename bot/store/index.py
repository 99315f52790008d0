"""The index of cards, rules and lexicon, kept in one SQLite file between questions.

A card's rows are made of its text, the lexicon and the version of the code alone, so
only what changed is written anew. The file is a cache: a damaged or older one is thrown
away, and where nothing can be written the same tables live in memory.
"""

import os
import sqlite3
import zlib
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import NamedTuple

from bot.language.lexicon import (
    EMPTY,
    Lexicon,
    Phrases,
    from_plain,
    plain,
)
from bot.match.danger import StopRecord
from bot.match.records import Record, Sign
from bot.match.rows import Row, Shelf
from bot.store import vocabulary
from bot.store.lessons import JobLessons
from bot.store.rows import Rows
from bot.store.scan import EAR
from bot.store.tables import MEMORY, existing, fresh

MOST_AT_ONCE = 500
"""Values in one question; SQLite takes 999 where it is old."""

_RECORD, _FIELD = "\x1e", "\x1f"
"""The separators of ASCII; the reader of cards lets neither into a text."""


class Source(NamedTuple):
    """A file as it was read: where it is, how it looked, the SHA-256 of its text."""

    path: str
    mtime_ns: int
    size: int
    hash: str


class Stale(NamedTuple):
    """What no longer agrees with the files: to be read again, and to be removed."""

    changed: tuple[str, ...]
    gone: tuple[str, ...]


class CardIndex:
    """The shelf that `bot.match` looks things up on, and its upkeep.

    A file holds a card, a stop rule, the lexicon or mistakes, and is known by its
    path. Upkeep goes inside `with index:`, which keeps all of it or none. Any method
    may raise `sqlite3.Error` when the file turns out to be damaged: `discard` it and
    open it anew.
    """

    def __init__(self, database: sqlite3.Connection) -> None:
        self._database = database
        self._lexicon: Lexicon | None = None
        self._rows = Rows(database)
        self._words = vocabulary.Vocabulary(database)
        self.lessons = JobLessons(database)

    @classmethod
    def open(cls, path: str) -> "CardIndex":
        """The index in that file; a fresh one when it is missing, damaged or older.

        Where the file cannot be written the index is held in memory instead.
        """
        for attempt in (existing, fresh):
            try:
                return cls(attempt(path))
            except (sqlite3.Error, OSError):
                continue
        return cls(fresh(MEMORY))

    def close(self) -> None:
        """Close the file; what was written stays."""
        self._database.close()

    def __enter__(self) -> "CardIndex":
        self._database.execute("BEGIN IMMEDIATE")
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        if kind is None:
            self._rows.write()
            self._words.write()
        self._rows.forget()
        self._words.forget()
        self._database.execute("COMMIT" if kind is None else "ROLLBACK")
        self._lexicon = None

    # Upkeep

    def stale(self, files: Mapping[str, tuple[int, int]]) -> Stale:
        """What to read again: `files` says how each file looks now (mtime_ns, size).

        What has no look is no file of the knowledge base, and is never gone.
        """
        rows = self._database.execute("SELECT path, mtime_ns, size FROM files")
        known = {path: (mtime_ns, size) for path, mtime_ns, size in rows}
        changed = (path for path, look in files.items() if known.get(path) != look)
        gone = (path for path, look in known.items() if path not in files and any(look))
        return Stale(tuple(sorted(changed)), tuple(sorted(gone)))

    def same(self, source: Source) -> bool:
        """Whether the text is the one known; if so, how the file looks is noted."""
        done = self._database.execute(
            "UPDATE files SET mtime_ns = ?, size = ? WHERE path = ? AND hash = ?",
            (source.mtime_ns, source.size, source.path, source.hash),
        )
        return done.rowcount > 0

    def words(self) -> str:
        """The digest of what the words files said when the lexicon was made."""
        row = self._database.execute(
            "SELECT value FROM about WHERE name = 'words'"
        ).fetchone()
        return str(row[0]) if row else ""

    def look_at_words(self, sources: Iterable[tuple[Source, Sequence[str]]]) -> None:
        """Note how the words files look now, which say what they said."""
        for source, faults in sources:
            self._put_file(source, faults)

    def put_words(
        self,
        sources: Sequence[tuple[Source, Sequence[str]]],
        lexicon: Lexicon,
        digest: str = "",
    ) -> None:
        """Keep the lexicon; cards and rules were made with it and become stale.

        `sources` are the files it was made of, each with its mistakes; `digest` is of
        what they say.
        """
        for table in (
            "files",
            "cards",
            "told_on",
            "shelf",
            "rows",
            "vocabulary",
            "rules",
            "notes",
            "ear",
            "wordings",
        ):
            self._database.execute(f"DELETE FROM {table}")
        self._rows.forget()
        self._words.forget()
        kept = _RECORD.join(plain(lexicon))
        self._database.execute("DELETE FROM phrases")
        self._database.executemany(
            "INSERT INTO phrases VALUES (?, ?)", lexicon.phrases.packed().items()
        )
        self._database.execute(
            "INSERT OR REPLACE INTO about VALUES ('lexicon', ?)", (kept,)
        )
        self._database.execute(
            "INSERT OR REPLACE INTO about VALUES ('words', ?)", (digest,)
        )
        self.look_at_words(sources)
        self._lexicon = lexicon

    def put_card(self, source: Source, record: Record) -> None:
        """Keep a card's record in place of what the file held before.

        Raises:
            sqlite3.IntegrityError: another file holds a card with that id.
        """
        self.remove(source.path)
        self._put_file(source)
        number = self._rows.free_number()
        run = self._database.execute
        row = (number, record.id, source.path, record.title)
        run("INSERT INTO cards VALUES (?, ?, ?, ?)", row)
        columns = zip(*record.signs, strict=True)
        signs = _FIELD.join(map(_RECORD.join, columns))
        kept = _kept((f.name for f in record.features), record.words)
        run("INSERT INTO told_on VALUES (?, ?, ?)", (number, signs, kept))
        self._rows.put(number, record.own, record.features)
        self._words.put(record.words, self.lexicon)

    def put_rule(self, source: Source, rule: StopRecord) -> None:
        """Keep a stop rule's record in place of what the file held before."""
        self.remove(source.path)
        self._put_file(source)
        content = _RECORD.join(map(_FIELD.join, rule.plain()))
        self._database.execute(
            "INSERT INTO rules VALUES (?, ?, ?)", (rule.id, source.path, content)
        )

    def put_note(self, source: Source, note: str, about: str) -> None:
        """Keep which page a field note is about."""
        self.remove(source.path)
        self._put_file(source)
        row = (note, source.path, about)
        self._database.execute("INSERT INTO notes VALUES (?, ?, ?)", row)

    def notes(self, about: str) -> tuple[str, ...]:
        """The paths of the field notes about a page, by id."""
        rows = self._database.execute(
            "SELECT path FROM notes WHERE about = ? ORDER BY id", (about,)
        )
        return tuple(path for (path,) in rows)

    def put_ear(self, source: Source, weights: Iterable[tuple[str, str]]) -> None:
        """Keep the trained ear: features, each with its weights as text."""
        self._put_file(source)
        self._database.execute("DELETE FROM ear")
        self._database.executemany("INSERT OR REPLACE INTO ear VALUES (?, ?)", weights)

    def put_wordings(
        self, source: Source, card: str, rows: Iterable[tuple[str, str, str]]
    ) -> None:
        """Keep the further wordings of a card's answers: check, answer, lines."""
        self.remove(source.path)
        self._put_file(source)
        self._database.executemany(
            "INSERT OR REPLACE INTO wordings VALUES (?, ?, ?, ?, ?)",
            ((source.path, card, *row) for row in rows),
        )

    def put_wrong(self, source: Source, faults: Sequence[str]) -> None:
        """Note that the file holds mistakes, so that it need not be read again."""
        self.remove(source.path)
        self._put_file(source, faults)

    def remove(self, path: str) -> None:
        """Forget what that file held."""
        run = self._database.execute
        query = "SELECT number, kept FROM cards JOIN told_on USING (number)"
        for number, kept in run(f"{query} WHERE path = ?", (path,)).fetchall():
            features, words = _taken_apart(kept)
            self._rows.take_out(number, features)
            self._words.take_out(words)
            run("DELETE FROM told_on WHERE number = ?", (number,))
        if os.path.basename(path) == EAR:
            run("DELETE FROM ear")
        for table in ("cards", "rules", "notes", "wordings", "files"):
            run(f"DELETE FROM {table} WHERE path = ?", (path,))

    def faults(self) -> dict[str, tuple[str, ...]]:
        """The mistakes of every file that has any, by its path."""
        rows = self._database.execute(
            "SELECT path, faults FROM files WHERE faults > ''"
        )
        return {path: tuple(faults.split("\n")) for path, faults in rows}

    def paths(self) -> dict[str, str]:
        """Where each card, procedure and stop rule stands, by its id."""
        rows = self._database.execute(
            "SELECT id, path FROM cards UNION ALL SELECT id, path FROM rules"
        )
        return dict(rows.fetchall())

    def titles(self) -> dict[str, tuple[str, str]]:
        """Of each card and procedure its title and where it stands, by its id."""
        rows = self._database.execute("SELECT id, title, path FROM cards ORDER BY id")
        return {page: (title, path) for page, title, path in rows}

    def _put_file(self, source: Source, faults: Sequence[str] = ()) -> None:
        self._database.execute(
            "INSERT OR REPLACE INTO files VALUES (?, ?, ?, ?, ?)",
            (*source, "\n".join(faults)),
        )

    # What bot.match asks

    @property
    def lexicon(self) -> Lexicon:
        """The lexicon that the records were made with."""
        if self._lexicon is None:
            row = self._database.execute(
                "SELECT value FROM about WHERE name = 'lexicon'"
            ).fetchone()
            phrases = Phrases(fetch=self._phrases)
            self._lexicon = from_plain(row[0].split(_RECORD), phrases) if row else EMPTY
        return self._lexicon

    def _phrases(self, key: str) -> str:
        """The lines of the phrases under a key; "" for none."""
        query = "SELECT lines FROM phrases WHERE key = ?"
        row = self._database.execute(query, (key,)).fetchone()
        return str(row[0]) if row else ""

    def rules(self) -> tuple[StopRecord, ...]:
        """All stop rules, by id."""
        rows = self._database.execute("SELECT content FROM rules ORDER BY id")
        return tuple(_rule(content) for (content,) in rows)

    def ear(self, features: Collection[str]) -> dict[str, dict[str, float]]:
        """What the trained ear knows of some features; "" is always among them."""
        found: dict[str, dict[str, float]] = {}
        wanted = ["", *features]
        for first in range(0, len(wanted), MOST_AT_ONCE):
            some = wanted[first : first + MOST_AT_ONCE]
            rows = self._database.execute(
                f"SELECT feature, weights FROM ear WHERE feature IN ({_marks(some)})",
                some,
            )
            found.update((feature, _weights(kept)) for feature, kept in rows)
        return found

    def wordings(self, card: str) -> dict[tuple[str, str], tuple[str, ...]]:
        """The further wordings of a card's answers, by check and answer."""
        rows = self._database.execute(
            "SELECT check_id, answer, said FROM wordings WHERE card = ?", (card,)
        )
        return {(check, answer): tuple(s.split("\n")) for check, answer, s in rows}

    def shelf(self) -> Shelf:
        """Which cards there are, and how much is told on each."""
        return self._rows.shelf()

    def rows(self, features: Collection[str]) -> dict[str, Row]:
        """Where features stand; those that stand nowhere are missing."""
        return self._rows.of(features)

    def numbers(self, cards: Collection[str]) -> dict[str, int]:
        """The numbers of those of the cards that are there."""
        rows = self._database.execute(
            f"SELECT id, number FROM cards WHERE id IN ({_marks(cards)})", tuple(cards)
        )
        return dict(rows.fetchall())

    def holds(self, stems: Collection[str]) -> set[str]:
        """Those of the stems that stand on a card."""
        return vocabulary.holds(self._database, stems)

    def english(self, words: Collection[str]) -> frozenset[str]:
        """Those of the words that are plain English."""
        return vocabulary.english(words)

    def near(self, word: str) -> list[str]:
        """Words on the cards that begin or end alike and are about as long."""
        return vocabulary.near(self._database, word)

    def records(self, numbers: Collection[int]) -> dict[int, Record]:
        """The records of some cards, without their features and words."""
        rows = self._database.execute(
            "SELECT number, id, title, signs FROM cards JOIN told_on USING (number)"
            f" WHERE number IN ({_marks(numbers)})",
            tuple(numbers),
        )
        return {n: Record(card, title, _signs(told)) for n, card, title, told in rows}


def _kept(features: Iterable[str], words: Iterable[str]) -> bytes:
    """What a card is taken out of its rows by."""
    parts = (_FIELD.join(features), _FIELD.join(words))
    return zlib.compress(_RECORD.join(parts).encode(), level=1)


def _taken_apart(kept: bytes) -> list[list[str]]:
    """The features and the words that `_kept` made bytes of."""
    parts = zlib.decompress(kept).decode().split(_RECORD)
    return [part.split(_FIELD) if part else [] for part in parts]


def _weights(kept: str) -> dict[str, float]:
    """Weights by rule, from their text `rule=0.5 other=-1`."""
    pairs = (pair.rpartition("=") for pair in kept.split(" "))
    return {rule: float(weight) for rule, _, weight in pairs}


def _marks(values: Collection[object]) -> str:
    """One question mark for each value."""
    return ",".join("?" * len(values))


def _signs(kept: str) -> tuple[Sign, ...]:
    texts, terms, others = (column.split(_RECORD) for column in kept.split(_FIELD))
    return tuple(map(Sign, texts, terms, others))


def _rule(kept: str) -> StopRecord:
    return StopRecord.from_plain([part.split(_FIELD) for part in kept.split(_RECORD)])
