"""A page being read: its pieces by section, and the faults found on the way.

Each piece is taken by exactly one part of the grammar; one that none takes is a fault.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from bot.cards.alike import MARKS, PLAIN, lint_plain
from bot.cards.front import Front, split
from bot.cards.meant import meant_name, meant_needs, meant_title, meant_verdict
from bot.cards.needs import read_needs
from bot.cards.pieces import Kind, Piece, cut, strange_character
from bot.model.card import Act, Block, Caution, Drive, Duration, Needs, Prose, Signal
from bot.model.place import Fault, Place

NO_TIME = Needs(Duration("0", "min"))
"""Stands in for what a heading takes when its line is missing or wrong."""

_MAY_IT_MOVE = re.compile(r"\*\*May it move:\*\* ([a-z, ]+)\.")
_CAUTION = re.compile(
    r"\*\*(DANGER|WARNING|CAUTION|NOTICE)(?:, ([a-z -]+))?\*\* (\S.*)", re.DOTALL
)

_NUMBER = re.compile(r"([0-9]{1,3})\. (\S.*)")
_FENCE = "```"
_ODD_DASH = re.compile(r"( *)([\u2013\u2014\u2022\u00b7*+]) +(?=\S)")

Noun = TypeVar("Noun")


def read_page(
    text: str, path: str, read: Callable[[Front, "Page"], Noun]
) -> Noun | tuple[Fault, ...]:
    """What `read` makes of a text, or all the faults found in it, by line."""
    start = strange_character(text, path) or split(text, path)
    if isinstance(start, Fault):
        return (start,)
    front, body, first_line = start
    page = Page(body, path, first_line)
    noun = read(front, page)
    front.finish()
    faults = {*front.faults, *page.faults} or set(lint_plain(noun))
    told = {fault.place for fault in faults if fault.says != MARKS}
    kept = (f for f in faults if f.says != MARKS or f.place not in told)
    return tuple(sorted(kept)) or noun


class Page:
    """The pieces of one page, handed out section by section; collects the faults."""

    def __init__(self, body: str, path: str, first_line: int) -> None:
        self.faults: list[Fault] = []
        self.pieces: list[Piece] = []
        self.path = path
        self.last_line = first_line + body.rstrip("\n").count("\n")
        for piece in cut(self._with_dashes(body, first_line), path, first_line):
            if isinstance(piece, Fault):
                self.faults.append(piece)
            else:
                self.pieces.append(piece)

    @property
    def place(self) -> Place:
        """Where its title stands."""
        return self.pieces[0].place if self.pieces else Place(self.path, self.last_line)

    def _with_dashes(self, body: str, first_line: int) -> str:
        """The text with a dash before each line of a list, each other sign noted."""
        lines = body.split("\n")
        in_diagram = False
        for number, line in enumerate(lines):
            in_diagram ^= line.startswith(_FENCE)
            found = None if in_diagram else _ODD_DASH.match(line)
            if found:
                says = f"begin the line with '- ', not with '{found[2]}'"
                self.fault(Place(self.path, first_line + number), says)
                lines[number] = f"{found[1]}- {line[found.end() :]}"
        return "\n".join(lines)

    def fault(self, place: Place, says: str) -> None:
        """Note one fault."""
        self.faults.append(Fault(place, says))

    def keep(self, found: Noun | Fault) -> Noun | None:
        """The noun, or None with its fault noted."""
        if isinstance(found, Fault):
            self.faults.append(found)
            return None
        return found

    def nearly(
        self,
        read: Callable[[str, Place], Noun | Fault],
        text: str,
        meant: str,
        place: Place,
        form: str = "- {}",
    ) -> Noun | None:
        """What a line holds, or holds as it was meant; None where neither can be read.

        Args:
            read: the reader of such lines.
            text: the line.
            meant: the line as its author may have meant it.
            place: where it stands.
            form: how the whole line looks, for the fault's advice.
        """
        found = read(text, place)
        if not isinstance(found, Fault):
            return found
        second = found if meant == text else read(meant, place)
        if isinstance(second, Fault):
            return self.keep(found)
        self.fault(place, f"write '{form.format(meant)}'")
        return second

    def title(self) -> str:
        """The first heading; empty after a fault."""
        first = self.pieces[0] if self.pieces else None
        if first is None or first.kind is not Kind.HEADING or first.level != 1:
            self.fault(self.place, "begin the page with '# The complaint in one line'")
            return ""
        if "[" in first.title or "]" in first.title:  # it is the label of links to it
            self.fault(first.place, PLAIN)
        return first.title

    def verdict(self, pieces: list[Piece]) -> tuple[Drive, list[Piece]]:
        """Whether the truck may move, told right under the title, and what is left."""
        first = pieces[0] if pieces else None
        text = first.text if first else ""
        place = first.place if first else Place(self.path, self.last_line)
        drive = self.nearly(_read_verdict, text, meant_verdict(text), place, "{}")
        return drive or Drive.DO_NOT_MOVE, pieces[1:] if drive else pieces

    def sections(
        self, names: tuple[str, ...], spare: tuple[str, ...] = ()
    ) -> dict[str, list[Piece]]:
        """The pieces by section; those before the first one under an empty name.

        Sections in `spare` may be missing.
        """
        found: dict[str, list[Piece]] = {"": []}
        current = ""
        for piece in self.pieces[1:]:
            if piece.kind is Kind.HEADING and piece.level == 2:
                current = self._open(piece, names, found)
            elif piece.kind is Kind.HEADING and piece.level == 1:
                self.fault(piece.place, "a second '# ' heading; write '## ' or '### '")
            else:
                found[current].append(piece)
        for name in names:
            if name not in found:
                found[name] = []
                if name not in spare:
                    place = Place(self.path, self.last_line)
                    self.fault(place, f"no section '## {name}'; add it")
        return found

    def _open(
        self, piece: Piece, names: tuple[str, ...], found: dict[str, list[Piece]]
    ) -> str:
        wanted = " / ".join(f"'## {name}'" for name in names)
        name = piece.title
        near = "" if name in names else meant_name(name, names)
        if near and near not in found:
            self.fault(piece.place, f"write '## {near}'")
            name = near
        elif name not in names:
            self.fault(piece.place, f"section '{name}' is not known; write {wanted}")
        elif name in found:
            self.fault(piece.place, f"section '{name}' stands twice; keep one")
        elif any(names.index(n) > names.index(name) for n in found if n in names):
            self.fault(piece.place, f"section '{name}' is out of order; write {wanted}")
        found.setdefault(name, [])
        return name

    def items(
        self,
        pieces: list[Piece],
        what: str,
        read: Callable[[str, Place], Noun | Fault],
        meant: Callable[[str], str] = str,
    ) -> tuple[Noun, ...]:
        """The items of the one list with dashes that a section consists of.

        `meant` gives an item as its author may have meant it.
        """
        found: list[Noun] = []
        for piece in pieces:
            if piece.kind is Kind.BULLETS:
                for item in piece.items:
                    said = item.text
                    noun = self.nearly(read, said, meant(said), item.place)
                    if noun is not None:
                        found.append(noun)
            else:
                self.fault(piece.place, f"write {what} as lines with a dash, no more")
        return tuple(found)

    def blocks(self, pieces: list[Piece]) -> tuple[Block, ...]:
        """Cautions and prose, in order."""
        found = (self._block(piece) for piece in pieces)
        return tuple(block for block in found if block is not None)

    def _block(self, piece: Piece) -> Block | None:
        if piece.kind is Kind.QUOTE:
            return self._caution(piece)
        if piece.kind is Kind.HEADING:
            self.fault(piece.place, f"heading '{piece.title}' does not belong here")
            return None
        return Prose(piece.text, piece.place)

    def _caution(self, piece: Piece) -> Caution | None:
        lines = piece.text.split("\n")
        bare = next((n for n, line in enumerate(lines) if line[:2] != "> "), None)
        if bare is not None:
            place = Place(piece.place.path, piece.place.line + bare)
            self.fault(place, "begin each line of a caution with '> '")
            return None
        found = _CAUTION.fullmatch("\n".join(line[2:] for line in lines))
        if found is None:
            says = (
                "not a caution; write '> **WARNING** hazard. What it does to you. How "
                "to avoid it.' with DANGER, WARNING, CAUTION or NOTICE"
            )
            self.fault(piece.place, says)
            return None
        act = next((act for act in Act if act.value == found[2]), None)
        if found[2] and act is None:
            acts = ", ".join(each.value for each in Act)
            self.fault(piece.place, f"'{found[2]}' is no act; write one of {acts}")
        return Caution(Signal(found[1]), found[3], act, piece.place)

    def parts(self, pieces: list[Piece]) -> list[tuple[Piece, list[Piece]]]:
        """The numbered '### ' headings of a section, each with the pieces under it."""
        found: list[tuple[Piece, list[Piece]]] = []
        for piece in pieces:
            if piece.kind is Kind.HEADING:
                found.append((self._numbered(piece, len(found) + 1), []))
            elif found:
                found[-1][1].append(piece)
            else:
                says = "nothing may stand before the first '### ' heading; move it"
                self.fault(piece.place, says)
        return found

    def _numbered(self, heading: Piece, number: int) -> Piece:
        """The heading without its number, which is noted if it is not the next one."""
        found = _NUMBER.fullmatch(heading.title)
        title = found[2] if found else meant_title(heading.title)
        if found is None or int(found[1]) != number:
            self.fault(heading.place, f"write '### {number}. {title}': number in turn")
        return replace(heading, title=title)

    def needs(self, pieces: list[Piece], place: Place) -> tuple[Needs, list[Piece]]:
        """What the slanted first line says, and the pieces after it."""
        first = pieces[0] if pieces else None
        text = first.text if first else ""
        slanted = text.startswith("*") and text.endswith("*") and text[1:2] != "*"
        if first and slanted and "\n" not in text:
            bare = text[1:-1]
            form, meant = "*{}*", meant_needs(bare)
            found = self.nearly(read_needs, bare, meant, first.place, form)
            return found or NO_TIME, pieces[1:]
        meant = meant_needs(text)
        needs = read_needs(meant, first.place if first else place)
        if first and not isinstance(needs, Fault):
            self.fault(first.place, f"write '*{meant}*', on a line of its own")
            return needs, pieces[1:]
        says = (
            "the line under the heading is missing; write what it takes on one line, "
            "such as '*10 min; tools: torch; truck: engine off*'"
        )
        self.fault(first.place if first else place, says)
        return NO_TIME, pieces


def _read_verdict(text: str, place: Place) -> Drive | Fault:
    """The verdict in the line under the title."""
    found = _MAY_IT_MOVE.fullmatch(text)
    drive = next((d for d in Drive if found and d.value == found[1]), None)
    words = ", ".join(f"'{member.value}'" for member in Drive)
    says = f"write under the title '**May it move:** ....' with one of {words}"
    return drive or Fault(place, says)
