"""YAML read as plain text values, each with its line; everything surprising refused.

Only block or flow mappings, lists and scalars pass. Every scalar stays the text that
was written (``no`` is "no", ``24.10`` is "24.10"): the schema converts, not the loader.
Refused with a fault: duplicate keys, anchors and aliases, merge keys, explicit tags,
several documents, too much text, too much depth.
"""

import re
from dataclasses import dataclass

import yaml

from bot.cards.hidden import hidden
from bot.model.place import Fault, Place

MOST_CHARACTERS = 16_384
MOST_DEPTH = 6
TOO_DEEP = "nested too deep; write it flat"
MOST_EVENTS = 4_000

_OPENED = re.compile(rf"(?:[\[{{] *){{{MOST_DEPTH + 1}}}")
"""More brackets opened in a row than may stand in each other: the scanner looks far
ahead, and its time grows with the square of them."""


@dataclass(frozen=True, slots=True)
class Text:
    """A scalar as written."""

    value: str
    place: Place


@dataclass(frozen=True, slots=True)
class Listing:
    """A list, in order."""

    items: tuple["Node", ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Mapping:
    """Keys in the order written, each with its value; no key stands twice."""

    pairs: tuple[tuple[Text, "Node"], ...]
    place: Place

    def get(self, key: str) -> "Node | None":
        """The value under `key`, or None."""
        return next((value for name, value in self.pairs if name.value == key), None)


Node = Text | Listing | Mapping


class _RefusedError(Exception):
    def __init__(self, line: int, says: str) -> None:
        super().__init__(says)
        self.line = line
        self.says = says


def parse(
    text: str, path: str, first_line: int = 1, most: int = MOST_CHARACTERS
) -> Node | Fault:
    """The tree of a YAML text, or the first fault in it.

    Args:
        text: the YAML itself.
        path: shown in places.
        first_line: the file's line on which the text begins.
        most: the most characters that are read.
    """
    if len(text) > most:
        return Fault(Place(path, first_line), f"too long; keep it under {most} letters")
    if unseen := hidden(text, path, first_line, allowed="\t\r"):
        return unseen
    if opened := _OPENED.search(text):
        line = text.count("\n", 0, opened.start())
        return Fault(Place(path, first_line + line), TOO_DEEP)
    try:
        return _Reader(path, first_line, unlimited=most > MOST_CHARACTERS).tree(text)
    except _RefusedError as refused:
        return Fault(Place(path, first_line + refused.line), refused.says)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line if mark else 0
        says = error.problem or "cannot be read"
        return Fault(
            Place(path, first_line + line),
            f"not valid YAML ({says}); put a text with ': ' or '#' in double quotes",
        )
    except (yaml.reader.ReaderError, UnicodeEncodeError) as error:
        at = error.start if isinstance(error, UnicodeEncodeError) else error.position
        line = text[:at].count("\n")
        return Fault(
            Place(path, first_line + line),
            "holds a character that cannot be shown; type the line afresh",
        )


_FAST = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
"""The same parser in C, where it was built: for the long words files."""


class _Reader:
    """Builds the tree from parser events, so that nothing is resolved or expanded."""

    def __init__(self, path: str, first_line: int, *, unlimited: bool) -> None:
        self.path = path
        self.first_line = first_line
        self.unlimited = unlimited

    def tree(self, text: str) -> Node:
        self.events = yaml.parse(
            text, Loader=_FAST if self.unlimited else yaml.SafeLoader
        )
        self.seen = 0
        root: Node | None = None
        for event in self.events:
            if isinstance(event, yaml.DocumentStartEvent):
                if root is not None:
                    raise _RefusedError(_line(event), "a second '---'; keep one part")
                event = next(self.events)
                root = self._node(event, 0)
        if root is None:
            raise _RefusedError(0, "empty; write 'name: value', one to a line")
        return root

    def _node(self, event: yaml.Event, depth: int) -> Node:
        self._check(event, depth)
        place = Place(self.path, self.first_line + _line(event))
        if isinstance(event, yaml.ScalarEvent):
            return Text(event.value, place)
        if isinstance(event, yaml.SequenceStartEvent):
            return Listing(tuple(self._items(depth)), place)
        return Mapping(tuple(self._pairs(depth)), place)

    def _items(self, depth: int) -> list[Node]:
        items: list[Node] = []
        while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
            items.append(self._node(event, depth + 1))
        return items

    def _pairs(self, depth: int) -> list[tuple[Text, Node]]:
        pairs: list[tuple[Text, Node]] = []
        seen: dict[str, int] = {}
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            key = self._node(event, depth + 1)
            if not isinstance(key, Text):
                raise _RefusedError(_line(event), "a list as a name; write a word")
            if key.value == "<<":
                raise _RefusedError(_line(event), "'<<' is not allowed; write it out")
            if key.value in seen:
                first = self.first_line + seen[key.value]
                raise _RefusedError(
                    _line(event),
                    f"'{key.value}' stands twice (first on line {first}); keep one",
                )
            seen[key.value] = _line(event)
            pairs.append((key, self._node(next(self.events), depth + 1)))
        return pairs

    def _check(self, event: yaml.Event, depth: int) -> None:
        self.seen += 1
        line = _line(event)
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise _RefusedError(
                line, "'&' or '*' is special here; put the text in double quotes"
            )
        if getattr(event, "tag", None) is not None:
            raise _RefusedError(
                line, "'!' is special here; put the text in double quotes"
            )
        if depth > MOST_DEPTH:
            raise _RefusedError(line, TOO_DEEP)
        if self.seen > MOST_EVENTS and not self.unlimited:
            raise _RefusedError(line, "too many entries; shorten it")


def _line(event: yaml.Event) -> int:
    return event.start_mark.line if event.start_mark else 0
