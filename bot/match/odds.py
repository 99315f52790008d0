"""How sure a ranking is: the fitted figures that turn scores into probabilities.

Two steps: a logistic says whether any card fits at all; a softmax parts that among
the cards. Refit with `python tools/fit.py QUERIES.yaml --outside DIR --write`.
"""

from __future__ import annotations

from math import exp, log
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

ON_KEYWORDS, ON_EVIDENCE = 3.3, 0.46
"""What the keyword score, from 0 to 1, and the evidence count in a card's logit."""

BIAS = -7.272
WEIGHTS = (0.779, 0.453, 1.367, 0.403, 1.224, 0.626, 1.893)
"""Of `features`, in their order."""

SHARPNESS = 1.05
"""Fitted by Newton's method with a ridge of 1 to 1,394 texts against 117 pages, stubs
and procedures, weighed so that a page fits in 55 of 100: queries of two development
sets (258 with a page, 36 for faults that are known under another name, 54 that none
will fit), wordings of each page left out of it, and with their page left out, signs
word for word, and open talk off the trade. Left out in turn (ten folds): log loss 0.44,
area under the curve 0.83. The probabilities hold for that share only. The two weights
of a logit above were fitted on one development set and tried on the other."""

SAME = 6
"""The power of likeness that only signs said almost word for word feel."""


class First(NamedTuple):
    """What the keyword score saw of the first card.

    Attributes:
        level: its BM25, in words that stand on no other card.
        coverage: its BM25 as a share of the most the words could have earned.
        likeness: how alike the closest sign is, 0 to 1.
    """

    level: float
    coverage: float
    likeness: float


def features(
    first: First, known: float, stands_out: float, pairs_known: float
) -> tuple[float, ...]:
    """What the logistic looks at.

    Args:
        first: the first card as the keyword score saw it.
        known: the share of telling words that stand on any card, 0 to 1.
        stands_out: by how much the evidence for the first card is above the mean of
            all, in standard deviations.
        pairs_known: the share of pairs of terms that stand on any card, 0 to 1.
    """
    alike = first.likeness
    level = log(1.0 + first.level)
    seen = (level, first.coverage, alike, alike**SAME, known)
    return (*seen, stands_out, pairs_known)


def some_card_fits(seen: Sequence[float]) -> float:
    """The probability that one of the cards fits."""
    return logistic(BIAS + sum(w * x for w, x in zip(WEIGHTS, seen, strict=True)))


def either(one: float, other: float) -> float:
    """The probability that one of two independent reasons holds.

    >>> either(0.5, 0.0), either(0.5, 0.5)
    (0.5, 0.75)
    """
    return 1.0 - (1.0 - one) * (1.0 - other)


def logistic(z: float) -> float:
    """Odds in logarithms as a probability."""
    return 1.0 / (1.0 + exp(-max(-30.0, min(30.0, z))))


def shares(totals: Sequence[float], sharpness: float | None = None) -> list[float]:
    """How the cards part the probability that one fits; sums to 1."""
    if not totals:
        return []
    top = max(totals)
    factor = SHARPNESS if sharpness is None else sharpness
    raw = [exp(factor * (total - top)) for total in totals]
    whole = sum(raw)
    return [value / whole for value in raw]
