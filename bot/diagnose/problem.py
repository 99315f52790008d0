"""A case with what is believed about it, as the planner's weights and costs."""

from collections.abc import Iterator
from dataclasses import dataclass
from types import MappingProxyType

from bot.diagnose.belief import CURE_CHANCE, Belief, Tried, cures
from bot.diagnose.case import Case
from bot.diagnose.cost import HELP_MINUTES, part_cost, trial_cost
from bot.diagnose.evidence import table_of
from bot.diagnose.planner import (
    Action,
    Fix,
    Look,
    Proposal,
    Stakes,
    Work,
    best_step,
    straight_to,
)
from bot.model.card import Card, Check, Needs, Repair
from bot.model.truck import Truck

LEAST_COST = 0.1
"""Minutes; nothing is free, and a chance divided by nothing has no order."""


@dataclass(frozen=True, slots=True)
class Open:
    """What is still to be had: checks and repairs with their card, states reached.

    `truck` is the keeper's note of the truck, None when there is none.
    """

    checks: tuple[tuple[Card, Check], ...]
    repairs: tuple[tuple[Card, Repair], ...]
    ready: frozenset[str] = frozenset()
    truck: Truck | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """The step that is best now, and whose it is; see `planner.Proposal`."""

    card: str
    step: str
    proposal: Proposal


def propose(case: Case, belief: Belief, still: Open) -> Step:
    """The best next step; ties go to the likelier card, then to the card's order.

    A check that guards a life comes before any other step of its card.
    """
    found = best_step(belief.weights, work_of(case, belief, still))
    card_id, _, step = found.id.partition("#")
    whose = card_id or case.cards[0].id
    for card, check in still.checks:
        if card.id == whose and check.needs.first:
            base = found.otherwise
            guard = Proposal(Action.CHECK, key(card, check), base, base)
            return Step(whose, check.id, guard)
    return Step(card_id, step, found)


def cost_of_going_straight_to(
    case: Case, belief: Belief, still: Open, card: Card, repair: Repair
) -> float:
    """Expected minutes to the end of the job if that repair were made at once."""
    return straight_to(belief.weights, key(card, repair), work_of(case, belief, still))


def work_of(case: Case, belief: Belief, still: Open) -> Work:
    """The open checks and repairs as the planner sees them."""
    fixes = tuple(
        _fix(case, card, repair, belief, still.truck) for card, repair in still.repairs
    )
    looks = tuple(look_of(card, check, belief) for card, check in still.checks)
    setups = dict(_setups(still))
    return Work(
        fixes, looks, Stakes(HELP_MINUTES, MappingProxyType(setups)), still.ready
    )


def _setups(still: Open) -> Iterator[tuple[str, float]]:
    """Each state that takes work to reach, with its minutes."""
    checks = (check.needs for _, check in still.checks)
    for needs in (*checks, *(repair.needs for _, repair in still.repairs)):
        for state in needs.truck:
            if state.setup:
                yield state.name, state.setup.minutes


def look_of(card: Card, check: Check, belief: Belief) -> Look:
    """A check as the planner sees it."""
    cost = max(_minutes(check.needs), LEAST_COST)
    table = table_of(card, check, belief.causes)
    return Look(key(card, check), cost, table, setups=_states(check.needs))


def _fix(
    case: Case, card: Card, repair: Repair, belief: Belief, truck: Truck | None
) -> Fix:
    minutes = _minutes(repair.needs, truck)
    cost = max(minutes + trial_cost(card.proof), LEAST_COST)
    cured = cures(case, belief.causes, Tried(card.id, repair.id))
    return Fix(
        key(card, repair),
        cost,
        tuple((number, CURE_CHANCE) for number in cured),
        _states(repair.needs),
        minutes,
    )


def _minutes(needs: Needs, truck: Truck | None = None) -> float:
    """Minutes of work, with the parts turned into minutes."""
    return needs.time.minutes + sum(part_cost(part, truck) for part in needs.parts)


def _states(needs: Needs) -> frozenset[str]:
    """The states that take work to reach."""
    return frozenset(state.name for state in needs.truck if state.setup)


def key(card: Card, step: Check | Repair) -> str:
    """A step's name among those of all cards in play."""
    return f"{card.id}#{step.id}"
