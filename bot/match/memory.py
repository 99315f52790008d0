"""An index held in memory: for tests, and for shelves made to be measured."""

from array import array
from collections.abc import Collection, Iterable, Mapping, Sequence

from bot.language.lexicon import Lexicon
from bot.language.spelling import near_in
from bot.match.records import Record
from bot.match.rows import (
    BLOCK,
    NUMBER,
    Entry,
    Row,
    Shelf,
    columns_of,
    is_term,
    packed,
    unpacked,
)


class MemoryIndex:
    """The shelf of some records; their numbers are their places, from 0."""

    def __init__(self, records: Iterable[Record], lexicon: Lexicon) -> None:
        self.lexicon = lexicon
        self._records = list({entry.id: entry for entry in records}.values())
        self._numbers = {entry.id: n for n, entry in enumerate(self._records)}
        self._shelf = Shelf(array(NUMBER, (entry.own for entry in self._records)))
        self._rows = _rows(self._records, self._shelf.signs)
        words = {word for entry in self._records for word in entry.words}
        self._words = sorted(words)
        self._stems = frozenset(map(lexicon.stem, words))

    def shelf(self) -> Shelf:
        """Which cards there are, and how much is told on each."""
        return self._shelf

    def rows(self, features: Collection[str]) -> Mapping[str, Row]:
        """Where features stand; those that stand nowhere are missing."""
        return {f: self._rows[f] for f in features if f in self._rows}

    def records(self, numbers: Collection[int]) -> Mapping[int, Record]:
        """The records of some cards."""
        return {number: self._records[number] for number in numbers}

    def numbers(self, cards: Collection[str]) -> Mapping[str, int]:
        """The numbers of those of the cards that are there."""
        return {c: self._numbers[c] for c in cards if c in self._numbers}

    def holds(self, stems: Collection[str]) -> Collection[str]:
        """Those of the stems that an author wrote on a card."""
        return self._stems.intersection(stems)

    def english(self, words: Collection[str]) -> Collection[str]:
        """None: the shelf is held for what stands on it."""
        return ()

    def near(self, word: str) -> Iterable[str]:
        """Words on the cards that begin or end alike and are about as long."""
        return near_in(self._words, word)


def _rows(records: Sequence[Record], signs: Sequence[int]) -> dict[str, Row]:
    """The rows of all features of some records."""
    entries: dict[str, dict[int, list[Entry]]] = {}
    for number, entry in enumerate(records):
        for name, own, halves, told in entry.features:
            blocks = entries.setdefault(name, {})
            places = blocks.setdefault(number // BLOCK, [])
            places.append((number % BLOCK, own, halves, told))
    return {name: _row(name, blocks, signs) for name, blocks in entries.items()}


def _row(name: str, blocks: Mapping[int, Sequence[Entry]], signs: Sequence[int]) -> Row:
    term = is_term(name)
    kept = {
        number: packed(
            columns_of(entries), signs[number * BLOCK : (number + 1) * BLOCK], term=term
        )
        for number, entries in blocks.items()
    }
    return Row({n: unpacked(block, term=term) for n, block in kept.items()})
