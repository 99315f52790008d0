"""Pairs of terms and runs of letters: one packed row a feature, counts that add up.

A row holds, for each card that has the feature, the card's number and in how many of
its signs it stands. An edited card is taken out of its own rows and put into its new
ones; all of a set of changes is written in one go.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Mapping

Row = dict[int, int]
"""By number of card, in how many of its signs a feature stands."""

_SEPARATOR = "\x1f"
MOST_AT_ONCE = 500
WIDE = 3
"""Bytes of an entry: two of the card's number, one of the count."""


class Grams:
    """What is to be written of the features, until `write`."""

    def __init__(self, database: sqlite3.Connection) -> None:
        self._database = database
        self._changes: dict[str, Row] = {}

    def free_number(self) -> int:
        """A number that no card has now."""
        row = self._database.execute("SELECT MAX(number) FROM cards").fetchone()
        return int(row[0] or 0) + 1

    def put(self, number: int, grams: Iterable[tuple[str, int]]) -> None:
        """Note the features of a card."""
        for feature, count in grams:
            self._changes.setdefault(feature, {})[number] = count

    def take_out(self, number: int, kept: str) -> None:
        """Note that a card has its features no longer."""
        for feature in kept.split(_SEPARATOR) if kept else ():
            self._changes.setdefault(feature, {})[number] = 0

    def write(self) -> None:
        """Write what was noted."""
        if not self._changes:
            return
        rows = rows_of(self._database, self._changes)
        for feature, changed in self._changes.items():
            rows.setdefault(feature, {}).update(changed)
        told = [(f, _packed(rows[f])) for f in sorted(self._changes)]
        run = self._database.executemany
        run("INSERT OR REPLACE INTO grams VALUES (?, ?)", (t for t in told if t[1]))
        run("DELETE FROM grams WHERE feature = ?", ((f,) for f, p in told if not p))
        self._changes = {}

    def forget(self) -> None:
        """Note nothing of what was noted."""
        self._changes = {}


def names(grams: Iterable[tuple[str, int]]) -> str:
    """What a card's own row keeps of its features, to take them out by."""
    return _SEPARATOR.join(feature for feature, _ in grams)


def rows_of(database: sqlite3.Connection, features: Collection[str]) -> dict[str, Row]:
    """The rows of some features; those that stand nowhere are missing."""
    found: dict[str, Row] = {}
    wanted = list(features)
    for first in range(0, len(wanted), MOST_AT_ONCE):
        some = wanted[first : first + MOST_AT_ONCE]
        marks = ",".join("?" * len(some))
        rows = database.execute(
            f"SELECT feature, packed FROM grams WHERE feature IN ({marks})", some
        )
        found.update((feature, _unpacked(packed)) for feature, packed in rows)
    return found


def _packed(row: Mapping[int, int]) -> bytes:
    entries = (
        number.to_bytes(2, "little") + bytes([n]) for number, n in row.items() if n
    )
    return b"".join(entries)


def _unpacked(packed: bytes) -> Row:
    return {
        packed[at] | packed[at + 1] << 8: packed[at + 2]
        for at in range(0, len(packed), WIDE)
    }
