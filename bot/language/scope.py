"""When what is said holds, and for how many: over by now, all of them, all but one.

Clauses bear on each other here: "was caked" is over beside "the one in there now is
white", and "all alike" does not hold beside "bar the rear left".
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.language.lexicon import Lexicon
    from bot.language.text import Word

NOW, BEFORE = "so_now", "was_so_before"
"""Marks of a clause that says how it is now, and how it was."""

OVER = "over_by_now"
"""The mark of a clause that tells of the past beside one that tells of now."""

BUT_FOR, ONLY = "but_for", "only_one"
"""Marks of an exception, "all bar the left", and of what may be one, "only the
left"."""


class Mark(NamedTuple):
    """A turn of speech: its name, and its words from `first` up to `last`."""

    name: str
    first: int
    last: int


def over(
    words: Sequence[Word],
    parts: Sequence[int],
    marks: Sequence[Mark],
    lexicon: Lexicon,
) -> frozenset[int]:
    """The numbers of the clauses that are over by now.

    A past by itself is how people tell what they just found; only beside a "now" it is
    the past.
    """
    now = {parts[mark.first] for mark in marks if mark.name == NOW}
    if not now:
        return frozenset()
    past = {
        parts[at]
        for at, word in enumerate(words)
        if word.said in lexicon.listed("past")
    }
    past |= {parts[mark.first] for mark in marks if mark.name == BEFORE}
    return frozenset(past - now)


def without_amounts(
    words: Sequence[Word], marks: Sequence[Mark], lexicon: Lexicon
) -> list[Mark]:
    """The marks without those that look like an exception: "half a bar the night"."""
    return [
        mark
        for mark in marks
        if mark.name != BUT_FOR or not _is_amount(words, mark.first, lexicon)
    ]


def excepted(
    words: Sequence[Word],
    parts: Sequence[int],
    marks: Sequence[Mark],
    lexicon: Lexicon,
) -> tuple[tuple[int, int], ...]:
    """The stretches of words that are said of all and hold not of all.

    `all alike bar one`; `none of them bubbles, except the left`: the exception stands
    in the same clause or at the front of the next.
    """
    every = lexicon.listed("every")
    found = []
    for mark in marks:
        if mark.name != BUT_FOR:
            continue
        at = mark.first
        begin = parts.index(parts[at])
        if not any(word.said in every for word in words[begin:at]) and begin:
            begin = parts.index(parts[begin] - 1)
        if any(word.said in every for word in words[begin:at]):
            found.append((begin, at))
    return tuple(found)


def _is_amount(words: Sequence[Word], at: int, lexicon: Lexicon) -> bool:
    """Whether a word is the unit of a number: "8 bar the other side", "half a bar"."""
    before = words[at - 1].said if at else ""
    is_counted = before[:1].isdigit() or before in lexicon.numbers or before in COUNTS
    return words[at].said == "bar" and is_counted


COUNTS = ("a", "half", "quarter", "per", "of")
"""Words besides numbers that a unit stands behind."""
