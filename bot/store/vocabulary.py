"""Every word on the cards as authors wrote it, for misspelt ones to be compared with.

And the plain words of English (`english.txt`), which are spelt as they were meant.
"""

from __future__ import annotations

import sqlite3
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


def put(
    database: sqlite3.Connection, card: str, words: Iterable[str], lexicon: Lexicon
) -> None:
    """Add the words of a card."""
    rows = [(card, word) for word in words]
    database.executemany("INSERT INTO words VALUES (?, ?)", rows)
    database.executemany(
        "INSERT INTO vocabulary VALUES (?, ?, ?, 1)"
        " ON CONFLICT (word) DO UPDATE SET cards = cards + 1",
        [(word, word[-2:], lexicon.stem(word)) for _, word in rows],
    )


def take_out(database: sqlite3.Connection, card: str) -> None:
    """Take the words of a card out; those on no other card are gone."""
    run, of_card = database.execute, "(SELECT word FROM words WHERE card = ?)"
    run(f"UPDATE vocabulary SET cards = cards - 1 WHERE word IN {of_card}", (card,))
    run(f"DELETE FROM vocabulary WHERE cards < 1 AND word IN {of_card}", (card,))
    run("DELETE FROM words WHERE card = ?", (card,))


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
