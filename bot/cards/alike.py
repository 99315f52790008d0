"""Markdown that one window would show and another not, refused by its line.

Windows show running text as `bot.model.marked` reads it. Here a page is held against
what viewers of Markdown make of it: where the two differ, nobody may guess.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass
from functools import cache
from types import MappingProxyType

from markdown_it import MarkdownIt
from markdown_it.token import Token

from bot.model.card import Caution, Link, Prose
from bot.model.marked import FENCE, items, plain
from bot.model.place import NOWHERE, Fault, Place

_SURE = re.compile(
    r"(?:[^*_`<&\\\[\]!~]|!(?!\[)|\[[^*_`<&\\\[\]!~]+\]\([A-Za-z0-9#/.-]+\))*"
)
"""Text in which no viewer can see another mark than we do."""

_BARE = re.compile(r"[^*_`<&\\\[\]!~]*")
_HIDES = re.compile(r"<[A-Za-z/!?]|\s*\[[^\[\]]+\]:")
"""HTML, or what other links refer to: viewers show nothing of either."""

_PICTURE = re.compile(r"!\[([^\[\]\n]*)\]\([^()\s/]*\)")
_STANDS = frozenset({"paragraph_open", "inline", "list_item_open"})
_NOT_HERE = MappingProxyType(
    {
        "bullet_list_open": "a list within another text; write it flat, on its own",
        "ordered_list_open": "a list within another text; write it flat, on its own",
        "blockquote_open": "a quote within another text; write it on its own",
        "fence": f"write a diagram between two lines of '{FENCE}' and nothing more",
        "code_block": "moved in by four blanks; begin it at the left edge",
        "table_open": "a table; write a line with a dash for each row",
        "hr": "a line across the page; take it out",
        "heading_open": "a heading within another text; leave a line empty above it",
    }
)
"""What cannot be shown alike in every window, and what to write instead."""

MARKS = (
    "not shown alike everywhere; mark words with '*slanted*', '**strong**' and "
    "'[label](target)' alone, none within another, and no other sign of Markdown"
)
PLAIN = "plain words only; take out '*', links and other signs of Markdown"
APART = "one sentence or more to each number or dash, in one paragraph"
JOINED = "begins like an item of a list; break the line elsewhere"
IN_TURN = "number the lines in turn, as '1. ', '2. '"


@cache
def _viewer() -> MarkdownIt:
    """A viewer of Markdown as people have them."""
    return MarkdownIt("commonmark").enable("strikethrough")


def lint_piece(text: str, tokens: Sequence[Token], place: Place) -> Iterator[Fault]:
    """What in one piece of a page some window could not show, or would change.

    Args:
        text: its raw text.
        tokens: what the block parser made of it, with lines from that of the piece.
        place: where it stands.
    """
    if text.startswith(FENCE) and tokens[0].type == "fence":
        lines = text.split("\n")
        if len(lines) < 2 or not lines[0] == lines[-1] == FENCE:
            yield Fault(place, _NOT_HERE["fence"])
        return
    first = 1 if tokens[0].nesting == 1 and tokens[0].type != "table_open" else 0
    first_line = (tokens[0].map or [0])[0]
    for token in tokens[first:]:
        if token.nesting >= 0 and token.type not in _STANDS:
            line = (token.map or [first_line])[0] - first_line
            at = Place(place.path, place.line + line)
            yield Fault(at, _NOT_HERE.get(token.type, MARKS))
            return
    yield from _listed(text, tokens, place)
    for token in tokens:
        if token.type == "inline" and not _is_alike(token.content):
            line = (token.map or [first_line])[0] - first_line
            yield Fault(Place(place.path, place.line + line), MARKS)


def _listed(text: str, tokens: Sequence[Token], place: Place) -> Iterator[Fault]:
    """Items that are not the ones that every window sees."""
    kinds = [token.type for token in tokens]
    if kinds[0] in ("heading_open", "blockquote_open"):
        if kinds.count("paragraph_open") > 1:
            yield Fault(place, "a caution is one paragraph; take the empty line out")
        return
    listed = [token for token in tokens if token.type == "list_item_open"]
    if len(items(text)) != max(len(listed), 1):
        yield Fault(place, APART if listed else JOINED)
    elif kinds.count("paragraph_open") != max(len(listed), 1):
        yield Fault(place, APART)
    elif kinds[0] == "ordered_list_open":
        numbers = [int(token.info) for token in listed]
        in_turn = list(range(numbers[0], numbers[0] + len(numbers)))
        if numbers != in_turn or listed[0].markup != ".":
            yield Fault(place, IN_TURN)


def _is_alike(text: str) -> bool:
    """Whether viewers show the same words of some running text as we do."""
    if _SURE.fullmatch(text):
        return True
    picture = _PICTURE.fullmatch(text)
    if picture:
        return is_plain(picture[1])
    return not _HIDES.match(text) and _viewed(text) == plain(text).split()


def is_plain(text: str) -> bool:
    """Whether a text has no marks at all, in any viewer."""
    if _BARE.fullmatch(text):
        return True
    return "*" not in text and not _HIDES.match(text) and _viewed(text) == text.split()


def _viewed(text: str) -> list[str] | None:
    """The words that viewers show of a text; None where they show more than words."""
    if _HIDES.search(text) and "<" in text:
        return None
    shown: list[str] = []
    for token in _viewer().parseInline(text)[0].children or ():
        if token.type in ("text", "softbreak", "hardbreak"):
            shown.append(token.content or " ")
        elif token.type.rpartition("_")[0] not in ("strong", "em", "link"):
            return None
    return "".join(shown).split()


def lint_plain(noun: object, place: Place = NOWHERE) -> Iterator[Fault]:
    """The texts of a noun that are no running text, and yet have marks in them."""
    if isinstance(noun, str):
        if not is_plain(noun):
            yield Fault(place, f"'{noun[:40]}': {PLAIN}")
    elif isinstance(noun, tuple):
        for each in noun:
            yield from lint_plain(each, place)
    elif isinstance(noun, Link):
        yield from lint_plain(noun.label, place)
    elif is_dataclass(noun) and not isinstance(noun, Prose | Caution | Place):
        own = getattr(noun, "place", place)
        for each in fields(noun):
            yield from lint_plain(getattr(noun, each.name), own)
