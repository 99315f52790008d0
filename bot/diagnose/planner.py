"""The next step: the check or repair that makes the whole job cheapest on average.

ECR*, the expected cost of repair without any further check, is the cheapest plan of
repairs in falling order of chance-per-cost, with a call for help at the best point of
that order. A check is worth what it lowers ECR* on average over its answers, less what
it costs. This lookahead by one step can never cost more than the repairs alone.

The arithmetic knows only weights and costs; `bot.diagnose.problem` makes them of a
card. Weights are not scaled to one: costs come out multiplied by their sum.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

from bot.diagnose.evidence import Table


class Action(Enum):
    """What can be done next."""

    CHECK = "check"
    REPAIR = "repair"
    HELP = "help"


@dataclass(frozen=True, slots=True)
class Fix:
    """A repair: what it costs, and P(not cured | cause) by cause, none last."""

    id: str
    cost: float
    leaves: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Look:
    """A check: what it costs, and P(answer | cause); `first` when it guards a life."""

    id: str
    cost: float
    table: Table
    first: bool = False


@dataclass(frozen=True, slots=True)
class Stakes:
    """What the plan is held against.

    `help` is the cost of calling for help, which always ends the job; `unsure` the
    share of checks that end in "can't tell"; `worth_while` the least share of ECR* that
    a check must save to be offered.
    """

    help: float
    unsure: float = 0.1
    worth_while: float = 0.01


@dataclass(frozen=True, slots=True)
class Proposal:
    """The step that is best now.

    `cost` is the expected cost to the end of the job if it is taken, `otherwise` the
    same for the best repair (or the call for help) straight away.
    """

    action: Action
    id: str
    cost: float
    otherwise: float


def best_step(
    weights: Sequence[float], fixes: Sequence[Fix], looks: Sequence[Look], at: Stakes
) -> Proposal:
    """The best next step; ties go to the order given.

    Safety checks come before all else, whatever they cost.
    """
    base, fix = repairs_alone(weights, fixes, at.help)
    guard = next((look for look in looks if look.first), None)
    if guard:
        return Proposal(Action.CHECK, guard.id, base, base)
    best = Proposal(Action.REPAIR if fix else Action.HELP, fix, base, base)
    enough = base * (1 - at.worth_while)
    for look in looks:
        after = sum(repairs_alone(w, fixes, at.help)[0] for w in split(weights, look))
        cost = look.cost * sum(weights) + (1 - at.unsure) * after + at.unsure * base
        if cost < min(enough, best.cost):
            best = Proposal(Action.CHECK, look.id, cost, base)
    return best


def repairs_alone(
    weights: Sequence[float], fixes: Iterable[Fix], help_cost: float
) -> tuple[float, str]:
    """ECR* of some weights, and the first repair of its plan ("" = call for help)."""
    left = list(weights)
    waiting = list(fixes)
    spent, best, plan = 0.0, help_cost * sum(left), ""
    first = ""
    while waiting:
        fix = max(waiting, key=lambda f: _cured(left, f) / f.cost)
        waiting.remove(fix)
        first = first or fix.id
        spent += fix.cost * sum(left)
        left = [weight * stays for weight, stays in zip(left, fix.leaves, strict=True)]
        total = spent + help_cost * sum(left)
        if total < best:
            best, plan = total, first
    return best, plan


def _cured(left: Sequence[float], fix: Fix) -> float:
    return sum(w * (1 - stays) for w, stays in zip(left, fix.leaves, strict=True))


def split(weights: Sequence[float], look: Look) -> list[tuple[float, ...]]:
    """The weights after each answer; their sum is the answer's share of the whole."""
    return [
        tuple(p * weight for p, weight in zip(row, weights, strict=True))
        for row in look.table
    ]
