"""The planner against fixtures with exact answers, found by brute force outside."""

from collections.abc import Sequence
from itertools import permutations, product
from random import Random

import pytest

from bot.diagnose.planner import (
    Action,
    Fix,
    Look,
    Stakes,
    best_step,
    repairs_alone,
    split,
)

Probabilities = Sequence[float]


def fixes_of(costs: Sequence[float], cured: float = 1.0) -> list[Fix]:
    """One fix a cause, in order; it cures with that chance."""
    n = len(costs)
    return [
        Fix(
            str(i + 1),
            cost,
            tuple(1.0 - cured if i == j else 1.0 for j in range(n + 1)),
        )
        for i, cost in enumerate(costs)
    ]


def look_of(name: str, fee: float, yes: Probabilities) -> Look:
    return Look(name, fee, (tuple(yes), tuple(1 - p for p in yes)))


def policy_cost(
    weights: Sequence[float], fixes: list[Fix], looks: list[Look], at: Stakes
) -> float:
    """What one-step lookahead costs in the end, all answers followed."""
    if sum(weights) < 1e-12:
        return 0.0
    step = best_step(weights, fixes, looks, at)
    if step.action is Action.HELP:
        return at.help * sum(weights)
    if step.action is Action.REPAIR:
        fix = next(f for f in fixes if f.id == step.id)
        left = [w * stays for w, stays in zip(weights, fix.leaves, strict=True)]
        rest = [f for f in fixes if f is not fix]
        return fix.cost * sum(weights) + policy_cost(left, rest, looks, at)
    look = next(k for k in looks if k.id == step.id)
    others = [k for k in looks if k is not look]
    return look.cost * sum(weights) + sum(
        policy_cost(w, fixes, others, at) for w in split(weights, look)
    )


def exact(at: float) -> Stakes:
    return Stakes(help=at, unsure=0.0, worth_while=0.0)


F1 = ((0.45, 0.25, 0.20, 0.10), fixes_of((60, 20, 10)))
CHECK1 = look_of("a", 5, (0.9, 0.1, 0.1, 0.5))
CHECK2 = look_of("b", 8, (0.05, 0.05, 0.95, 0.05))


def test_repairs_fall_in_chance_per_cost() -> None:
    """Fixture worked by hand: order 3, 2, 1, then help costs 89.00."""
    cost, first = repairs_alone(*F1, 300)
    assert (round(cost, 9), first) == (89.0, "3")


def test_help_comes_at_the_best_point_of_the_order() -> None:
    """Fixture worked by hand: fix 1 then help 95.00; at once 100; all fixes 113."""
    cost, first = repairs_alone((0.3, 0.1, 0.6), fixes_of((25, 40)), 100)
    assert (round(cost, 9), first) == (95.0, "1")


@pytest.mark.parametrize(
    ("weights", "costs", "looks", "at", "wanted", "first"),
    [
        (F1[0], (60, 20, 10), [CHECK1], 300, 84.55, "a"),
        (F1[0], (60, 20, 10), [CHECK1, CHECK2], 300, 84.55, "a"),
        (
            (0.25, 0.35, 0.25, 0.15),
            (100, 100, 40),
            [
                look_of("a", 2, (0.5, 0.5, 0.8, 0.05)),
                look_of("b", 15, (0.5, 0.2, 0.05, 0.95)),
            ],
            300,
            200.0,
            "3",
        ),
        (
            (0.30, 0.25, 0.20, 0.15, 0.10),
            (40, 90, 25, 15),
            [
                look_of("a", 4, (0.8, 0.8, 0.2, 0.2, 0.5)),
                look_of("b", 10, (0.95, 0.05, 0.05, 0.05, 0.05)),
                look_of("c", 6, (0.2, 0.8, 0.5, 0.2, 0.5)),
            ],
            400,
            124.52,
            "b",
        ),
    ],
)
def test_one_step_lookahead_costs_what_was_worked_out(
    weights: Probabilities,
    costs: tuple[float, ...],
    looks: list[Look],
    at: float,
    wanted: float,
    first: str,
) -> None:
    """Fixtures with exact figures, worked out apart from this program."""
    fixes = fixes_of(costs)
    assert best_step(weights, fixes, looks, exact(at)).id == first
    assert policy_cost(weights, fixes, looks, exact(at)) == pytest.approx(wanted)


def random_problem(seed: int) -> tuple[list[float], list[Fix], list[Look], float]:
    """Six causes and five checks: pinpointing, splitting and weak ones."""
    draw = Random(seed)
    shares = [draw.expovariate(1) for _ in range(6)]
    none = draw.uniform(0.03, 0.12)
    weights = [(1 - none) * s / sum(shares) for s in shares] + [none]
    fixes = fixes_of([draw.uniform(5, 150) for _ in range(6)], draw.uniform(0.6, 1))
    looks = []
    for n in range(5):
        yes = [draw.choice((0.1, 0.35, 0.65, 0.9)) for _ in range(6)]
        looks.append(look_of(str(n), draw.uniform(1, 30), (*yes, 0.5)))
    return weights, fixes, looks, draw.uniform(300, 900)


@pytest.mark.parametrize("seed", range(40))
def test_repairs_alone_equal_brute_force_over_all_orders(seed: int) -> None:
    weights, fixes, _, at = random_problem(seed)
    weights = [*weights[:4], sum(weights[4:])]
    few = [Fix(fix.id, fix.cost, (*fix.leaves[:4], 1.0)) for fix in fixes[:4]]
    best = at
    for count, order in product(range(1, 5), permutations(few)):
        left, spent = list(weights), 0.0
        for fix in order[:count]:
            spent += fix.cost * sum(left)
            left = [w * s for w, s in zip(left, fix.leaves, strict=True)]
        best = min(best, spent + at * sum(left))
    assert repairs_alone(weights, few, at)[0] == pytest.approx(best)


@pytest.mark.parametrize("seed", range(40))
def test_lookahead_never_costs_more_than_repairs_alone(seed: int) -> None:
    weights, fixes, looks, at = random_problem(seed)
    alone, _ = repairs_alone(weights, fixes, at)
    assert policy_cost(weights, fixes, looks, exact(at)) <= alone + 1e-9


@pytest.mark.parametrize("seed", range(40))
def test_no_answer_can_make_knowing_it_worth_less_than_nothing(seed: int) -> None:
    weights, fixes, looks, at = random_problem(seed)
    alone, _ = repairs_alone(weights, fixes, at)
    for look in looks:
        known = sum(repairs_alone(w, fixes, at)[0] for w in split(weights, look))
        assert known <= alone + 1e-9


@pytest.mark.parametrize("seed", range(20))
def test_scale_of_all_costs_changes_no_decision(seed: int) -> None:
    weights, fixes, looks, at = random_problem(seed)
    dear = [Fix(f.id, f.cost * 7, f.leaves) for f in fixes]
    slow = [Look(k.id, k.cost * 7, k.table) for k in looks]
    assert (
        best_step(weights, fixes, looks, Stakes(at)).id
        == best_step(weights, dear, slow, Stakes(at * 7)).id
    )


def test_check_whose_answers_lead_to_the_same_plan_is_never_offered() -> None:
    blind = look_of("blind", 1, (0.5, 0.5, 0.5, 0.5))
    assert best_step(*F1, [blind], Stakes(300)).action is Action.REPAIR


def test_safety_check_comes_first_whatever_it_costs() -> None:
    guard = Look("guard", 500, ((0.5,) * 4, (0.5,) * 4), first=True)
    assert best_step(*F1, [CHECK1, guard], Stakes(300)).id == "guard"


def test_without_repairs_or_checks_help_is_called() -> None:
    assert best_step((0.5, 0.5), [], [], Stakes(300)).action is Action.HELP
