"""The cheapest policy there is, by dynamic programming: the planner's yardstick.

For small problems only: the states are every set of answers times every set of repairs
made. Checked against a slower expectimax in `tests/test_planner.py`.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bot.diagnose.planner import Action, best_step, left_by, split

if TYPE_CHECKING:
    from collections.abc import Iterable

    from problems import Problem

    from bot.diagnose.planner import Look, Weights, Work

Done = frozenset[tuple[str, int]]
"""What was done: each check with the number of its answer, each repair with -1."""


def optimum(given: Problem) -> float:
    """The expected cost of the best policy; each check and repair is made once at most.

    Weights need not sum to one; checks are never in doubt.
    """
    return _cheapest(given.weights, given.work, frozenset(), {})


Known = dict[Done, float]
"""The expected costs worked out so far."""


def _cheapest(left: Weights, work: Work, done: Done, known: Known) -> float:
    """The least expected cost from a state."""
    if done not in known:
        best = work.at.help * sum(left)
        for fix in work.fixes:
            paid = work.price(fix) * sum(left)
            if paid < best:
                then = done | {(f"fix {fix.id}", -1)}
                after = left_by(left, fix)
                best = min(best, paid + _cheapest(after, work.after(fix), then, known))
        for look in work.looks:
            best = min(best, _looking(left, work, done, known, look))
        known[done] = best
    return known[done]


def _looking(left: Weights, work: Work, done: Done, known: Known, look: Look) -> float:
    """The expected cost of a check made now, and of the best that follows it."""
    cost, then = work.price(look) * sum(left), work.after(look)
    enough = work.at.help * sum(left)
    for number, after in enumerate(split(left, look)):
        if cost < enough:
            cost += _cheapest(after, then, done | {(look.id, number)}, known)
    return cost


def policy_cost(seen: Problem, true: Problem | None = None) -> float:
    """What following the planner costs in the end, every answer followed.

    Args:
        seen: the problem as the planner is told it; checks are never in doubt.
        true: the same problem with the chances that hold in truth, if they differ.
    """
    truly = {look.id: look for look in (true or seen).work.looks}

    def cost(believed: Weights, real: Weights, work: Work) -> float:
        total = sum(real)
        if total < 1e-12:
            return 0.0
        step = best_step(believed, work)
        if step.action is Action.HELP:
            return work.at.help * total
        if step.action is Action.REPAIR:
            fix = next(f for f in work.fixes if f.id == step.id)
            paid = work.price(fix) * total
            left = left_by(believed, fix), left_by(real, fix)
            return paid + cost(left[0], left[1], work.after(fix))
        look = next(k for k in work.looks if k.id == step.id)
        answers: Iterable[tuple[Weights, Weights]] = zip(
            split(believed, look), split(real, truly[look.id]), strict=True
        )
        then = work.after(look)
        return work.price(look) * total + sum(cost(b, r, then) for b, r in answers)

    return cost(seen.weights, (true or seen).weights, seen.work)
