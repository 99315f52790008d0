"""Markdown cut into its top-level pieces, each with its lines; no line is lost.

What CommonMark would drop or expand without a trace is switched off (reference
definitions, raw HTML, images); what windows would not show alike, and what would hide
text by nesting, is a fault (`bot.cards.alike`).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from markdown_it import MarkdownIt
from markdown_it.token import Token

from bot.cards.alike import lint_piece
from bot.cards.hidden import hidden
from bot.model.place import Fault, Place

MOST_CHARACTERS = 65_536
MOST_LINES = 1_500
MOST_LINE = 2_000
MOST_DEPTH = 8


class Kind(Enum):
    """What a piece is."""

    HEADING = "heading"
    PARAGRAPH = "paragraph"
    BULLETS = "list with dashes"
    NUMBERS = "numbered list"
    QUOTE = "quote"
    OTHER = "table or block"


@dataclass(frozen=True, slots=True)
class Item:
    """One item of a list with dashes, without its dash."""

    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class Piece:
    """One top-level block: its raw text without blank lines round it.

    `level` is a heading's depth, `title` its text; `items` are those of a list with
    dashes.
    """

    kind: Kind
    text: str
    place: Place
    level: int = 0
    title: str = ""
    items: tuple[Item, ...] = ()


_PARSER = MarkdownIt("commonmark", {"html": False, "maxNesting": 100})
_PARSER.enable("table").disable(["reference", "image", "html_block", "html_inline"])
_PARSER.core.ruler.enableOnly(["normalize", "block"])  # inline text is ours to read
_LEVELS = ("#", "##", "###")
_KINDS = {
    "heading_open": Kind.HEADING,
    "paragraph_open": Kind.PARAGRAPH,
    "bullet_list_open": Kind.BULLETS,
    "ordered_list_open": Kind.NUMBERS,
    "blockquote_open": Kind.QUOTE,
}


def strange_character(text: str, path: str) -> Fault | None:
    """The first fault of a raw text: too long, or a character nobody can see."""
    if len(text) > MOST_CHARACTERS or text.count("\n") > MOST_LINES:
        return Fault(
            Place(path, 1),
            f"too long; keep a card under {MOST_CHARACTERS} letters and "
            f"{MOST_LINES} lines",
        )
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > MOST_LINE:
            says = f"line of {len(line)} letters; keep it under {MOST_LINE}"
            return Fault(Place(path, number), says)
    return hidden(text, path)


def cut(text: str, path: str, first_line: int) -> Iterator[Piece | Fault]:
    """The pieces of a Markdown text in order; faults take their place among them.

    Args:
        text: the body of a card.
        path: shown in places.
        first_line: the file's line on which the body begins.
    """
    lines = text.split("\n")
    tokens = _PARSER.parse(text)
    for index, token in enumerate(tokens):
        if token.level > 2 * MOST_DEPTH:
            line = (token.map or [0])[0]
            says = "lists or quotes nested too deep; write it flat"
            yield Fault(Place(path, first_line + line), says)
            return
        if token.level == 0 and token.map and not token.type.endswith("_close"):
            place = Place(path, first_line + token.map[0])
            if token.type == "heading_open" and not _is_plain_heading(token):
                says = "write headings as '# ', '## ' or '### ' and the text"
                yield Fault(place, says)
            piece = _piece(tokens, index, lines, place)
            yield from lint_piece(piece.text, _whole(tokens, index), place)
            yield piece


def _whole(tokens: list[Token], index: int) -> list[Token]:
    """The tokens of the top-level block that begins there."""
    after = range(index + 1, len(tokens))
    end = next((n for n in after if tokens[n].level == 0), len(tokens))
    return (
        tokens[index : end + 1] if tokens[index].nesting else tokens[index : index + 1]
    )


def _is_plain_heading(token: Token) -> bool:
    start, end = token.map or (0, 0)
    return token.markup in _LEVELS and end == start + 1


def _piece(tokens: list[Token], index: int, lines: list[str], place: Place) -> Piece:
    token = tokens[index]
    start, end = token.map or (0, 0)
    while end > start and not lines[end - 1].strip():
        end -= 1
    text = "\n".join(lines[start:end])
    kind = _KINDS.get(token.type, Kind.OTHER)
    if kind is Kind.HEADING:
        level = _LEVELS.index(token.markup) + 1 if token.markup in _LEVELS else 3
        title = tokens[index + 1].content
        return Piece(kind, text, place, level=level, title=title)
    if kind is Kind.BULLETS:
        return Piece(kind, text, place, items=_items(tokens, index, lines, place))
    return Piece(kind, text, place)


def _items(
    tokens: list[Token], index: int, lines: list[str], place: Place
) -> tuple[Item, ...]:
    start = (tokens[index].map or [0, 0])[0]
    end = (tokens[index].map or [0, 0])[1]
    first = place.line - start
    items: list[Item] = []
    for token in tokens[index:]:
        if token.type == "list_item_open" and token.level == 1 and token.map:
            if token.map[0] >= end:
                break
            raw = lines[token.map[0] : token.map[1]]
            said = " ".join(line.strip() for line in raw if line.strip())
            at = Place(place.path, first + token.map[0])
            items.append(Item(said[1:].strip(), at))
    return tuple(items)
