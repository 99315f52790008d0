"""Things found by what they are called, while the words for them are still typed."""

import re
from collections.abc import Sequence

from rapidfuzz import fuzz

ALIKE_FROM = 80.0
"""So alike, of 100, the words of a title must be to those typed. Our choice."""


def called(words: str, titles: Sequence[str]) -> tuple[int, ...]:
    """The numbers of the titles that have such words, best first, short ones first.

    A word may be half typed or slightly misspelt.

    >>> called("whel nu", ["Wheel nuts come loose", "The wheel wobbles"])
    (0,)
    """
    asked = re.findall(r"\w+", words.lower())
    if not asked:
        return ()
    scored = [(_met(asked, title), number) for number, title in enumerate(titles)]
    found = [(score, number) for score, number in scored if score >= ALIKE_FROM]
    found.sort(key=lambda pair: (-pair[0], len(titles[pair[1]]), pair[1]))
    return tuple(number for _, number in found)


def _met(asked: Sequence[str], title: str) -> float:
    held = re.findall(r"\w+", title.lower()) or [""]
    return sum(max(_alike(word, own) for own in held) for word in asked) / len(asked)


def _alike(asked: str, own: str) -> float:
    return 100.0 if own.startswith(asked) else fuzz.ratio(asked, own)
