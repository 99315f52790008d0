"""Random repair problems with fixed seeds, for the planner to be measured on."""

from __future__ import annotations

import sys
from dataclasses import replace
from math import exp
from pathlib import Path
from random import Random
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bot.diagnose.planner import Fix, Look, Stakes, Work


class Problem(NamedTuple):
    """Weights with none of these last, and what can be done."""

    weights: tuple[float, ...]
    work: Work


def problem(seed: int, causes: int = 6, checks: int = 5) -> Problem:
    """A problem as workshops have them: checks that pinpoint, split or hint.

    Costs are lognormal minutes; repairs always cure; answers are yes or no.
    """
    draw = Random(seed)
    shares = [draw.expovariate(1) for _ in range(causes)]
    none, whole = draw.uniform(0.03, 0.12), sum(shares)
    weights = [(1 - none) * share / whole for share in shares] + [none]
    costs = [min(400.0, max(5.0, 40 * exp(draw.gauss(0, 0.8)))) for _ in range(causes)]
    help_cost = draw.uniform(300, 900)
    looks = []
    for number in range(checks):
        fee = min(90.0, max(1.0, 8 * exp(draw.gauss(0, 0.8))))
        yes = _yes(draw, causes)
        no = tuple(1 - p for p in yes)
        looks.append(Look(str(number), fee, (tuple(yes), no)))
    fixes = [Fix(str(n), cost, ((n, 1.0),), work=cost) for n, cost in enumerate(costs)]
    stakes = Stakes(help_cost, unsure=0.0, worth_while=0.0)
    return Problem(tuple(weights), Work(tuple(fixes), tuple(looks), stakes))


def _yes(draw: Random, causes: int) -> list[float]:
    """P(yes | cause) of a check, none of these last."""
    sort = draw.random()
    if sort < 0.4:
        target = draw.randrange(causes)
        return [0.95 if n == target else 0.05 for n in range(causes)] + [0.05]
    if sort < 0.8:
        return [0.9 if draw.random() < 0.5 else 0.1 for _ in range(causes)] + [0.5]
    return [0.65 if draw.random() < 0.5 else 0.35 for _ in range(causes)] + [0.5]


def with_blanks(given: Problem, seed: int, share: float = 0.2) -> Problem:
    """The problem as an author sees it who left that share of bearings blank."""
    draw = Random(seed)
    looks = []
    for look in given.work.looks:
        yes, no = (list(row) for row in look.table)
        for n in range(len(yes) - 1):
            if draw.random() < share:
                yes[n], no[n] = yes[-1], no[-1]
        looks.append(Look(look.id, look.cost, (tuple(yes), tuple(no))))
    return given._replace(work=replace(given.work, looks=tuple(looks)))
