"""Fit the weights of `bot.match.answers`: `python tools/weigh.py [--cases N]`.

Every wording beside a card is left out in turn and must be heard as its own finding by
what is left; wordings of other checks must be heard as none. A third of the cases have
no wordings at all beside the findings, for such pages there are too. Weighs what
`features` gives by a multinomial logistic regression (scipy, L-BFGS) and prints the
figures to be written into `answers.py`, and how well each bound does on cases that were
not fitted to.
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
from scipy.optimize import minimize

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from bot.desk.shelf import open_index
from bot.language.line import listen
from bot.match.answers import FEATURES, NONE_FEATURES, Answer, answer, features

if TYPE_CHECKING:
    from bot.store.index import CardIndex

PULL = 0.02
"""How strongly weights are pulled to 0, a case."""


@dataclass(frozen=True, slots=True)
class Case:
    """The rows of the findings, the row of "none", and which is meant; -1 for none."""

    rows: np.ndarray
    none: np.ndarray
    right: int


def checks(index: CardIndex) -> list[list[Answer]]:
    """The findings of every check with their wordings, made ready."""
    found: dict[tuple[str, str], list[Answer]] = {}
    for card in sorted(index.paths()):
        for (check, text), said in sorted(index.wordings(card).items()):
            ready = answer(text, index.lexicon, said)
            found.setdefault((card, check), []).append(ready)
    return [answers for answers in found.values() if len(answers) > 1]


def cases(index: CardIndex, count: int, lots: random.Random, *, told: bool) -> list[Case]:
    """So many cases, with wordings beside the findings or without."""
    every = checks(index)
    made = []
    while len(made) < count:
        answers = lots.choice(every)
        number = lots.randrange(len(answers))
        if not answers[number].wordings:
            continue
        line = lots.choice(answers[number].wordings)
        right = number
        if lots.random() < NONE_SHARE:
            other = lots.choice(every)
            stranger = lots.choice(other)
            if other is answers or not stranger.wordings:
                continue
            line, right = lots.choice(stranger.wordings), -1
        bare = [
            a._replace(wordings=tuple(w for w in a.wordings if w.text != line.text))
            if told
            else a._replace(wordings=())
            for a in answers
        ]
        typed = listen(line.text, index.lexicon, index)
        rows, none, _ = features(typed, bare, index.lexicon)
        made.append(Case(np.array(rows), np.array(none), right))
    return made


NONE_SHARE = 0.2
"""So many cases mean none of the findings. Our choice."""


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


def show(name: str, found: list[Case], weights: np.ndarray) -> None:
    """How many are right and wrong above each bound."""
    told = [(chances(case, weights), case.right) for case in found]
    top = [(float(c[:-1].max()), int(c[:-1].argmax()), right) for c, right in told]
    due = sum(right >= 0 for _, _, right in top)
    print(f"{name}: {len(top)} cases, {due} that mean a finding")
    for bound in (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.97, 0.99):
        over = [(best == right) for sure, best, right in top if sure >= bound]
        print(
            f"  from {bound}: right {sum(over) / len(top):.3f}, "
            f"wrong {(len(over) - sum(over)) / len(top):.3f}"
        )


def main() -> None:
    """Fit, and print weights and what they do."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--cases", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=10)
    asked = parser.parse_args()
    lots = random.Random(asked.seed)
    with tempfile.TemporaryDirectory() as home:
        index = open_index(str(ROOT / "kb"), home)
        for name, told in (("with wordings", True), ("without", False)):
            found = cases(index, asked.cases, lots, told=told)
            cut = len(found) * 3 // 4
            weights = fit(found[:cut])
            print(name, [round(float(w), 2) for w in weights[: len(FEATURES)]])
            print("   none", [round(float(w), 2) for w in weights[len(FEATURES) :]])
            show(f"{name}, not fitted to", found[cut:], weights)


if __name__ == "__main__":
    main()
