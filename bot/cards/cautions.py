"""`kb/cautions.md`: the classes of dangerous acts, each with its caution."""

from typing import NamedTuple

from bot.cards.page import Page
from bot.cards.pieces import Kind, Piece, strange_character
from bot.model.card import Act, Caution
from bot.model.place import Fault, Place

NAMES = tuple(act.key for act in Act)
_ACTS = ", ".join(NAMES)


class Class(NamedTuple):
    """A class of acts by its name with hyphens, and the caution for all pages."""

    name: str
    caution: Caution


def read_cautions(text: str, path: str) -> tuple[Class, ...] | tuple[Fault, ...]:
    """The classes that a text holds, or every fault by its line."""
    strange = strange_character(text, path)
    if strange:
        return (strange,)
    head, rest = _parted(text)
    page = Page(rest, path, head.count("\n") + 1)
    sections: list[tuple[Piece, list[Piece]]] = []
    for piece in page.pieces:
        if piece.kind is Kind.HEADING and piece.level == 2:
            sections.append((piece, []))
        elif sections:
            sections[-1][1].append(piece)
    found = [_class(page, heading, under) for heading, under in sections]
    classes = tuple(each for each in found if each)
    if not classes and not page.faults:
        page.fault(Place(path, 1), "holds no class; write '## lifting' and its caution")
    return tuple(sorted(set(page.faults))) or classes


def _parted(text: str) -> tuple[str, str]:
    """What the file says of itself, and its classes."""
    at = max(0, f"\n{text}".find("\n## "))
    return text[:at], text[at:]


def _class(page: Page, heading: Piece, pieces: list[Piece]) -> Class | None:
    blocks = page.blocks([piece for piece in pieces if piece.kind is Kind.QUOTE])
    cautions = [block for block in blocks if isinstance(block, Caution)]
    if heading.title not in NAMES:
        page.fault(heading.place, f"'{heading.title}' is no act; the acts are {_ACTS}")
        return None
    if len(cautions) != 1 or len(pieces) != 1:
        page.fault(heading.place, f"'{heading.title}' needs one caution and no more")
        return None
    return Class(heading.title, cautions[0])
