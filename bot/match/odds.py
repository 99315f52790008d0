"""How sure a ranking is: the fitted figures that turn scores into probabilities.

Two steps: a logistic says whether any card fits at all; a softmax parts that among
the cards. Refit with `python tools/evaluate.py QUERIES.yaml --fit`.
"""

from __future__ import annotations

from math import exp, log
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

BIAS = -4.07
ON_LEVEL, ON_MARGIN, ON_COVERAGE, ON_LIKENESS = 1.57, -0.15, 1.17, 1.06
SHARPNESS = 21.5
"""Fitted by Newton's method with a ridge of 1 on 150 development queries against the 22
cards of the time: 25 that a card fits, 24 that none ever will, and 101 whose cards were
not written yet, these with weight 1/4, so that a card fits in 34 of 100. Left out in
turn (ten folds): log loss 0.52, area under the curve 0.76. Good for that share only."""


def features(
    level: float, margin: float, coverage: float, likeness: float
) -> tuple[float, float, float, float]:
    """What the logistic looks at.

    Args:
        level: BM25 of the first card, in words that stand on no other card.
        margin: its lead over the second, as a share of its score.
        coverage: BM25 as a share of the most the words could have earned.
        likeness: how alike the closest sign is, 0 to 1.
    """
    return log(1.0 + level), margin, coverage, likeness


def some_card_fits(seen: Sequence[float]) -> float:
    """The probability that one of the cards fits."""
    weights = (ON_LEVEL, ON_MARGIN, ON_COVERAGE, ON_LIKENESS)
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
