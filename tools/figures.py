"""The arithmetic of the measuring tools: intervals, odds, ranked lists."""

from __future__ import annotations

import random
import sys
from math import comb, log2
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bot.match import odds

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

RESAMPLES = 2000
SEED = 20281130

Row = tuple[tuple[float, ...], bool, float]
"""What the logistic looks at, whether a card fits, and what the query weighs."""


def interval(values: Sequence[float]) -> tuple[float, float, float]:
    """The mean and the bounds that hold 95 of 100 means of resampled queries."""
    if not values:
        return 0.0, 0.0, 0.0
    lots = random.Random(SEED)
    n = len(values)
    means = sorted(sum(lots.choices(values, k=n)) / n for _ in range(RESAMPLES))
    cut = RESAMPLES // 40
    return sum(values) / n, means[cut], means[-cut - 1]


def share(part: float, whole: float) -> float:
    """`part` of `whole`; 0 of nothing."""
    return part / whole if whole else 0.0


def paired(
    before: Mapping[str, int], after: Mapping[str, int]
) -> dict[str, dict[str, float]]:
    """What changed between two versions, on queries that both were asked.

    By query the place of the first right page, 0 for none. `by chance` is the exact
    two-sided probability that as many or more of the changes go one way if either way
    is as likely. Source: McNemar's test, as its exact binomial (from memory).
    """
    both = before.keys() & after.keys()
    found: dict[str, dict[str, float]] = {}
    for hit, most in (("hit@1", 1), ("hit@3", 3)):
        won = sum(not 1 <= before[q] <= most and 1 <= after[q] <= most for q in both)
        lost = sum(1 <= before[q] <= most and not 1 <= after[q] <= most for q in both)
        found[f"against before, {hit}"] = {
            "queries": float(len(both)),
            "won": float(won),
            "lost": float(lost),
            "by chance": two_sided(won, lost),
        }
    return found


def two_sided(one: int, other: int) -> float:
    """The chance of a split as uneven or more among so many even tosses.

    >>> two_sided(3, 3), two_sided(0, 0), two_sided(8, 2)
    (1.0, 1.0, 0.109375)
    """
    tosses, few = one + other, min(one, other)
    tail = sum(comb(tosses, n) for n in range(few + 1))
    return min(1.0, 2.0 * tail / float(2**tosses))


def calibration_error(pairs: Sequence[tuple[float, bool]]) -> float:
    """Expected calibration error in ten bins: probability given, and whether right."""
    bins: dict[int, list[tuple[float, bool]]] = {}
    for p, right in pairs:
        bins.setdefault(min(9, int(p * 10)), []).append((p, right))
    error = sum(abs(sum(p for p, _ in b) - sum(r for _, r in b)) for b in bins.values())
    return share(error, len(pairs))


def guess(weights: Sequence[float], seen_: Sequence[float]) -> float:
    """The probability that some card fits."""
    z = sum(w * v for w, v in zip(weights, (1.0, *seen_), strict=True))
    return odds.logistic(z)


def auroc(guesses: Sequence[tuple[float, bool]]) -> float:
    """How often a query with a card is guessed likelier than one without."""
    good = [p for p, right in guesses if right]
    bad = [p for p, right in guesses if not right]
    wins = sum((g > b) + 0.5 * (g == b) for g in good for b in bad)
    return share(wins, len(good) * len(bad))


def newton(rows: Sequence[Row], ridge: float = 1.0, steps: int = 12) -> list[float]:
    """Weights of a logistic regression, the bias first, held small by a ridge."""
    size = len(rows[0][0]) + 1
    weights = [0.0] * size
    for _ in range(steps):
        slope = [-ridge * w if n else 0.0 for n, w in enumerate(weights)]
        curve = [[ridge * (i == j and i > 0) for j in range(size)] for i in range(size)]
        for xs, right, weight in rows:
            x = (1.0, *xs)
            p = odds.logistic(sum(w * v for w, v in zip(weights, x, strict=True)))
            for i in range(size):
                slope[i] += weight * (right - p) * x[i]
                for j in range(size):
                    curve[i][j] += weight * p * (1 - p) * x[i] * x[j]
        step = solve(curve, slope)
        weights = [w + s for w, s in zip(weights, step, strict=True)]
    return weights


def solve(matrix: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    """The solution of a small system of linear equations, by elimination."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    size = len(rows)
    for i in range(size):
        pivot = max(range(i, size), key=lambda r: abs(rows[r][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        lead = rows[i][i] or 1e-12
        rows[i] = [value / lead for value in rows[i]]
        for r in range(size):
            if r != i:
                factor = rows[r][i]
                rows[r] = [
                    a - factor * b for a, b in zip(rows[r], rows[i], strict=True)
                ]
    return [row[-1] for row in rows]


def graded(order: Sequence[str], right: set[str]) -> tuple[float, ...]:
    """Average precision, nDCG@10, reciprocal rank, S@1, S@3, P@10 of a ranked list."""
    places = [n for n, doc in enumerate(order, 1) if doc in right]
    gains = sum(1 / log2(n + 1) for n in places if n <= 10)
    best = sum(1 / log2(n + 1) for n in range(1, min(10, len(right)) + 1))
    return (
        sum(i / n for i, n in enumerate(places, 1)) / len(right),
        gains / best,
        1 / places[0] if places else 0.0,
        float(1 in places),
        float(any(n <= 3 for n in places)),
        sum(n <= 10 for n in places) / 10,
    )


def show(figures: dict[str, object]) -> None:
    """Print the figures as a table."""
    for name, group in figures.items():
        print(name)
        for key, value in group.items():  # type: ignore[attr-defined]
            if isinstance(value, tuple):
                mean, low, high = value
                print(f"  {key:28}{mean:7.3f}   ({low:.3f} to {high:.3f})")
            else:
                print(f"  {key:28}{value:7.3f}")
