"""The pieces that pages and reports are cut into, to be set in turn.

They hold Markdown of a line or a few; `bot.paper.text`, `bot.paper.html` and
`bot.paper.markdown` set them.
"""

from dataclasses import dataclass

from bot.model.card import Drive
from bot.paper.plot import Plot


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; `anchor` is where links to it lead."""

    level: int
    text: str
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """May it move, first thing on a page."""

    drive: Drive


@dataclass(frozen=True, slots=True)
class Box:
    """A caution with its signal word, or a STOP."""

    signal: str
    text: str


@dataclass(frozen=True, slots=True)
class Para:
    """Running text; `small` for what is looked up and not read."""

    text: str
    small: bool = False


@dataclass(frozen=True, slots=True)
class Plain:
    """Words without marks, shown letter for letter, a line each; `listed` with dashes.

    What a person typed or a note holds is set so.
    """

    lines: tuple[str, ...]
    listed: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """A line with a mark before it: a dash, a number, a box to tick or strike."""

    mark: str
    text: str


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture: the words in its stead, and the path of its file."""

    words: str
    path: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """A diagram in letters, line for line."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A head and rows of cells, to be filled in by hand unless it `is_full`."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    is_full: bool = False


Piece = Heading | Verdict | Box | Para | Plain | Row | Photo | Drawing | Table | Plot

TICK = "[ ]"
"""A box to tick or strike."""
