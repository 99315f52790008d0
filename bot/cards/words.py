"""The words files of a knowledge base -> Words, or every fault in them by its line.

The layout stands at the head of each file; what the entries do is decided in
`bot.language`.
"""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import TYPE_CHECKING

from bot.cards.strict_yaml import Listing, Mapping, Node, Text, parse
from bot.model.place import Fault, Place
from bot.model.words import Wording, Words

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_CHARACTERS = 1_500_000

TRADE = MappingProxyType({k: k for k in ("also", "loose", "short", "units", "never")})
SENSES = MappingProxyType(
    {"said": "also", "maybe": "loose", "against": "against", "so": "so"}
)
SPEECH = MappingProxyType({"said": "also"})
ENTRIES = MappingProxyType(
    {"words": TRADE, "senses": SENSES, "parts": SENSES, "acts": SPEECH, "marks": SPEECH}
)
"""The lists of entries, and which key of theirs fills which field of a `Wording`."""

LISTS = (
    "faults",
    "functions",
    "common",
    "forms",
    "numbers",
    "small",
    "little",
    "amounts",
    "negators",
    "deny",
    "harmless",
    "ends",
    "quitting",
    "ceasing",
    "skipped",
    "splitters",
    "courtesies",
    "asking",
    "past",
    "every",
    "some",
)

_PHRASE = re.compile(r"[a-z0-9%]|[a-z0-9][a-z0-9'/&.%-]{0,58}[a-z0-9.%]")
_NUMBER = re.compile(r"[a-z]+ [0-9]+(?:\.[0-9]+)?")


def read_words(text: str, path: str) -> Words | tuple[Fault, ...]:
    """What a words file holds, or all the faults found in it, by line.

    Args:
        text: the whole file.
        path: the file's path as shown to people.
    """
    tree = parse(text, path, most=MOST_CHARACTERS)
    if isinstance(tree, Fault):
        return (tree,)
    if not isinstance(tree, Mapping):
        return (Fault(tree.place, "not a words file; begin with 'words:'"),)
    reader = _Reader()
    words = reader.words(tree)
    reader.faults.extend(_clashes(words.wordings))
    reader.faults.extend(_clashes((*words.senses, *words.parts)))
    return tuple(sorted(set(reader.faults))) or words


class _Reader:
    """Walks the tree once and keeps every fault it meets."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def words(self, tree: Mapping) -> Words:
        self._known(tree, (*ENTRIES, *LISTS))
        entries = {
            name: tuple(
                w
                for entry in self._items(tree.get(name))
                if (w := self._entry(entry, k))
            )
            for name, k in ENTRIES.items()
        }
        lists = {
            name: self._listing(tree.get(name)) for name in LISTS if tree.get(name)
        }
        self._check_numbers(tree.get("numbers"))
        return Words(
            entries["words"],
            entries["senses"],
            entries["parts"],
            entries["acts"],
            entries["marks"],
            lists,
        )

    def _entry(self, entry: Node, keys: MappingProxyType[str, str]) -> Wording | None:
        if not isinstance(entry, Mapping):
            self._fault(entry.place, "not an entry; write '- is: term'")
            return None
        self._known(entry, ("is", *keys))
        term = entry.get("is")
        if not isinstance(term, Text):
            self._fault(entry.place, "an entry without its term; begin with '- is: '")
            return None
        self._phrase(term)
        fields = {field: self._listing(entry.get(key)) for key, field in keys.items()}
        if not any(fields.values()):
            says = f"'{term.value}' has no other wording; add '{next(iter(keys))}'"
            self._fault(term.place, says)
        return Wording(term.value, **fields, place=entry.place)

    def _listing(self, node: Node | None) -> tuple[str, ...]:
        """The phrases of a list; a line of single words may hold many."""
        texts = [item for item in self._items(node) if isinstance(item, Text)]
        for text in texts:
            self._phrase(text)
        return tuple(text.value for text in texts)

    def _items(self, node: Node | None) -> tuple[Node, ...]:
        if node is None:
            return ()
        if isinstance(node, Listing):
            return node.items
        self._fault(node.place, "not a list; write '[one, another]' or dashes")
        return ()

    def _check_numbers(self, node: Node | None) -> None:
        for item in self._items(node):
            if isinstance(item, Text) and not _NUMBER.fullmatch(item.value):
                self._fault(item.place, f"'{item.value}' is no number; write 'six 6'")

    def _phrase(self, text: Text) -> None:
        if not all(_PHRASE.fullmatch(word) for word in set(text.value.split(" "))):
            says = f"'{text.value}' is not small letters and digits; write it so"
            self._fault(text.place, says)

    def _known(self, tree: Mapping, names: tuple[str, ...]) -> None:
        for key, _ in tree.pairs:
            if key.value not in names:
                says = f"'{key.value}' is not known here; use {', '.join(names)}"
                self._fault(key.place, says)

    def _fault(self, place: Place, says: str) -> None:
        self.faults.append(Fault(place, says))


def _clashes(wordings: tuple[Wording, ...]) -> Iterator[Fault]:
    """A term given twice; a wording that means exactly two different terms."""
    terms: dict[str, Wording] = {}
    for wording in wordings:
        first = terms.setdefault(wording.term, wording)
        if first is not wording:
            says = (
                f"'{wording.term}' has an entry on line {first.place.line}; join them"
            )
            yield Fault(wording.place, says)
    owners: dict[str, Wording] = {}
    for wording in wordings:
        for phrase in (*wording.also, *wording.short):
            first = owners.setdefault(phrase, wording)
            if first.term != wording.term:
                says = (
                    f"'{phrase}' already means '{first.term}' (line"
                    f" {first.place.line}); keep one, or put it under 'loose'"
                )
                yield Fault(wording.place, says)
