"""How sure a ranking is: the fitted figures that turn scores into probabilities.

Two steps: a logistic says whether any card fits at all; a softmax parts that among
the cards. Refit with `python tools/evaluate.py QUERIES.yaml --outside
DIR --fit`.
"""

from __future__ import annotations

from math import exp, log
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

BIAS = -5.906
ON_LEVEL, ON_COVERAGE, ON_LIKENESS, ON_SAME, ON_KNOWN = (
    1.571,
    2.642,
    2.145,
    0.911,
    1.112,
)
SHARPNESS = 19.0
"""Fitted by Newton's method with a ridge of 1 to 1,510 texts against 22 cards, weighed
so that a card fits in 55 of 100: queries of the development set and of a set written by
others (113 with a card, 141 whose card was not written yet, 54 that none will fit),
signs of the cards word for word, left out in turn, and with their card left out,
look-alikes, and two open sets off the trade. Left out in turn (ten folds): log loss
0.39, area under the curve 0.88. The probabilities hold for that share only."""

SAME = 6
"""The power of likeness that only signs said almost word for word feel."""


def features(
    level: float, coverage: float, likeness: float, known: float
) -> tuple[float, ...]:
    """What the logistic looks at.

    Args:
        level: BM25 of the first card, in words that stand on no other card.
        coverage: BM25 as a share of the most the words could have earned.
        likeness: how alike the closest sign is, 0 to 1.
        known: the share of telling words that stand on any card, 0 to 1.
    """
    return log(1.0 + level), coverage, likeness, likeness**SAME, known


def some_card_fits(seen: Sequence[float]) -> float:
    """The probability that one of the cards fits."""
    weights = (ON_LEVEL, ON_COVERAGE, ON_LIKENESS, ON_SAME, ON_KNOWN)
    return logistic(BIAS + sum(w * x for w, x in zip(weights, seen, strict=True)))


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
