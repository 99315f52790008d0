"""Fit the weights of `bot.match.answers`: `python tools/weigh.py`.

What strangers typed at checks of the cards (`tests/answers/checks.txt`, `walked.yaml`)
must be heard as the finding that they meant, by the wordings beside the cards, which
they had not read; the same lines at other checks must be heard as none. Weighs what
`features` gives by a multinomial logistic regression (scipy, L-BFGS); prints the
weights to be written into `answers.py`, and how well each bound does on cases left out
in turn.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from hearing import Ear, read_checks, read_items
from scipy.optimize import minimize

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from bot.desk.shelf import open_index
from bot.language.line import listen
from bot.match.features import FEATURES, NONE_FEATURES, features

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.match.features import Answer
    from bot.store.index import CardIndex

SETS = ROOT / "tests" / "answers"

PULL = 0.02
"""How strongly weights are pulled to 0, a case."""


@dataclass(frozen=True, slots=True)
class Case:
    """The rows of the findings, the row of "none", and which is meant; -1 for none."""

    rows: np.ndarray
    none: np.ndarray
    right: int


def cases(index: CardIndex, lots: random.Random) -> list[Case]:
    """Every line at its own check, and some at the check of another."""
    ear = Ear(index)
    items = [*read_checks(SETS / "checks.txt"), *read_items(SETS / "walked.yaml")]
    found = []
    for item in items:
        found.append(
            _case(item.words, ear.ready(item.options, item.ask), item.means, index)
        )
        other = lots.choice(items)
        if lots.random() < NONE_SHARE and other.options != item.options:
            found.append(
                _case(item.words, ear.ready(other.options, other.ask), 0, index)
            )
    return found


def _case(words: str, answers: Sequence[Answer], means: int, index: CardIndex) -> Case:
    line = listen(words, index.lexicon, index)
    rows, none, _ = features(line, answers, index.lexicon)
    return Case(np.array(rows), np.array(none), max(means, 0) - 1)


NONE_SHARE = 0.25
"""So many lines are tried at another check too. Our choice."""


def fit(found: list[Case]) -> np.ndarray:
    """The weights: those of a finding, then those of "none"."""
    size = len(FEATURES) + len(NONE_FEATURES)

    def loss(flat: np.ndarray) -> tuple[float, np.ndarray]:
        mine, none = flat[: len(FEATURES)], flat[len(FEATURES) :]
        value, slope = 0.0, np.zeros(size)
        for case in found:
            score = np.append(case.rows @ mine, case.none @ none)
            score -= score.max()
            chance = np.exp(score)
            chance /= chance.sum()
            value -= np.log(chance[case.right] + 1e-12)
            chance[case.right] -= 1.0
            slope[: len(FEATURES)] += case.rows.T @ chance[:-1]
            slope[len(FEATURES) :] += case.none * chance[-1]
        pull = PULL * len(found) / size
        return value + 0.5 * pull * (flat @ flat), slope + pull * flat

    start = np.zeros(size)
    return np.asarray(minimize(loss, start, jac=True, method="L-BFGS-B").x)


def chances(case: Case, weights: np.ndarray) -> np.ndarray:
    """The chance of each finding, and of none last."""
    mine, none = weights[: len(FEATURES)], weights[len(FEATURES) :]
    score = np.append(case.rows @ mine, case.none @ none)
    raw = np.exp(score - score.max())
    return np.asarray(raw / raw.sum())


def show(told: list[tuple[np.ndarray, int]]) -> None:
    """How many are right and wrong above each bound."""
    top = [(float(c[:-1].max()), int(c[:-1].argmax()), right) for c, right in told]
    for bound in (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.97):
        over = [(best == right) for sure, best, right in top if sure >= bound]
        right = sum(over) / len(top)
        print(
            f"from {bound}: right {right:.3f}, wrong {len(over) / len(top) - right:.3f}"
        )


FOLDS = 5


def main() -> None:
    """Fit, and print the weights and how they do on cases left out in turn."""
    argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0]).parse_args()
    lots = random.Random(10)
    with tempfile.TemporaryDirectory() as home:
        found = cases(open_index(str(ROOT / "kb"), home), lots)
    lots.shuffle(found)
    told = []
    for fold in range(FOLDS):
        weights = fit([c for n, c in enumerate(found) if n % FOLDS != fold])
        told += [(chances(c, weights), c.right) for c in found[fold::FOLDS]]
    show(told)
    every = [round(float(weight), 2) for weight in fit(found)]
    print("TOLD", every[: len(FEATURES)], "NONE_TOLD", every[len(FEATURES) :])


if __name__ == "__main__":
    main()
