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
    Entry,
    Row,
    Shelf,
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
        before = {f: kept for f, b, kept in self._fetched(changes) if b == block}
        rows, gone = [], []
        for feature in sorted(changes):
            term = is_term(feature)
            entries = _entries(before.get(feature), changes[feature], term)
            if entries:
                kept = packed(entries, signs, term=term)
                rows.append((feature, block, kept))
            else:
                gone.append((feature, block))
        return rows, gone

    def _fetched(self, features: Collection[str]) -> Iterator[tuple[str, int, bytes]]:
        wanted = list(features)
        for first in range(0, len(wanted), MOST_AT_ONCE):
            some = wanted[first : first + MOST_AT_ONCE]
            marks = ",".join("?" * len(some))
            yield from self._database.execute(
                f"SELECT * FROM rows WHERE feature IN ({marks})", some
            )


def _entries(before: bytes | None, changes: Sequence[Entry], term: bool) -> list[Entry]:
    """The entries of a row after some changes, of which the last of a place counts."""
    if before is None and len(changes) == 1:
        return [entry for entry in changes if entry[1:] != _GONE]
    held = {} if before is None else {e[0]: e for e in _before(before, term)}
    held.update((entry[0], entry) for entry in changes)
    return [held[place] for place in sorted(held) if held[place][1:] != _GONE]


def _before(kept: bytes, term: bool) -> Iterator[Entry]:
    """The entries that a row has."""
    block = unpacked(kept, term=term)
    if not term:
        yield from (
            (p, o, 0, b"") for p, o in zip(block.places, block.own, strict=True)
        )
        return
    first = 0
    columns = zip(block.places, block.own, block.halves, block.many, strict=True)
    for place, own, halves, many in columns:
        yield place, own, halves, block.signs[first : first + many]
        first += many
