"""What recorded outcomes say of cards and words: read fast, for ranking alone."""

from __future__ import annotations

import sqlite3
from typing import Any

SAMPLE_SIZE = 10.0
"""Believing all cards alike weighs as much as this many proved outcomes. Our choice."""


def habits(path: str, cards: int) -> dict[str, float]:
    """Card id -> 0..1: by how much outcomes lift a card over its equal share.

    Dirichlet counts: a card with n of all m outcomes has p = (s / cards + n) / (s + m),
    and the lift is (p - 1 / cards) / (1 - 1 / cards), nothing below 0. A proved outcome
    counts one, an unproved half. Empty without a journal.

    Args:
        path: the journal's file.
        cards: how many cards there are to rank.
    """
    counts = _counts(path)
    if not counts or cards < 2:
        return {}
    equal, total = 1 / cards, SAMPLE_SIZE + sum(counts.values())
    return {
        card: max(0.0, ((SAMPLE_SIZE * equal + n) / total - equal) / (1 - equal))
        for card, n in counts.items()
    }


def _counts(path: str) -> dict[str, float]:
    rows = rows_of(
        path,
        "SELECT card, sum(CASE WHEN proved THEN 1.0 ELSE 0.5 END) FROM outcome "
        "WHERE card != '' GROUP BY card",
    )
    return dict(rows)


def edition(path: str) -> str:
    """A mark of the recorded outcomes, another one when they change; "" for none."""
    found = rows_of(path, "SELECT count(*), max(at), sum(job) FROM outcome")
    return " ".join(map(str, found[0])) if found and found[0][0] else ""


def rows_of(path: str, query: str, *values: str) -> list[tuple[Any, ...]]:
    """What the journal answers; nothing where there is none to be read."""
    try:
        database = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        try:
            return database.execute(query, values).fetchall()
        finally:
            database.close()
    except sqlite3.Error:
        return []
