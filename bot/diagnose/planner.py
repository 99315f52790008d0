"""The next step: the check or repair that makes the whole job cheapest on average.

ECR*, the expected cost of repair without any further check, is the cheapest plan of
repairs in falling order of chance-per-cost, with a call for help at the best point of
that order. A check is worth what it lowers ECR* on average over its answers, less what
it costs. One step of this lookahead stays within 2 % of the exact optimum on average on
random problems of six causes and five checks (`tools/simulate.py` in a later version).

Weights here are not scaled to one: costs come out multiplied by their sum.
"""

from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass
from enum import Enum

from bot.diagnose.belief import CURE_CHANCE, Belief
from bot.diagnose.cost import HELP_MINUTES, step_cost
from bot.diagnose.evidence import Table, table_of
from bot.model import Card, Check, Repair

UNSURE = 0.1
"""Share of checks that end in "can't tell". Our choice, no source."""

WORTH_WHILE = 0.01
"""A check that lowers the expected cost by less than this share is not offered."""


class Action(Enum):
    """What can be done next."""

    CHECK = "check"
    REPAIR = "repair"
    HELP = "help"


@dataclass(frozen=True, slots=True)
class Proposal:
    """The step that is best now.

    `cost` is the expected minutes to the end of the job if it is taken, `otherwise`
    the same for the best repair (or the call for help) straight away.
    """

    action: Action
    id: str
    cost: float
    otherwise: float


@dataclass(frozen=True, slots=True)
class Open:
    """What is still to be had: checks, repairs, and the states the truck is in."""

    checks: tuple[Check, ...]
    repairs: tuple[Repair, ...]
    ready: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class _Fix:
    id: str
    cost: float
    leaves: tuple[float, ...]
    """P(not cured | cause), the last for none of these."""


def propose(card: Card, belief: Belief, still: Open) -> Proposal:
    """The best next step on a card.

    Safety checks come before all else, whatever they cost. Ties go to the card's order.
    """
    fixes = _fixes(card, belief, still)
    base, first = expected_cost(belief.weights, fixes)
    for check in still.checks:
        if check.needs.first:
            return Proposal(Action.CHECK, check.id, base, base)
    best = Proposal(Action.REPAIR if first else Action.HELP, first, base, base)
    threshold = base * (1 - WORTH_WHILE)
    for check in still.checks:
        cost = _with_check(check, belief, fixes, still.ready)
        if cost < min(threshold, best.cost):
            best = Proposal(Action.CHECK, check.id, cost, base)
    return best


def expected_cost(weights: Sequence[float], fixes: Iterable[_Fix]) -> tuple[float, str]:
    """ECR* of some weights, and the first repair of its plan ("" = call for help)."""
    left = list(weights)
    waiting = list(fixes)
    spent, best, plan = 0.0, HELP_MINUTES * sum(left), ""
    first = ""
    while waiting:
        fix = max(waiting, key=lambda f: _cured(left, f) / f.cost)
        waiting.remove(fix)
        first = first or fix.id
        spent += fix.cost * sum(left)
        left = [weight * stays for weight, stays in zip(left, fix.leaves, strict=True)]
        total = spent + HELP_MINUTES * sum(left)
        if total < best:
            best, plan = total, first
    return best, plan


def _cured(left: Sequence[float], fix: _Fix) -> float:
    return sum(w * (1 - stays) for w, stays in zip(left, fix.leaves, strict=True))


def _with_check(
    check: Check, belief: Belief, fixes: tuple[_Fix, ...], ready: Set[str]
) -> float:
    base, _ = expected_cost(belief.weights, fixes)
    after = sum(
        expected_cost(weights, fixes)[0]
        for weights in outcomes(table_of(check, belief.causes), belief)
    )
    fee = step_cost(check.needs, ready)
    return fee + (1 - UNSURE) * after + UNSURE * base


def outcomes(rows: Table, belief: Belief) -> list[tuple[float, ...]]:
    """The unscaled weights after each answer; their sum is the answer's chance."""
    return [
        tuple(p * weight for p, weight in zip(row, belief.weights, strict=True))
        for row in rows
    ]


def _fixes(card: Card, belief: Belief, still: Open) -> tuple[_Fix, ...]:
    return tuple(
        _Fix(
            repair.id,
            max(step_cost(repair.needs, still.ready), 0.1),
            (*(_leaves(card, cause, repair) for cause in belief.causes), 1.0),
        )
        for repair in still.repairs
    )


def _leaves(card: Card, cause_id: str, repair: Repair) -> float:
    cause = card.cause(cause_id)
    for link in cause.repairs if cause else ():
        if link.target == f"#{repair.id}":
            return 1 - CURE_CHANCE
    return 1.0
