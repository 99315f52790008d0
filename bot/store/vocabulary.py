"""Every word on the cards as it is written, for misspelt ones to be compared with."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable


def put(database: sqlite3.Connection, card: str, words: Iterable[str]) -> None:
    """Add the words of a card."""
    rows = [(card, word) for word in words]
    database.executemany("INSERT INTO words VALUES (?, ?)", rows)
    database.executemany(
        "INSERT INTO vocabulary VALUES (?, ?, 1)"
        " ON CONFLICT (word) DO UPDATE SET cards = cards + 1",
        [(word, word[-2:]) for _, word in rows],
    )


def take_out(database: sqlite3.Connection, card: str) -> None:
    """Take the words of a card out; those on no other card are gone."""
    run, of_card = database.execute, "(SELECT word FROM words WHERE card = ?)"
    run(f"UPDATE vocabulary SET cards = cards - 1 WHERE word IN {of_card}", (card,))
    run(f"DELETE FROM vocabulary WHERE cards < 1 AND word IN {of_card}", (card,))
    run("DELETE FROM words WHERE card = ?", (card,))


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
