"""The thesaurus text -> Words, or every fault in it by its line.

The layout stands at the head of `kb/words.yaml`; what the entries do to a search is
decided in `bot.match`.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from bot.cards.strict_yaml import Listing, Mapping, Node, Text, parse
from bot.model.place import Fault, Place
from bot.model.words import Wording, Words

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_CHARACTERS = 400_000

LISTS = ("faults", "functions", "common")
KINDS = ("also", "loose", "short", "units", "never")

_PHRASE = re.compile(r"[a-z0-9][a-z0-9 '/&.%-]{0,58}[a-z0-9.%]|[a-z0-9%]")


def read_words(text: str, path: str) -> Words | tuple[Fault, ...]:
    """The thesaurus that a text holds, or all the faults found in it, by line.

    Args:
        text: the whole file.
        path: the file's path as shown to people.
    """
    tree = parse(text, path, most=MOST_CHARACTERS)
    if isinstance(tree, Fault):
        return (tree,)
    if not isinstance(tree, Mapping):
        return (Fault(tree.place, "not a thesaurus; begin with 'words:'"),)
    reader = _Reader()
    words = reader.words(tree)
    reader.faults.extend(_clashes(words.wordings))
    return tuple(sorted(set(reader.faults))) or words


class _Reader:
    """Walks the tree once and keeps every fault it meets."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def words(self, tree: Mapping) -> Words:
        self._known(tree, ("words", *LISTS))
        entries = self._items(tree.get("words"))
        wordings = tuple(w for entry in entries if (w := self._wording(entry)))
        lists = {name: self._listing(tree.get(name)) for name in LISTS}
        common = tuple(word for line in lists.pop("common") for word in line.split())
        return Words(wordings, common=common, **lists)

    def _wording(self, entry: Node) -> Wording | None:
        if not isinstance(entry, Mapping):
            self._fault(entry.place, "not an entry; write '- is: term'")
            return None
        self._known(entry, ("is", *KINDS))
        term = entry.get("is")
        if not isinstance(term, Text):
            self._fault(entry.place, "an entry without its term; begin with '- is: '")
            return None
        self._phrase(term, 1)
        kinds = {kind: self._listing(entry.get(kind)) for kind in KINDS}
        if not any(kinds.values()):
            says = f"'{term.value}' has no other wording; add 'also' or 'loose'"
            self._fault(term.place, says)
        return Wording(term.value, **kinds, place=entry.place)

    def _listing(self, node: Node | None) -> tuple[str, ...]:
        """The phrases of a list; a common line may hold many words."""
        texts = [item for item in self._items(node) if isinstance(item, Text)]
        for text in texts:
            self._phrase(text, 2)
        return tuple(text.value for text in texts)

    def _items(self, node: Node | None) -> tuple[Node, ...]:
        if node is None:
            return ()
        if isinstance(node, Listing):
            return node.items
        self._fault(node.place, "not a list; write '[one, another]' or dashes")
        return ()

    def _phrase(self, text: Text, _level: int) -> None:
        words = text.value.split(" ")
        if not all(_PHRASE.fullmatch(word) for word in words):
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
