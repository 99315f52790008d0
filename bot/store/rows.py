"""The rows of all features in the index: one row a feature and block of pages.

An edited page is taken out of its own rows and put into its new ones; all of a set of
changes is written in one go, block by block.
"""

from __future__ import annotations

import sqlite3
from array import array
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from bot.match.records import Feature
from bot.match.rows import (
    BLOCK,
    NUMBER,
    Block,
    Columns,
    Entry,
    Row,
    Shelf,
    columns_of,
    is_term,
    packed,
    unpacked,
)

MOST_AT_ONCE = 500
"""Values in one question; SQLite takes 999 where it is old."""

_GONE = (0, 0, b"")


class Rows:
    """The rows of an open index, and what is to be written of them, until `write`."""

    def __init__(self, database: sqlite3.Connection) -> None:
        self._database = database
        self._signs: array[int] | None = None
        self._blocks: set[int] = set()
        self._changes: dict[int, dict[str, list[Entry]]] = {}

    def shelf(self) -> Shelf:
        """Which pages there are, and how many own signs each has."""
        return Shelf(self._held())

    def free_number(self) -> int:
        """The least number that no page has now."""
        held = self._held()
        try:
            return held.index(0)
        except ValueError:
            return len(held)

    def put(self, number: int, signs: int, features: Iterable[Feature]) -> None:
        """Note a page, how many own signs it has, and its features."""
        self._set(number, signs)
        block, place = divmod(number, BLOCK)
        changes = self._changes.setdefault(block, {})
        for name, own, halves, told in features:
            entry = (place, own, halves, told)
            if name in changes:
                changes[name].append(entry)
            else:
                changes[name] = [entry]

    def take_out(self, number: int, features: Iterable[str]) -> None:
        """Note that a page is gone, which has those features."""
        self._set(number, 0)
        block, place = divmod(number, BLOCK)
        changes = self._changes.setdefault(block, {})
        for name in features:
            changes.setdefault(name, []).append((place, *_GONE))

    def write(self) -> None:
        """Write what was noted."""
        signs = self._held()
        run = self._database.executemany
        kept = [(b, signs[b * BLOCK : (b + 1) * BLOCK].tobytes()) for b in self._blocks]
        run("INSERT OR REPLACE INTO shelf VALUES (?, ?)", kept)
        for block, changes in self._changes.items():
            of_block = signs[block * BLOCK : (block + 1) * BLOCK]
            rows, gone = self._written(block, changes, of_block)
            run("INSERT OR REPLACE INTO rows VALUES (?, ?, ?)", rows)
            run("DELETE FROM rows WHERE feature = ? AND block = ?", gone)
        self._blocks, self._changes = set(), {}

    def forget(self) -> None:
        """Note nothing of what was noted."""
        self._signs, self._blocks, self._changes = None, set(), {}

    def of(self, features: Collection[str]) -> dict[str, Row]:
        """The rows of some features; those that stand nowhere are missing."""
        found: dict[str, dict[int, Block]] = {}
        for feature, block, kept in self._fetched(features):
            blocks = found.setdefault(feature, {})
            blocks[block] = unpacked(kept, term=is_term(feature))
        return {feature: Row(blocks) for feature, blocks in found.items()}

    def _held(self) -> array[int]:
        """How many own signs each page has, by its number."""
        if self._signs is None:
            self._signs = array(NUMBER)
            rows = self._database.execute("SELECT signs FROM shelf ORDER BY block")
            for (kept,) in rows:
                self._signs.frombytes(kept)
        return self._signs

    def _set(self, number: int, signs: int) -> None:
        held = self._held()
        if number == len(held):
            held.append(signs)
        else:
            held[number] = signs
        self._blocks.add(number // BLOCK)

    def _written(
        self, block: int, changes: Mapping[str, Sequence[Entry]], signs: Sequence[int]
    ) -> tuple[list[tuple[str, int, bytes]], list[tuple[str, int]]]:
        """The changed rows of a block as they are to be, and those that are gone."""
        before = {f: kept for f, _, kept in self._fetched(changes, block)}
        rows, gone = [], []
        for feature in sorted(changes):
            term = is_term(feature)
            columns = _columns(before.get(feature), changes[feature], term)
            if columns is not None and columns.places:
                rows.append((feature, block, packed(columns, signs, term=term)))
            else:
                gone.append((feature, block))
        return rows, gone

    def _fetched(
        self, features: Collection[str], block: int | None = None
    ) -> Iterator[tuple[str, int, bytes]]:
        """The rows of some features as they are kept, of one block or of all."""
        wanted = list(features)
        which = "" if block is None else f" AND block = {block:d}"
        for first in range(0, len(wanted), MOST_AT_ONCE):
            some = wanted[first : first + MOST_AT_ONCE]
            marks = ",".join("?" * len(some))
            yield from self._database.execute(
                f"SELECT * FROM rows WHERE feature IN ({marks}){which}", some
            )


def _columns(
    before: bytes | None, changes: Sequence[Entry], term: bool
) -> Columns | None:
    """A row after some changes, of which the last of a place counts."""
    if before is None:
        last = {entry[0]: entry for entry in changes}
        kept = [last[place] for place in sorted(last) if last[place][1:] != _GONE]
        return columns_of(kept) if kept else None
    columns = unpacked(before, term=term).columns
    for entry in changes:
        columns.put(entry)
    return columns
