"""What reports teach, and what nobody can make them teach."""

import pytest

from bot.diagnose.belief import Belief, prior
from bot.diagnose.case import Case
from bot.diagnose.learning import OWN, Report, Standing, counts
from bot.model.card import Card

PROVED = Standing.PROVED


def learnt(card: Card, reports: list[Report]) -> Belief:
    return prior(Case((card,), (1.0,)), lambda _: counts(reports))


def test_report_weighs_by_standing_and_halves_in_three_years() -> None:
    one = [Report("a", standing) for standing in Standing]
    assert counts(one) == {"a": 1.75}
    assert counts([Report("a", PROVED, 3.0)]) == {"a": pytest.approx(0.5)}


def test_own_outcomes_are_counted_whole() -> None:
    assert counts([Report("a", PROVED)] * 40) == {"a": pytest.approx(40.0)}


@pytest.mark.parametrize("honest", [0, 5, 200])
def test_a_hundred_lies_of_one_contributor_move_no_cause_by_five_points(
    honest: int, wheel_valve: Card
) -> None:
    """The bound that the project sets itself."""
    causes = [cause.id for cause in wheel_valve.causes]
    told = [
        Report(causes[n % 3], PROVED, contributor=f"member {n % 40}")
        for n in range(honest)
    ]
    before = learnt(wheel_valve, told)
    for cause in causes:
        lies = [Report(cause, PROVED, contributor="liar")] * 100
        after = learnt(wheel_valve, told + lies)
        moved = (abs(after.of(c) - before.of(c)) for c in causes)
        assert max(moved) <= 0.05 + 1e-9


def test_order_of_reports_does_not_matter() -> None:
    told = [Report("ab"[n % 2], PROVED, n / 10, f"m{n % 3}") for n in range(12)]
    told += [Report("a", PROVED, contributor=OWN)]
    backwards = counts(told[::-1])
    for cause, weight in counts(told).items():
        assert backwards[cause] == pytest.approx(weight, rel=1e-3)


def test_many_hands_outweigh_the_author(wheel_valve: Card) -> None:
    rare = wheel_valve.causes[-1].id
    told = [Report(rare, PROVED, contributor=f"m{n}") for n in range(60)]
    assert learnt(wheel_valve, told).ranked()[0][0] == rare
