"""Running text of pages as paragraphs, set out at a width. Links lead nowhere."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from textual.content import Content

from bot.model.marked import items, runs
from bot.talk.clean import clean

_INK = MappingProxyType({"": "", "label": "", "strong": "bold", "slanted": "italic"})

NARROWEST = 12
"""Fewest columns a hanging text gets, however wide its lead is."""

BETWEEN = "   "
"""What stands between two chips on a line."""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Text that wraps under its lead; `gap` puts an empty line before it."""

    text: Content
    lead: Content = field(default_factory=Content)
    gap: bool = False


def set_out(paragraphs: Iterable[Paragraph], width: int) -> Content:
    """The paragraphs as lines no wider than `width`."""
    lines: list[Content] = []
    for paragraph in paragraphs:
        if paragraph.gap and lines:
            lines.append(Content(""))
        lines += _hung(paragraph, width)
    return Content("\n").join(lines)


def _hung(paragraph: Paragraph, width: int) -> list[Content]:
    lead = paragraph.lead
    indent = lead.cell_length
    room = max(width - indent, min(width, NARROWEST))
    first, *rest = paragraph.text.wrap(room) or [Content("")]
    return [lead + first, *(line.pad_left(indent) for line in rest)]


def flowed(chips: Sequence[Content], width: int) -> Content:
    """Chips side by side; none is parted over two lines unless it is too long."""
    lines: list[Content] = []
    for chip in chips:
        last = lines[-1].cell_length if lines else width
        if last + len(BETWEEN) + chip.cell_length <= width:
            lines[-1] = Content.assemble(lines[-1], BETWEEN, chip)
        else:
            first, *rest = chip.wrap(width - 2 if chip.cell_length > width else width)
            lines += [first, *(line.pad_left(2) for line in rest)]
    return Content("\n").join(lines)


def prose(text: str) -> tuple[Paragraph, ...]:
    """Running text as paragraphs; list items keep their numbers."""
    return tuple(
        Paragraph(marked(text), Content(f"{lead} " if lead else ""), gap=not lead)
        for lead, text in items(clean(text))
    )


def marked(text: str) -> Content:
    """Running text of a page on one line, its marks as bold and italics."""
    flat = " ".join(clean(text).split())
    return Content.assemble(*((run.text, _INK[run.mark]) for run in runs(flat)))


def phrase(text: str) -> Content:
    """Plain words on one line, letter for letter."""
    return Content(" ".join(clean(text).split()))
