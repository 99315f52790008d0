"""Front matter: the named values between the two lines of three dashes."""

import re
from dataclasses import dataclass, field
from datetime import date
from enum import Enum
from typing import TypeVar

from bot.cards.fitted import read_only
from bot.cards.meant import meant_name
from bot.cards.strict_yaml import Listing, Mapping, Node, Text, parse
from bot.model.card import Share
from bot.model.fitted import Only
from bot.model.place import Fault, Place

FAULT, PROCEDURE, NOTE = "fault", "procedure", "field note"
STUB, STOP_RULE = "stub", "stop rule"
"""What a page says it is."""

SYSTEMS = (
    "tyre-inflation",
    "tyres-wheels",
    "air-supply",
    "brakes",
    "electrics",
    "engine",
    "driveline",
    "steering-suspension",
    "cab-body",
)
WHOLE_TRUCK = "whole-truck"
"""The system of a procedure that belongs to none."""

_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_PLAIN = re.compile(r"[A-Za-z0-9(][^:#]*[^:# ]|[A-Za-z0-9]")
_RESERVED = re.compile(r"(?i)(?:null|true|false|yes|no|on|off|~|[-+.0-9eE_:]+)")

EnumType = TypeVar("EnumType", bound=Enum)


@dataclass(slots=True)
class Front:
    """Front matter being read: takes each name once, and collects the faults."""

    tree: Mapping
    faults: list[Fault] = field(default_factory=list)
    taken: set[str] = field(default_factory=set)

    def fault(self, place: Place, says: str) -> None:
        """Note one fault."""
        self.faults.append(Fault(place, says))

    def node(self, name: str, *, needed: bool = True) -> Node | None:
        """The value under a name; a missing one that is needed is a fault."""
        self.taken.add(name)
        value = self.tree.get(name)
        if value is None and needed:
            self.fault(self.tree.place, f"'{name}' is missing; add '{name}: ...'")
        return value

    def text(self, name: str) -> str:
        """The single text under a name; empty after a fault."""
        value = self.node(name)
        if isinstance(value, Text) and value.value.strip():
            return value.value
        if value is not None:
            self.fault(value.place, f"'{name}' is one text; write '{name}: words'")
        return ""

    def optional(self, name: str) -> str:
        """The single text under a name that may be missing."""
        return self.text(name) if self.tree.get(name) else self._passed(name)

    def _passed(self, name: str) -> str:
        self.taken.add(name)
        return ""

    def listing(
        self, name: str, *, needed: bool = True
    ) -> tuple[tuple[str, ...], tuple[Place, ...]]:
        """The texts under a name, with their places."""
        value = self.node(name, needed=needed)
        if value is None:
            return (), ()
        if not isinstance(value, Listing):
            self.fault(value.place, f"'{name}' is a list; write '  - words' lines")
            return (), ()
        texts: list[str] = []
        places: list[Place] = []
        for item in value.items:
            if isinstance(item, Text) and item.value.strip():
                texts.append(item.value)
                places.append(item.place)
            else:
                says = "not one text; put it in double quotes if it holds a colon"
                self.fault(item.place, says)
        return tuple(texts), tuple(places)

    def choice(self, name: str, kind: type[EnumType]) -> EnumType | None:
        """The member of a closed set that the text under a name stands for."""
        said = self.text(name)
        found = next((member for member in kind if member.value == said), None)
        if said and found is None:
            words = ", ".join(f"'{member.value}'" for member in kind)
            self.fault(self._place(name), f"{name}: '{said}' is not known; use {words}")
        return found

    def day(self, name: str) -> date:
        """The date under a name; the first of all days after a fault."""
        said = self.text(name)
        try:
            return date.fromisoformat(said) if said else date.min
        except ValueError:
            says = f"{name}: '{said}' is no date; write e.g. 2028-11-30"
            self.fault(self._place(name), says)
            return date.min

    def pairs(self, name: str) -> tuple[tuple[str, str, Place], ...]:
        """The `words: value` lines under an optional name, with their places."""
        value = self.node(name, needed=False)
        if value is None:
            return ()
        found: list[tuple[str, str, Place]] = []
        for item in value.items if isinstance(value, Listing) else (value,):
            pair = item.pairs[0] if isinstance(item, Mapping) and item.pairs else None
            said = pair[1] if pair else None
            if pair is None or not isinstance(said, Text):
                says = f"write each line of '{name}' as '- words: value'"
                self.fault(item.place, says)
            else:
                found.append((pair[0].value, said.value, pair[0].place))
        return tuple(found)

    def finish(self) -> None:
        """Report every name that nothing has read."""
        for name, _ in self.tree.pairs:
            if name.value not in self.taken:
                words = ", ".join(f"'{taken}'" for taken in sorted(self.taken))
                near = meant_name(name.value, tuple(self.taken))
                says = f"write '{near}'" if near else f"known: {words}"
                self.fault(name.place, f"'{name.value}' is not known; {says}")

    def _place(self, name: str) -> Place:
        value = self.tree.get(name)
        return value.place if value else self.tree.place


@dataclass(frozen=True, slots=True)
class Head:
    """What the front matter of every kind of page has in common."""

    id: str
    share: Share
    check_by: date
    authors: tuple[str, ...]


def read_head(front: Front, path: str, kind: str, *, is_dated: bool = True) -> Head:
    """The common part; what is missing or wrong is noted and stands in as strict.

    Args:
        front: the front matter.
        path: the file's path, whose name is the id.
        kind: what the page must say it is.
        is_dated: whether it says when it must be looked through again.
    """
    said = front.text("kind")
    if said and said != kind:
        says = f"'kind: {said}' does not belong in this folder; write 'kind: {kind}'"
        front.fault(front.tree.place, says)
    share = front.choice("share", Share) or Share.PRIVATE
    authors, _ = front.listing("authors")
    check_by = front.day("check-by") if is_dated else date.max
    return Head(_id_of(front, path), share, check_by, authors)


def read_system(front: Front, known: tuple[str, ...] = SYSTEMS) -> str:
    """The system that a page belongs to; "" after a fault."""
    system = front.text("system")
    if system and system not in known:
        says = f"system '{system}' is not known; use {', '.join(known)}"
        front.fault(front.tree.place, says)
    return system


def read_fits(front: Front) -> Only:
    """What a truck must have for the page to make sense, a group a line."""
    groups: list[tuple[str, ...]] = []
    for said, place in zip(*front.listing("fits", needed=False), strict=True):
        only = read_only(said, place)
        if isinstance(only, Fault):
            front.faults.append(only)
        else:
            groups += only
    return tuple(groups)


def _id_of(front: Front, path: str) -> str:
    """The file's name without its ending; a fault if it can be no id."""
    stem = path.rsplit("/", 1)[-1].removesuffix(".md")
    if not _ID.fullmatch(stem):
        says = (
            f"'{stem}' is no name for a page; name the file with small letters, digits "
            "and single hyphens"
        )
        front.fault(front.tree.place, says)
    return stem


def split(text: str, path: str) -> tuple[Front, str, int] | Fault:
    """The front matter, the body, and the file's line on which the body begins."""
    lines = text.split("\n")
    if lines[0] != "---":
        return Fault(Place(path, 1), "begin with a line of three dashes '---'")
    end = next((n for n, line in enumerate(lines[1:], 1) if line == "---"), None)
    if end is None:
        return Fault(Place(path, 1), "front matter is not closed; add a line '---'")
    tree = parse("\n".join(lines[1:end]), path, 2)
    if isinstance(tree, Fault):
        return tree
    if not isinstance(tree, Mapping):
        return Fault(tree.place, "write 'name: value', one to a line")
    return Front(tree), "\n".join(lines[end + 1 :]), end + 2


def scalar(text: str) -> str:
    """A text as YAML: bare when that is unmistakable, otherwise in double quotes.

    >>> print(scalar("hiss at one hub"), scalar("gauge: stuck"), scalar("no"))
    hiss at one hub "gauge: stuck" "no"
    """
    if _PLAIN.fullmatch(text) and not _RESERVED.fullmatch(text):
        return text
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def write_front(pairs: list[tuple[str, str | tuple[str, ...]]]) -> str:
    """Front matter with its dashes: (name, text or list), what is empty left out."""
    out = ["---"]
    for name, value in pairs:
        if value and isinstance(value, str):
            out.append(f"{name}: {value}")
        elif value:
            out.append(f"{name}:")
            out += [f"  - {item}" for item in value]
    return "\n".join([*out, "---"])
