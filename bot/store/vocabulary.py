"""Every word on the cards as authors wrote it, for misspelt ones to be compared with.

And the plain words of English (`english.txt`), which are spelt as they were meant.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Collection, Iterable
from functools import lru_cache
from os.path import dirname, join
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bot.language.lexicon import Lexicon

ENGLISH = join(dirname(__file__), "english.txt")


def english(words: Iterable[str]) -> frozenset[str]:
    """Those that are plain English."""
    text = _english()
    return frozenset(word for word in words if f"\n{word}\n" in text)


@lru_cache(maxsize=1)
def _english() -> str:
    with open(ENGLISH, encoding="utf-8") as file:
        return file.read()


class Vocabulary:
    """On how many cards each word stands: what is to be written, until `write`."""

    def __init__(self, database: sqlite3.Connection) -> None:
        self._database = database
        self._more: Counter[str] = Counter()
        self._stems: dict[str, str] = {}

    def put(self, words: Iterable[str], lexicon: Lexicon) -> None:
        """Note the words of a card."""
        for word in words:
            self._more[word] += 1
            self._stems[word] = lexicon.stem(word)

    def take_out(self, words: Iterable[str]) -> None:
        """Note that a card has its words no longer."""
        self._more.subtract(words)

    def write(self) -> None:
        """Write what was noted; words that are on no card any more are gone."""
        run = self._database.executemany
        run(
            "INSERT INTO vocabulary VALUES (?, ?, ?, ?)"
            " ON CONFLICT (word) DO UPDATE SET cards = cards + excluded.cards",
            [(w, w[-2:], self._stems[w], n) for w, n in self._more.items() if n > 0],
        )
        fewer = [(w,) for w, n in self._more.items() for _ in range(-n)]
        run("UPDATE vocabulary SET cards = cards - 1 WHERE word = ?", fewer)
        run("DELETE FROM vocabulary WHERE cards < 1 AND word = ?", fewer)

    def forget(self) -> None:
        """Note nothing of what was noted."""
        self._more, self._stems = Counter(), {}


def holds(database: sqlite3.Connection, stems: Collection[str]) -> set[str]:
    """Those of the stems that stand on a card."""
    marks = ", ".join("?" * len(stems))
    asked = f"SELECT DISTINCT stem FROM vocabulary WHERE stem IN ({marks})"
    return {stem for (stem,) in database.execute(asked, tuple(stems))}


def near(database: sqlite3.Connection, word: str) -> list[str]:
    """Words on the cards that begin or end alike and are about as long."""
    rows = database.execute(
        "SELECT word FROM vocabulary WHERE word >= ? AND word < ?"
        " AND abs(length(word) - ?) < 3"
        " UNION SELECT word FROM vocabulary WHERE tail = ?"
        " AND abs(length(word) - ?) < 3",
        (word[0], chr(ord(word[0]) + 1), len(word), word[-2:], len(word)),
    )
    return [found for (found,) in rows]
