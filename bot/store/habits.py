"""What recorded outcomes say of cards and words: read fast, for ranking alone."""

from __future__ import annotations

import sqlite3
import zlib
from typing import Any

SAMPLE_SIZE = 10.0
"""Believing all cards alike weighs as much as this many proved outcomes. Our choice."""


def habits(path: str, cards: int) -> dict[str, float]:
    """Card id -> 0..1: by how much outcomes lift a card over its equal share.

    Dirichlet counts: a card with n of all m outcomes has p = (s / cards + n) / (s + m),
    and the lift is (p - 1 / cards) / (1 - 1 / cards), nothing below 0. A proved outcome
    counts one, an unproved half. Empty where nothing is kept, or not as it was written.

    Args:
        path: the second copy of the jobs (`bot.store.second`).
        cards: how many cards there are to rank.
    """
    rows = rows_of(path, "SELECT card, weight, crc FROM score WHERE card != ''")
    if cards < 2 or any(crc != checksum(card, weight) for card, weight, crc in rows):
        return {}
    counts = {card: weight for card, weight, _ in rows if weight}
    equal, total = 1 / cards, SAMPLE_SIZE + sum(counts.values())
    return {
        card: max(0.0, ((SAMPLE_SIZE * equal + n) / total - equal) / (1 - equal))
        for card, n in counts.items()
    }


def editions(path: str) -> tuple[int, int]:
    """The first and the last edition of the outcomes: each change makes another.

    Another copy begins with another one; (0, 0) for no copy.
    """
    found = rows_of(path, "SELECT first, last FROM editions")
    first, last = found[0] if found else (0, 0)
    return int(first), int(last)


def checksum(*values: object) -> int:
    """Of the values of a row, in order."""
    return zlib.crc32("\n".join(map(str, values)).encode("utf-8", "replace"))


def rows_of(path: str, query: str, *values: str | int) -> list[tuple[Any, ...]]:
    """What a database answers; nothing where there is none to be read."""
    try:
        database = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        database.text_factory = lambda raw: raw.decode("utf-8", "replace")
        try:
            return database.execute(query, values).fetchall()
        finally:
            database.close()
    except (sqlite3.Error, ValueError):  # even the message of an error may be garbage
        return []
