"""A card with what is believed about it, as the planner's weights and costs."""

from collections.abc import Set
from dataclasses import dataclass

from bot.diagnose.belief import CURE_CHANCE, Belief
from bot.diagnose.cost import HELP_MINUTES, step_cost, trial_cost
from bot.diagnose.evidence import table_of
from bot.diagnose.planner import Fix, Look, Proposal, Stakes, Work, best_step
from bot.model.card import Card, Check, Repair

ON_THE_TRAIL = Stakes(help=HELP_MINUTES)
LEAST_COST = 0.1
"""Minutes; nothing is free, and a chance divided by nothing has no order."""


@dataclass(frozen=True, slots=True)
class Open:
    """What is still to be had: checks, repairs, and the states the truck is in."""

    checks: tuple[Check, ...]
    repairs: tuple[Repair, ...]
    ready: frozenset[str] = frozenset()


def propose(card: Card, belief: Belief, still: Open) -> Proposal:
    """The best next step on a card; ties go to the card's order."""
    fixes = tuple(_fix(card, repair, still.ready) for repair in still.repairs)
    looks = tuple(look_of(check, belief, still.ready) for check in still.checks)
    return best_step(belief.weights, Work(fixes, looks, ON_THE_TRAIL))


def look_of(check: Check, belief: Belief, ready: Set[str]) -> Look:
    """A check as the planner sees it."""
    cost = max(step_cost(check.needs, ready), LEAST_COST)
    return Look(check.id, cost, table_of(check, belief.causes), check.needs.first)


def _fix(card: Card, repair: Repair, ready: Set[str]) -> Fix:
    cost = max(step_cost(repair.needs, ready) + trial_cost(card.proof), LEAST_COST)
    cures = (
        (number, CURE_CHANCE)
        for number, cause in enumerate(card.causes)
        if cause.cured_by(repair.id)
    )
    return Fix(repair.id, cost, tuple(cures))
