"""Which of a check's findings the person means by their own words.

What `bot.match.features` sees for and against each answer is made a probability by a
few weights, fitted by `tools/weigh.py`; "none of them" is always one of the answers.
"""

from __future__ import annotations

from enum import Enum
from math import exp
from typing import TYPE_CHECKING, NamedTuple

from bot.match.features import Answer, features, most_against

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.language.lexicon import Lexicon
    from bot.language.line import Line

WEIGHTS = (1.12, 0.5, -0.94, 1.65, -0.61, 1.86, 3.5, 1.13, 0.38, 1.0, 1.23, 1.23, 1.33)
NONE_WEIGHTS = (0.08, 0.45, 0.29, 0.92)
"""What the features count where nobody wrote down how people say the answers. Those of
"figure" and "how many" are our choice, tried on the sets of `tests/answers`.
"""

TOLD = (1.06, 0.94, -0.84, 1.65, -0.41, 2.15, 4.5, 2.53, 0.27, 0.3, 2.72, 1.49, 1.19)
NONE_TOLD = (1.18, 0.8, 0.42, -0.01)
"""And where they did: fitted to what strangers typed, by `tools/weigh.py`; the first of
"none" is less by 1.6 than fitted, for fewer lines mean none than in that set. That of
"how many" is our choice.
"""


class Choice(NamedTuple):
    """An answer by its number from 0, how surely it is meant, and what speaks for it.

    `against`: how much of what was typed speaks against it or for another answer.
    """

    number: int
    text: str
    sureness: float
    against: float
    why: tuple[str, ...]


def choose(
    line: Line, answers: Sequence[Answer], lexicon: Lexicon
) -> tuple[Choice, ...]:
    """The answers with how surely each is meant, the surest first.

    Together they come to 1 at most; what is missing says that none is meant.
    """
    if not answers or not line.words:
        return ()
    rows, none, seen = features(line, answers, lexicon)
    told = any(a.wordings for a in answers)
    mine, nobody = (TOLD, NONE_TOLD) if told else (WEIGHTS, NONE_WEIGHTS)
    scores = [_weighed(row, mine) for row in rows]
    scores.append(_weighed(none, nobody))
    top = max(scores)
    raw = [exp(score - top) for score in scores]
    whole = sum(raw)
    found = [
        Choice(n, a.text, raw[n] / whole, most_against(seen, n), seen[n].why)
        for n, a in enumerate(answers)
    ]
    return tuple(sorted(found, key=lambda c: (-c.sureness, c.number)))


def _weighed(row: Sequence[float], weights: Sequence[float]) -> float:
    return sum(value * weight for value, weight in zip(row, weights, strict=True))


TAKE, READ_BACK = 0.97, 0.68
"""From so sure on an answer is taken at once, if nothing speaks against it, or read
back for a yes. Fitted: `tools/evaluate.py --answers`."""

OPPOSED = 0.5
"""With so much against it an answer is read back, however sure."""


class Verdict(Enum):
    """What to do with the surest answer."""

    TAKE = "take"
    READ_BACK = "read back"
    NONE = "none"


def verdict(choices: Sequence[Choice]) -> Verdict:
    """Whether the surest answer is clear enough to be taken, or to be read back."""
    if not choices or choices[0].sureness < READ_BACK:
        return Verdict.NONE
    first = choices[0]
    clear = first.sureness >= TAKE and first.against < OPPOSED
    return Verdict.TAKE if clear else Verdict.READ_BACK
