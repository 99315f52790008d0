"""Rows: on which pages a feature stands, packed, a block of pages at a time.

A feature is a term, a pair of neighbours or a run of letters. Of each page that has it
a row keeps in how many of the page's own signs it stands and, of a term, what it counts
there and in which signs; and of each block two sums, so that how much the feature tells
is known without a walk over it. Pages go by number. An edited page changes its own
block of its own rows, however many pages there are.
"""

from array import array
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import ceil, fsum, log
from operator import mul, truediv
from struct import Struct
from sys import byteorder
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    Numbers = array[int]
else:
    Numbers = array

BLOCK = 1024
"""Pages of a block. Our choice: a block of a row is a few kilobytes at most."""

MOST_LOOKED_AT = 256
"""Above so many pages a sample of them stands for all, where the mean and the spread of
all are asked for; below it they all are the sample. Our choice."""

NUMBER, _WIDE = "H", 2
"""Two bytes: a place in a block, how many signs, twice what a term counts."""

_HEAD = Struct("<Hdd")

Entry = tuple[int, int, int, bytes]
"""A place in a block; of the page there, in how many own signs the feature stands; and
of a term twice what it counts, and the numbers of all signs that have it."""


def is_term(feature: str) -> bool:
    """Whether a feature is a term: no pair of neighbours, no run of letters."""
    return not feature.startswith("#") and " " not in feature


class Columns(NamedTuple):
    """The entries of a block, column by column, in the order of their places.

    `many` says of how many signs each entry's numbers stand in `signs`. Of a pair or a
    run of letters the last three tell nothing.
    """

    places: Numbers
    own: Numbers
    halves: Numbers
    many: bytearray
    signs: bytearray

    def put(self, entry: Entry) -> None:
        """Put an entry in place of what stands there; one of no sign is taken out."""
        place, own, halves, signs = entry
        at = bisect_left(self.places, place)
        first = sum(self.many[:at])
        if at < len(self.places) and self.places[at] == place:
            del self.signs[first : first + self.many[at]]
            for column in self[:4]:
                del column[at]
        if own or halves or signs:
            self.places.insert(at, place)
            self.own.insert(at, own)
            self.halves.insert(at, halves)
            self.many.insert(at, len(signs))
            self.signs[first:first] = signs


class Block(NamedTuple):
    """What a row says of a block of pages, and two sums over it.

    `share` is the sum, over its pages, of the part of a page's own signs that have the
    feature, and `told` the sum of these parts times their logarithms.
    """

    columns: Columns
    share: float
    told: float


def columns_of(entries: Iterable[Entry]) -> Columns:
    """The columns of some entries, which stand in the order of their places."""
    places, own, halves, signs = zip(*entries, strict=True)
    return Columns(
        array(NUMBER, places),
        array(NUMBER, own),
        array(NUMBER, halves),
        bytearray(map(len, signs)),
        bytearray(b"".join(signs)),
    )


def packed(columns: Columns, signs: Sequence[int], *, term: bool) -> bytes:
    """A block as bytes.

    Args:
        columns: at least one entry.
        signs: how many own signs the page at each place has.
        term: whether what a term alone has is kept, too.
    """
    of_page = map(signs.__getitem__, columns.places)
    parts = [part for part in map(truediv, columns.own, of_page) if part]
    told = fsum(map(mul, parts, map(log, parts)))
    head = _HEAD.pack(len(columns.places), fsum(parts), told)
    kept = [array(NUMBER, column) for column in columns[: 3 if term else 2]]
    if byteorder == "big":
        for column in kept:
            column.byteswap()
    numbers = b"".join(column.tobytes() for column in kept)
    return head + numbers + (columns.many + columns.signs if term else b"")


def unpacked(kept: bytes, *, term: bool) -> Block:
    """The block that `packed` made bytes of."""
    n, share, told = _HEAD.unpack_from(kept)
    end = _HEAD.size + n * (3 if term else 2) * _WIDE
    numbers = array(NUMBER, kept[_HEAD.size : end])
    if byteorder == "big":
        numbers.byteswap()
    places, own = numbers[:n], numbers[n : 2 * n]
    if not term:
        none = array(NUMBER, bytes(_WIDE * n))
        return Block(Columns(places, own, none, bytearray(n), bytearray()), share, told)
    many, signs = bytearray(kept[end : end + n]), bytearray(kept[end + n :])
    return Block(Columns(places, own, numbers[2 * n :], many, signs), share, told)


class Row:
    """Where one feature stands, by number of block."""

    __slots__ = ("blocks",)

    def __init__(self, blocks: Mapping[int, Block]) -> None:
        self.blocks = blocks

    def pages(self) -> int:
        """On how many pages it stands."""
        return sum(len(block.columns.places) for block in self.blocks.values())

    def sums(self) -> tuple[int, float, float]:
        """In how many signs it stands, and both sums, over all pages."""
        blocks = self.blocks.values()
        return (
            sum(sum(block.columns.own) for block in blocks),
            sum(block.share for block in blocks),
            sum(block.told for block in blocks),
        )

    def own(self) -> Iterator[tuple[int, int]]:
        """Every page, and in how many of its own signs it stands."""
        for number, block in self.blocks.items():
            first = number * BLOCK
            columns = block.columns
            for place, own in zip(columns.places, columns.own, strict=True):
                if own:
                    yield first + place, own

    def counts(self) -> Iterator[tuple[int, float]]:
        """Every page, and what the term counts there."""
        for number, block in self.blocks.items():
            first = number * BLOCK
            columns = block.columns
            for place, halves in zip(columns.places, columns.halves, strict=True):
                yield first + place, halves / 2.0

    def own_among(
        self, pages: Mapping[int, Sequence[int]]
    ) -> Iterator[tuple[int, int]]:
        """Those of some pages that have it, in how many own signs; see `by_block`."""
        for first, columns, places in self._shared(pages):
            held, own = columns.places, columns.own
            most = len(held)
            for place in places:
                at = bisect_left(held, place)
                if at < most and held[at] == place and own[at]:
                    yield first + place, own[at]

    def counts_among(
        self, pages: Mapping[int, Sequence[int]]
    ) -> Iterator[tuple[int, float]]:
        """Those of some pages that have the term, what it counts; see `by_block`."""
        for first, columns, places in self._shared(pages):
            held, halves = columns.places, columns.halves
            most = len(held)
            for place in places:
                at = bisect_left(held, place)
                if at < most and held[at] == place:
                    yield first + place, halves[at] / 2.0

    def _shared(
        self, pages: Mapping[int, Sequence[int]]
    ) -> Iterator[tuple[int, Columns, Sequence[int]]]:
        """The blocks that some pages lie in: number of the first page, what it has."""
        for number, places in pages.items():
            if number in self.blocks:
                yield number * BLOCK, self.blocks[number].columns, places

    def most(self) -> float:
        """The most that the term counts on any page."""
        return max(max(block.columns.halves) for block in self.blocks.values()) / 2.0

    def count_on(self, page: int) -> float:
        """What the term counts on a page."""
        return next((count for _, count in self.counts_among(by_block((page,)))), 0.0)

    def signs_on(self, page: int) -> Sequence[int]:
        """The numbers of the signs of a page that have the term, look-alikes too."""
        found = self._at(page)
        if not found:
            return b""
        columns, at = found
        first = sum(columns.many[:at])
        return columns.signs[first : first + columns.many[at]]

    def _at(self, page: int) -> tuple[Columns, int] | None:
        block = self.blocks.get(page // BLOCK)
        if block is None:
            return None
        places, place = block.columns.places, page % BLOCK
        at = bisect_left(places, place)
        met = at < len(places) and places[at] == place
        return (block.columns, at) if met else None


class Shelf:
    """How many own signs each page has, its title among them, by its number.

    0 where no page has that number.
    """

    __slots__ = ("pages", "signs")

    def __init__(self, signs: Numbers) -> None:
        self.signs = signs
        self.pages = len(signs) - signs.count(0)

    def numbers(self) -> list[int]:
        """The numbers of all pages."""
        return [number for number, signs in enumerate(self.signs) if signs]


def by_block(pages: Iterable[int]) -> dict[int, list[int]]:
    """The places of some pages in their blocks, by number of block."""
    found: dict[int, list[int]] = {}
    for page in pages:
        found.setdefault(page // BLOCK, []).append(page % BLOCK)
    return found


def sample(pages: Sequence[int]) -> Sequence[int]:
    """Pages evenly out of all; all of them where they are not many."""
    return pages[:: max(1, ceil(len(pages) / MOST_LOOKED_AT))]
