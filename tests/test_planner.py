"""The planner against fixtures with exact answers, found by brute force outside."""

from dataclasses import replace
from itertools import permutations, product
from random import Random

import pytest
from exact import optimum, policy_cost
from problems import Problem, problem

from bot.diagnose.planner import (
    Action,
    Fix,
    Look,
    Stakes,
    Work,
    best_step,
    left_by,
    repairs_alone,
    split,
    straight_to,
)


def fixes_of(costs: tuple[float, ...], cured: float = 1.0) -> tuple[Fix, ...]:
    """One fix a cause, in order; it cures with that chance."""
    made = (Fix(str(i + 1), cost, ((i, cured),)) for i, cost in enumerate(costs))
    return tuple(made)


def look_of(name: str, fee: float, yes: tuple[float, ...]) -> Look:
    return Look(name, fee, (yes, tuple(1 - p for p in yes)))


def exact(at: float) -> Stakes:
    return Stakes(help=at, unsure=0.0, worth_while=0.0)


F1 = (0.45, 0.25, 0.20, 0.10)
F1_FIXES = fixes_of((60, 20, 10))
CHECK1 = look_of("a", 5, (0.9, 0.1, 0.1, 0.5))
CHECK2 = look_of("b", 8, (0.05, 0.05, 0.95, 0.05))


def test_repairs_fall_in_chance_per_cost() -> None:
    """Fixture worked by hand: order 3, 2, 1, then help costs 89.00."""
    cost, first = repairs_alone(F1, Work(F1_FIXES, (), exact(300)))
    assert (round(cost, 9), first) == (89.0, "3")


def test_help_comes_at_the_best_point_of_the_order() -> None:
    """Fixture worked by hand: fix 1 then help 95.00; at once 100; all fixes 113."""
    cost, first = repairs_alone(
        (0.3, 0.1, 0.6), Work(fixes_of((25, 40)), (), exact(100))
    )
    assert (round(cost, 9), first) == (95.0, "1")


@pytest.mark.parametrize(
    ("weights", "costs", "looks", "at", "wanted", "first"),
    [
        (F1, (60, 20, 10), [CHECK1], 300, 84.55, "a"),
        (F1, (60, 20, 10), [CHECK1, CHECK2], 300, 84.55, "a"),
        (
            (0.25, 0.35, 0.25, 0.15),
            (100, 100, 40),
            [
                look_of("a", 2, (0.5, 0.5, 0.8, 0.05)),
                look_of("b", 15, (0.5, 0.2, 0.05, 0.95)),
            ],
            300,
            186.0475,
            "a",
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
            124.6105,
            "b",
        ),
    ],
)
def test_looking_two_steps_ahead_costs_what_was_worked_out(
    weights: tuple[float, ...],
    costs: tuple[float, ...],
    looks: list[Look],
    at: float,
    wanted: float,
    first: str,
) -> None:
    """Fixtures with exact figures, worked out apart from this program."""
    given = Problem(weights, Work(fixes_of(costs), tuple(looks), exact(at)))
    assert best_step(*given).id == first
    assert policy_cost(given) == pytest.approx(wanted)


def test_shared_setup_is_paid_once_and_ordered_as_a_block() -> None:
    """Fixture found by brute force apart from this program: 84.75, order 1 2 4 3 5."""
    share = frozenset({"wheel off"})
    fixes = (
        *fixes_of((10, 10)),
        Fix("3", 30, ((2, 1.0),), share),
        Fix("4", 5, ((3, 1.0),), share),
        Fix("5", 30, ((4, 1.0),), share),
    )
    weights = (0.20, 0.15, 0.25, 0.15, 0.20, 0.05)
    at = Stakes(300, {"wheel off": 40.0})
    assert repairs_alone(weights, Work(fixes, (), at))[0] == pytest.approx(84.75)
    opened = repairs_alone(weights, Work(fixes, (), at, share))[0]
    free = repairs_alone(weights, Work(fixes, (), Stakes(300)))[0]
    assert opened == pytest.approx(free)


OPTIMA = [161.946522, 169.981972, 160.659912, 185.606837, 171.567735]


@pytest.mark.parametrize("seed", range(5))
def test_exact_solver_finds_the_optimum_known_for_a_seed(seed: int) -> None:
    """Worked out once by another program for the same generator and seeds."""
    assert optimum(problem(seed)) == pytest.approx(OPTIMA[seed], abs=1e-6)


def expectimax(given: Problem) -> float:
    """The optimum, slowly: no memory, nothing cut short."""
    weights, work = given
    total = sum(weights)
    costs = [work.at.help * total]
    for fix in work.fixes:
        after = Problem(tuple(left_by(weights, fix)), work.after(fix))
        costs.append(fix.cost * total + expectimax(after))
    for look in work.looks:
        then = work.after(look)
        told = (expectimax(Problem(tuple(w), then)) for w in split(weights, look))
        costs.append(look.cost * total + sum(told))
    return min(costs)


@pytest.mark.parametrize("seed", range(12))
def test_exact_solver_equals_plain_expectimax(seed: int) -> None:
    given = problem(seed, causes=3, checks=2)
    assert optimum(given) == pytest.approx(expectimax(given), abs=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_planner_is_within_four_per_cent_of_the_optimum(seed: int) -> None:
    given = free_of_habit(problem(seed))
    best = optimum(given)
    assert best - 1e-9 <= policy_cost(given) <= 1.04 * best


def free_of_habit(given: Problem) -> Problem:
    """The problem for one who does not look before working, which costs a little."""
    fixes = tuple(replace(fix, work=0.0) for fix in given.work.fixes)
    return given._replace(work=replace(given.work, fixes=fixes))


def test_looking_before_working_costs_two_per_cent_at_most() -> None:
    given = [problem(seed) for seed in range(14)]
    ratios = [policy_cost(one) / optimum(one) for one in given]
    assert sum(ratios) / len(ratios) <= 1.02


def looks_and_work(cost: float, look: float) -> Work:
    """One dear repair that is likely, and a look that tells whether it is wanted."""
    change = Fix("change", cost, ((0, 1.0),), work=cost)
    other = Fix("other", 5.0, ((1, 1.0),))
    sees = Look("look", look, ((0.9, 0.2, 0.5), (0.1, 0.8, 0.5)))
    return Work((change, other), (sees,), Stakes(help=400.0, worth_while=0.9))


@pytest.mark.parametrize(
    ("cost", "look", "action"),
    [
        (40.0, 5.0, Action.CHECK),  # a look at the belt before forty minutes of work
        (40.0, 11.0, Action.REPAIR),  # no quick look
        (10.0, 5.0, Action.REPAIR),  # no long work
    ],
)
def test_a_quick_look_comes_before_long_work_on_its_cause(
    cost: float, look: float, action: Action
) -> None:
    weights = (0.9, 0.05, 0.05)
    assert best_step(weights, looks_and_work(cost, look)).action is action


def test_what_is_sure_needs_no_look() -> None:
    work = looks_and_work(40.0, 5.0)
    assert best_step((0.97, 0.02, 0.01), work).action is Action.REPAIR


@pytest.mark.parametrize("seed", range(20))
def test_going_straight_to_any_repair_costs_no_less_than_what_is_proposed(
    seed: int,
) -> None:
    """But for the hair that a lookahead of a few steps can be wrong by."""
    given = problem(seed, 8, 8)
    step = best_step(*given)
    at_once = [straight_to(given.weights, f.id, given.work) for f in given.work.fixes]
    assert min(at_once) >= 0.995 * step.cost


def random_problem(seed: int) -> Problem:
    """Six causes, five checks; repairs may be botched."""
    draw = Random(seed)
    given = problem(seed)
    cured = draw.uniform(0.6, 1)
    fixes = fixes_of(tuple(fix.cost for fix in given.work.fixes), cured)
    return given._replace(work=replace(given.work, fixes=fixes))


@pytest.mark.parametrize("seed", range(40))
def test_repairs_alone_equal_brute_force_over_all_orders(seed: int) -> None:
    weights, work = random_problem(seed)
    weights = (*weights[:4], sum(weights[4:]))
    few, at = work.fixes[:4], work.at
    best = at.help
    for count, order in product(range(1, 5), permutations(few)):
        left, spent = list(weights), 0.0
        for fix in order[:count]:
            spent += fix.cost * sum(left)
            ((cause, cured),) = fix.cures
            left[cause] *= 1 - cured
        best = min(best, spent + at.help * sum(left))
    found, _ = repairs_alone(weights, Work(few, (), at))
    assert found == pytest.approx(best)


@pytest.mark.parametrize("seed", range(20))
def test_lookahead_never_costs_more_than_repairs_alone(seed: int) -> None:
    given = random_problem(seed)
    alone, _ = repairs_alone(*given)
    assert policy_cost(given) <= alone + 1e-9


@pytest.mark.parametrize("seed", range(40))
def test_no_answer_can_make_knowing_it_worth_less_than_nothing(seed: int) -> None:
    weights, work = random_problem(seed)
    alone, _ = repairs_alone(weights, work)
    for look in work.looks:
        known = sum(repairs_alone(w, work)[0] for w in split(weights, look))
        assert known <= alone + 1e-9


@pytest.mark.parametrize("seed", range(20))
def test_scale_of_all_costs_changes_no_decision(seed: int) -> None:
    weights, work = random_problem(seed)
    dear = tuple(Fix(f.id, f.cost * 7, f.cures) for f in work.fixes)
    slow = tuple(Look(k.id, k.cost * 7, k.table) for k in work.looks)
    scaled = Work(dear, slow, exact(work.at.help * 7))
    assert best_step(weights, work).id == best_step(weights, scaled).id


def test_check_whose_answers_lead_to_the_same_plan_is_never_offered() -> None:
    blind = look_of("blind", 1, (0.5, 0.5, 0.5, 0.5))
    assert best_step(F1, Work(F1_FIXES, (blind,), Stakes(300))).action is Action.REPAIR


def test_safety_check_comes_first_whatever_it_costs() -> None:
    guard = Look("guard", 500, ((0.5,) * 4, (0.5,) * 4), first=True)
    assert best_step(F1, Work(F1_FIXES, (CHECK1, guard), Stakes(300))).id == "guard"


def test_without_repairs_or_checks_help_is_called() -> None:
    assert best_step((0.5, 0.5), Work((), (), Stakes(300))).action is Action.HELP
