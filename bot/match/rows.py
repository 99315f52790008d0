"""Rows: on which pages a feature stands, packed, a block of pages at a time.

A feature is a term, a pair of neighbours or a run of letters. Of each page that has it
a row keeps in how many of the page's own signs it stands and, of a term, what it counts
there and in which signs; and of each block two sums, so that how much the feature tells
is known without a walk over it. Pages go by number. An edited page changes its own
block of its own rows, however many pages there are.
"""

from array import array
from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from math import ceil, log
from struct import Struct, pack
from sys import byteorder
from typing import NamedTuple

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


class Block(NamedTuple):
    """What a row says of a block of pages; the columns are equally long.

    `share` is the sum, over its pages, of the part of a page's own signs that have the
    feature, and `told` the sum of these parts times their logarithms. Of a term alone:
    `halves`; `many`, of how many signs the numbers stand in `signs`, page after page.
    """

    places: Sequence[int]
    own: Sequence[int]
    share: float
    told: float
    halves: Sequence[int] = ()
    many: bytes = b""
    signs: bytes = b""


def packed(entries: Sequence[Entry], signs: Sequence[int], *, term: bool) -> bytes:
    """A block as bytes.

    Args:
        entries: in the order of their places; at least one.
        signs: how many own signs the page at each place has.
        term: whether what a term alone has is kept, too.
    """
    parts = [own / signs[place] for place, own, *_ in entries if own]
    told = sum([part * log(part) for part in parts])
    places, own, halves, numbers = zip(*entries, strict=True)
    columns = (*places, *own, *halves) if term else (*places, *own)
    form = f"{_HEAD.format}{len(columns)}{NUMBER}"
    kept = pack(form, len(entries), sum(parts), told, *columns)
    return kept + bytes(map(len, numbers)) + b"".join(numbers) if term else kept


def unpacked(kept: bytes, *, term: bool) -> Block:
    """The block that `packed` made bytes of."""
    n, share, told = _HEAD.unpack_from(kept)
    end = _HEAD.size + n * (3 if term else 2) * _WIDE
    columns = array(NUMBER, kept[_HEAD.size : end])
    if byteorder == "big":
        columns.byteswap()
    block = Block(columns[:n], columns[n : 2 * n], share, told)
    if not term:
        return block
    many, signs = kept[end : end + n], kept[end + n :]
    return block._replace(halves=columns[2 * n :], many=many, signs=signs)


class Row:
    """Where one feature stands, by number of block."""

    __slots__ = ("blocks",)

    def __init__(self, blocks: Mapping[int, Block]) -> None:
        self.blocks = blocks

    def pages(self) -> int:
        """On how many pages it stands."""
        return sum(len(block.places) for block in self.blocks.values())

    def sums(self) -> tuple[int, float, float]:
        """In how many signs it stands, and both sums, over all pages."""
        blocks = self.blocks.values()
        return (
            sum(sum(block.own) for block in blocks),
            sum(block.share for block in blocks),
            sum(block.told for block in blocks),
        )

    def own(self) -> Iterator[tuple[int, int]]:
        """Every page, and in how many of its own signs it stands."""
        for number, block in self.blocks.items():
            first = number * BLOCK
            for place, own in zip(block.places, block.own, strict=True):
                if own:
                    yield first + place, own

    def counts(self) -> Iterator[tuple[int, float]]:
        """Every page, and what the term counts there."""
        for number, block in self.blocks.items():
            first = number * BLOCK
            for place, halves in zip(block.places, block.halves, strict=True):
                yield first + place, halves / 2.0

    def own_on(self, page: int) -> int:
        """In how many own signs of a page it stands."""
        found = self._at(page)
        return found[0].own[found[1]] if found else 0

    def count_on(self, page: int) -> float:
        """What the term counts on a page."""
        found = self._at(page)
        return found[0].halves[found[1]] / 2.0 if found else 0.0

    def signs_on(self, page: int) -> bytes:
        """The numbers of the signs of a page that have the term, look-alikes too."""
        found = self._at(page)
        if not found:
            return b""
        block, at = found
        first = sum(block.many[:at])
        return block.signs[first : first + block.many[at]]

    def _at(self, page: int) -> tuple[Block, int] | None:
        block = self.blocks.get(page // BLOCK)
        if block is None:
            return None
        place = page % BLOCK
        at = bisect_left(block.places, place)
        met = at < len(block.places) and block.places[at] == place
        return (block, at) if met else None


class Shelf:
    """How many own signs each page has, its title among them, by its number.

    0 where no page has that number.
    """

    __slots__ = ("pages", "signs")

    def __init__(self, signs: "array[int]") -> None:
        self.signs = signs
        self.pages = len(signs) - signs.count(0)

    def numbers(self) -> list[int]:
        """The numbers of all pages."""
        return [number for number, signs in enumerate(self.signs) if signs]


def sample(pages: Sequence[int]) -> Sequence[int]:
    """Pages evenly out of all; all of them where they are not many."""
    return pages[:: max(1, ceil(len(pages) / MOST_LOOKED_AT))]
