"""Markdown of the cards as paragraphs, set out at a width. Links lead nowhere."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

from textual.content import Content

from bot.talk.clean import clean

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

_ON = {"strong_open": "bold", "em_open": "italic"}
_OFF = {"strong_close", "em_close"}
_TEXTS = {"text", "code_inline", "html_inline"}
_BREAKS = {"softbreak": " ", "hardbreak": "\n"}

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


@cache
def _reader() -> "MarkdownIt":
    """The reader of Markdown, made when the first text needs it: it is slow to load."""
    from markdown_it import MarkdownIt

    return MarkdownIt("commonmark", {"html": False}).enable("table")


def prose(text: str) -> tuple[Paragraph, ...]:
    """A block of Markdown as paragraphs; list items keep their numbers."""
    return tuple(_Walk().over(_reader().parse(clean(text))))


def phrase(text: str) -> Content:
    """One line of Markdown: bold and italics only, whatever it begins with."""
    flat = " ".join(clean(text).split())
    return _inline(_reader().parseInline(flat)[0].children or ())


def _inline(tokens: "Sequence[Token]") -> Content:
    out: list[Content] = []
    on: list[str] = []
    for token in tokens:
        if token.type in _ON:
            on.append(_ON[token.type])
        elif token.type in _OFF:
            on.pop()
        elif token.type in _BREAKS:
            out.append(Content(_BREAKS[token.type]))
        elif token.type == "image":
            out.append(Content(f"(picture: {token.content})"))
        elif token.type in _TEXTS:
            out.append(Content.styled(token.content, " ".join(on)))
    return Content("").join(out)


class _Walk:
    """One walk over the blocks of a text, with the lists it is inside of."""

    def __init__(self) -> None:
        self._lists: list[int | None] = []
        self._lead = ""
        self._bold = False
        self._heads: list[Content] = []
        self._cells: list[Content] | None = None
        self._in_head = False

    def over(self, tokens: "Sequence[Token]") -> Iterator[Paragraph]:
        """The paragraphs of the text, in order."""
        for token in tokens:
            if token.type == "inline":
                yield from self._text(_inline(token.children or ()))
            elif token.type in ("fence", "code_block", "html_block"):
                yield Paragraph(Content(token.content.rstrip("\n")), gap=True)
            elif token.type.startswith("t"):
                yield from self._table(token)
            else:
                self._enter(token)

    def _enter(self, token: "Token") -> None:
        kind = token.type
        if kind == "ordered_list_open":
            self._lists.append(int(token.attrs.get("start", 1)))
        elif kind == "bullet_list_open":
            self._lists.append(None)
        elif kind in ("ordered_list_close", "bullet_list_close"):
            self._lists.pop()
        elif kind == "list_item_open":
            self._item()
        elif kind.startswith("heading"):
            self._bold = kind == "heading_open"

    def _item(self) -> None:
        number = self._lists[-1]
        indent = "   " * (len(self._lists) - 1)
        self._lead = f"{indent}- " if number is None else f"{indent}{number}. "
        if number is not None:
            self._lists[-1] = number + 1

    def _text(self, text: Content) -> Iterator[Paragraph]:
        if self._cells is not None:
            self._cells.append(text)
            return
        lead, self._lead = self._lead, ""
        if self._bold:
            text = text.stylize("bold")
        if self._lists and not lead:
            lead = "   " * len(self._lists)
        yield Paragraph(text, Content(lead), gap=not self._lists)

    def _table(self, token: "Token") -> Iterator[Paragraph]:
        """A table as one paragraph a row: no table is too wide to read so."""
        if token.type in ("thead_open", "thead_close"):
            self._in_head = token.type == "thead_open"
        elif token.type == "tr_open":
            self._cells = []
        elif token.type == "tr_close":
            cells, self._cells = self._cells or [], None
            if self._in_head:
                self._heads = cells
            else:
                yield Paragraph(self._row(cells), Content("- "))

    def _row(self, cells: list[Content]) -> Content:
        named = [
            Content.assemble(head, ": ", cell) if head else cell
            for head, cell in zip(self._heads, cells, strict=False)
        ]
        return Content("; ").join(named)
