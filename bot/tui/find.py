"""Words looked for in what is read: the next line that holds them comes into view."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from bot.tui.leaves import Leaf

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bot.tui.board import Reader


class Line(NamedTuple):
    """A line of a text as it is set out now: how far down, whose, which, its words."""

    at: float
    leaf: Leaf
    row: int
    says: str


def lines(reader: Reader) -> Iterator[Line]:
    """All lines that can be read, from the top."""
    top = reader.scrollable_content_region.y - reader.scroll_y
    for leaf in reader.query(Leaf):
        if leaf.display:
            for row, says in enumerate(leaf.text.split("\n")):
                yield Line(leaf.content_region.y - top + row, leaf, row, says)


class Finder:
    """A search in one text after another; the line that was found is set off."""

    def __init__(self) -> None:
        self.is_on = False
        self._words = ""
        self._last: Line | None = None

    def begin(self) -> None:
        """Begin at the top."""
        self.is_on, self._words = True, ""

    def end(self) -> None:
        """Be done; nothing is set off any more."""
        self.is_on = False
        self._set_off(None)

    def next(self, reader: Reader, words: str = "") -> str:
        """Bring the next line with the words into view; without words, the same again.

        What is to be said of it. Small letters and capitals are alike.
        """
        after = self._last.at if self._last and words in ("", self._words) else -1.0
        self._words = words or self._words
        found = [line for line in lines(reader) if _holds(line.says, self._words)]
        if not found or not self._words:
            self._set_off(None)
            return NOT_FOUND.format(self._words) if self._words else ASK
        nth = next((n for n, line in enumerate(found) if line.at > after), 0)
        self._set_off(found[nth])
        reader.scroll_to(y=found[nth].at - ABOVE, animate=False, immediate=True)
        return FOUND.format(nth + 1, len(found))

    def _set_off(self, line: Line | None) -> None:
        if self._last:
            self._last.leaf.mark(None)
        self._last = line
        if line:
            line.leaf.mark(line.row)


def _holds(says: str, words: str) -> bool:
    return " ".join(words.lower().split()) in " ".join(says.lower().split())


ABOVE = 1
"""Lines above the one that was found stay in sight."""
ASK = "Type words to find in the text, then Enter; Esc when done."
FOUND = "Line {} of {}. Enter: the next one; Esc: done."
NOT_FOUND = "'{}' is not in the text. Type other words; Esc: done."
