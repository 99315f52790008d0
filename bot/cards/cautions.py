"""`kb/cautions.md`: the classes of dangerous acts, each with its caution."""

from typing import NamedTuple

from bot.cards.page import Page
from bot.cards.pieces import Kind, Piece
from bot.model.card import Caution
from bot.model.place import Fault, Place

_WORDS = "Its caution says one of: "


class Class(NamedTuple):
    """A class of acts: its caution, and the words of which a caution needs one."""

    name: str
    caution: Caution
    needs: tuple[str, ...]

    def is_guarded(self, cautions: str) -> bool:
        """Whether cautions, in small letters, speak of this."""
        return any(word in cautions for word in self.needs)


def read_cautions(text: str, path: str) -> tuple[Class, ...] | tuple[Fault, ...]:
    """The classes that a text holds, or every fault by its line."""
    page = Page(text, path, 1)
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


def _class(page: Page, heading: Piece, pieces: list[Piece]) -> Class | None:
    blocks = page.blocks([piece for piece in pieces if piece.kind is Kind.QUOTE])
    cautions = [block for block in blocks if isinstance(block, Caution)]
    said = [" ".join(p.text.split()) for p in pieces if p.kind is not Kind.QUOTE]
    if len(cautions) != 1 or len(said) != 1 or not said[0].startswith(_WORDS):
        says = f"'{heading.title}' needs one caution, then '{_WORDS}jack, fall.'"
        page.fault(heading.place, says)
        return None
    words = said[0].removeprefix(_WORDS).rstrip(".").split(", ")
    return Class(heading.title, cautions[0], tuple(words))
