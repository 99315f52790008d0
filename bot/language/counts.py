"""How often, how many times: counts that people tell of a fault and of its trials."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from bot.language.lexicon import NOT
from bot.language.quantities import unit_at
from bot.language.scope import BUT_FOR, ONLY
from bot.units import unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.language.lexicon import Lexicon
    from bot.language.text import Word

_SHARE = re.compile(
    r"(?<![\w.,])(?P<few>one|once|[0-9]{1,3}) ?(?:(?P<what>[a-z]+) )?"
    r"(?:of|in|out of|out o|o|/|from) ?"
    r"(?:every |the last )?(?P<many>[0-9]{1,3})(?![\w.,]*[0-9])"
)
_EVERY = re.compile(
    r"\bevery (other|second|2nd|third|3rd|fourth|4th|fifth|5th|[0-9]+)\b"
)
_ORDINALS = {"other": 2, "second": 2, "third": 3, "fourth": 4, "fifth": 5}


def share(text: str) -> tuple[int, int] | None:
    """How often out of how many, as told; None where that is not said.

    >>> share("3 times out of 10"), share("one start in 5"), share("every third go")
    ((3, 10), (1, 5), (1, 3))
    >>> share("8 bar in 10 minutes"), share("1 bar in 5 min")
    (None, None)
    """
    told = text.lower()
    for found in _SHARE.finditer(told):
        what = found["what"]
        if (what and unit(what)) or unit_at(told, found.end())[0]:
            continue
        few = found["few"]
        return (int(few) if few.isdigit() else 1, int(found["many"]))
    every = _EVERY.search(told)
    if every is None or unit_at(told, every.end())[0]:
        return None
    return 1, _ORDINALS.get(every[1]) or int(re.sub(r"[a-z]+$", "", every[1]))


_TRIALS = re.compile(
    r"(?<![\w.,])([0-9]{1,2}) ?(?:times|goes|tries|trials|starts|stops|runs|cycles|"
    r"orders|nights|mornings|days|drives|climbs|in a row)\b"
)


def trials(text: str) -> int:
    """How many trials words tell of; 1 where no number is told.

    >>> trials("started fine every time, did it 10 times"), trials("clean")
    (10, 1)
    >>> trials("8 of 8")
    8
    """
    found = _TRIALS.search(text.lower())
    good = None if found else share(text)
    if good and good[0] == good[1]:
        return good[0]
    return max(1, int(found[1])) if found else 1


_CHANGE = re.compile(r"\b(?:fell|fall|rises?|rose|gains?|lost|lose|apart|each other)\b")


def speaks_of_change(text: str) -> bool:
    """Whether a text's figure is a change or a difference, and not a level."""
    return bool(_CHANGE.search(text.lower()))


def how_many(
    words: Sequence[Word], figures: str, marks: frozenset[str], lexicon: Lexicon
) -> float:
    """1 for what is said of all, -1 of some and not of all, 0 where neither is said."""
    counted = share(figures)
    if counted:
        return 1.0 if counted[0] == counted[1] else -1.0
    if marks & {BUT_FOR, ONLY}:
        return -1.0
    every, some = lexicon.listed("every"), lexicon.listed("some")
    for at, word in enumerate(words):
        if word.said in every or word.said in some:
            of_all = (word.said in every) is not _is_denied(words, at)
            return 1.0 if of_all else -1.0
    return 0.0


def _is_denied(words: Sequence[Word], at: int) -> bool:
    """Whether a "not" stands right before a word."""
    return at > 0 and words[at - 1].stem == NOT
