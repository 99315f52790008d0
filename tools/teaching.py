"""What outcomes teach, replayed in order of time: rank first, then learn.

Populations: trucks that fail as the authors think, and trucks that do not (each cause's
share off by a lognormal factor). Hit@1 is the share of all faults whose cause stands
first before any check, in expectation, so no luck is measured. Beside what chock learns
stand four yardsticks: nothing learnt, bare counts without the author, outcomes whose
causes are dealt at random (which must teach nothing), and the truth known beforehand.
"""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import dataclass, replace
from math import exp
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from figures import SEED, interval

from bot.club.tally import MOST_VOTES
from bot.diagnose.belief import CURE_CHANCE, prior_of
from bot.diagnose.learning import (
    Outcomes,
    Report,
    Standing,
    Unsolved,
    learnt,
    outcomes,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.model.card import Card

OUTCOMES = 200
PROVED_SHARE = 0.7
BLOCKS = {
    "outcomes 1-5": (0, 2, 4),
    "outcomes 6-15": (5, 9, 14),
    "outcomes 16-50": (15, 29, 49),
    "outcomes 51-200": (50, 100, 199),
}
"""How many outcomes are known when each block is looked at."""

SHIFTS = {
    "as authored": 0.0,
    "off by log sd 1": 1.0,
    "off by log sd 1.5": 1.5,
    "off by log sd 2": 2.0,
}


def teaching(cards: Sequence[Card], replicates: int) -> dict[str, object]:
    """Hit@1 on each population, what a liar can do, and whether first stays first."""
    found: dict[str, object] = {}
    for name, shift in SHIFTS.items():
        runs = [
            Stream(card, f"{SEED} {card.id} {n} {shift}", shift)
            for card in cards
            for n in range(replicates)
        ]
        found[f"hit@1 of the cause, {name}"] = _figures(runs)
    moves = [_lied(card, honest) for card in cards for honest in (0, 10, 50)]
    found["one lying device"] = {"most that a cause moves": max(moves)}
    found["commonest cause listed fifth: first in outcomes 201-300"] = {
        f"{name}, given up {share:.0%}": interval(
            [_top_share(Random(n), share, unsolved=given_up) for n in range(40)]
        )
        for share in (0.3, 0.5)
        for name, given_up in (("solved jobs alone", False), ("all jobs", True))
    }
    return found


@dataclass
class Stream:
    """One stream of outcomes on one card, from a population of its own."""

    card: Card
    seed: str
    shift: float

    def __post_init__(self) -> None:
        draw = Random(self.seed)
        start = prior_of(self.card)
        self.names = (*start.causes, "")
        self.authored = start.weights
        raw = [p * exp(draw.gauss(0, self.shift)) for p in start.weights]
        self.true = [p / sum(raw) for p in raw]
        self.told: list[Report] = []
        for _ in range(OUTCOMES):
            (cause,) = draw.choices(self.names, self.true)
            proved = draw.random() < PROVED_SHARE
            standing = Standing.PROVED if proved else Standing.REPORTED
            self.told.append(Report(cause, standing))
        self.dealt = [replace(r, cause=draw.choice(self.names)) for r in self.told]

    def learnt(self, known: int) -> float:
        """Hit@1 of what chock believes after that many outcomes."""
        return self._hit(prior_of(self.card, outcomes(self.told[:known])).weights)

    def dealt_at_random(self, known: int) -> float:
        """The same after outcomes that tell nothing."""
        return self._hit(prior_of(self.card, outcomes(self.dealt[:known])).weights)

    def bare_counts(self, known: int) -> float:
        """Hit@1 of the commonest so far; ties in the author's order."""
        causes = [report.cause for report in self.told[:known]]
        return self._hit([float(causes.count(name)) for name in self.names])

    def nothing_learnt(self, known: int) -> float:
        """Hit@1 of the author's word."""
        return self._hit(self.authored)

    def truth_known(self, known: int) -> float:
        """The most there is to be had."""
        return self._hit(self.true)

    def _hit(self, weights: Sequence[float]) -> float:
        named = range(len(weights) - 1)
        return self.true[max(named, key=lambda n: (weights[n], self.authored[n]))]


def _figures(runs: Sequence[Stream]) -> dict[str, object]:
    found: dict[str, object] = {
        "nothing learnt": interval([run.nothing_learnt(0) for run in runs])
    }
    for name in ("learnt", "bare_counts", "dealt_at_random"):
        hit = getattr(Stream, name)
        for block, points in BLOCKS.items():
            hits = [sum(hit(run, n) for n in points) / len(points) for run in runs]
            found[f"{name.replace('_', ' ')}, {block}"] = interval(hits)
    found["truth known"] = interval([run.truth_known(0) for run in runs])
    gain = [run.learnt(OUTCOMES) - run.nothing_learnt(0) for run in runs]
    found[f"gain after {OUTCOMES} outcomes"] = interval(gain)
    return found


def _lied(card: Card, honest: int) -> float:
    """The most that one device's lies move any cause of a card, beside honest ones."""
    told = Stream(card, f"{SEED} {card.id}", 1.0).told[:honest]
    votes = Counter(report.cause for report in told)
    before = prior_of(card, Outcomes(pool=votes))
    most = 0.0
    for cause in before.causes:
        lied = votes + Counter({cause: MOST_VOTES})
        after = prior_of(card, Outcomes(pool=lied))
        most = max(most, *(abs(after.of(c) - before.of(c)) for c in before.causes))
    return most


CAUSES = 8
COMMONEST = "4"
"""The fifth in the author's order, and in truth the commonest."""


def _top_share(draw: Random, share: float, *, unsolved: bool) -> float:
    """How often the commonest cause comes to stand first, though listed fifth.

    Causes are tried in the order of belief; after each that is tried in vain the person
    gives up with that share, and then never learns what it was.
    """
    falling = [0.7**n for n in range(CAUSES)]
    authored = {str(n): p / sum(falling) for n, p in enumerate(falling)}
    rest = iter(list(authored)[1:])
    true = [authored["0" if c == COMMONEST else next(rest)] for c in authored]
    told: list[Report | Unsolved] = []
    first = 0
    for number in range(300):
        believed = learnt(authored, outcomes(told))
        order = sorted(authored, key=lambda cause: -believed[cause])
        first += number >= 200 and order[0] == COMMONEST
        (truth,) = draw.choices(list(authored), true)
        tried = order[: order.index(truth)]
        last = next((n for n, _ in enumerate(tried) if draw.random() < share), None)
        if last is None:
            told.append(Report(truth, Standing.PROVED))
        elif unsolved:
            told.append(Unsolved(dict.fromkeys(tried[: last + 1], 1 - CURE_CHANCE)))
    return first / 100
