"""What reports teach, and what nobody can make them teach."""

from math import exp

import pytest
from scipy.stats import dirichlet_multinomial

from bot.diagnose.belief import Belief, Heard, Tried, fits, prior_of
from bot.diagnose.learning import (
    AUTHOR_OFF,
    AUTHOR_RIGHT,
    NO_OUTCOMES,
    OWN,
    Outcomes,
    Report,
    Standing,
    Unsolved,
    learnt,
    outcomes,
    shrunk,
)
from bot.model.card import Card

PROVED = Standing.PROVED
AUTHORED = {"a": 0.4, "b": 0.3, "c": 0.2, "": 0.1}


def after(card: Card, told: list[Report | Unsolved]) -> Belief:
    return prior_of(card, outcomes(told))


def test_report_weighs_by_standing_and_halves_in_three_years() -> None:
    one = [Report("a", standing) for standing in Standing]
    assert outcomes(one).named == {"a": 1.75}
    assert outcomes([Report("a", PROVED, 3.0)]).named == {"a": pytest.approx(0.5)}


def test_own_outcomes_are_counted_whole() -> None:
    assert outcomes([Report("a", PROVED)] * 40).named == {"a": pytest.approx(40.0)}


def test_counts_shrink_to_the_authors_shares() -> None:
    """Dirichlet-multinomial by hand: (10 x .4 + 1) / (10 + 10) and so on."""
    found = shrunk(AUTHORED, {"a": 1, "b": 6, "c": 2, "": 1}, 10)
    assert list(found.values()) == pytest.approx([0.25, 0.45, 0.20, 0.10])


@pytest.mark.parametrize("counts", [(4, 3, 2, 1), (0, 0, 9, 0), (1, 12, 1, 1)])
def test_mixture_weighs_the_two_readings_of_the_author_by_their_evidence(
    counts: tuple[int, ...],
) -> None:
    """Source: scipy.stats.dirichlet_multinomial gives the chance of the counts."""
    seen = dict(zip(AUTHORED, map(float, counts), strict=True))
    tight, loose = (
        dirichlet_multinomial(
            [size * p for p in AUTHORED.values()], sum(counts)
        ).logpmf(counts)
        for size in (AUTHOR_RIGHT, AUTHOR_OFF)
    )
    right = 1 / (1 + exp(loose - tight))
    wanted = {
        cause: right * shrunk(AUTHORED, seen, AUTHOR_RIGHT)[cause]
        + (1 - right) * shrunk(AUTHORED, seen, AUTHOR_OFF)[cause]
        for cause in AUTHORED
    }
    assert learnt(AUTHORED, Outcomes(seen)) == pytest.approx(wanted, abs=1e-9)


def test_counts_that_bear_the_author_out_change_little() -> None:
    found = learnt(AUTHORED, Outcomes({"a": 4.0, "b": 3.0, "c": 2.0, "": 1.0}))
    assert found == pytest.approx(AUTHORED)


@pytest.mark.parametrize("honest", [0, 5, 20, 60, 200])
def test_a_hundred_lies_of_one_contributor_move_no_cause_by_five_points(
    honest: int, wheel_valve: Card
) -> None:
    """The bound that the project sets itself."""
    causes = [cause.id for cause in wheel_valve.causes]
    told: list[Report | Unsolved] = [
        Report(causes[n % 3], PROVED, contributor=f"member {n % 40}")
        for n in range(honest)
    ]
    before = after(wheel_valve, told)
    for cause in causes:
        lies = [Report(cause, PROVED, contributor="liar")] * 100
        moved = after(wheel_valve, [*told, *lies])
        most = max(abs(moved.of(c) - before.of(c)) for c in causes)
        assert most <= 0.05 + 1e-9


def test_lies_told_as_unsolved_jobs_are_capped_alike(wheel_valve: Card) -> None:
    before = after(wheel_valve, [])
    first = before.ranked()[0][0]
    against = {cause: 0.01 if cause == first else 1.0 for cause in before.causes}
    lies = [Unsolved(against, contributor="liar")] * 100
    assert before.of(first) - after(wheel_valve, [*lies]).of(first) <= 0.05


def test_order_of_reports_does_not_matter() -> None:
    told = [Report("ab"[n % 2], PROVED, n / 10, f"m{n % 3}") for n in range(12)]
    told += [Report("a", PROVED, contributor=OWN)]
    backwards = outcomes(told[::-1]).named
    for cause, weight in outcomes(told).named.items():
        assert backwards[cause] == pytest.approx(weight, rel=1e-3)


def test_many_hands_outweigh_the_author(wheel_valve: Card) -> None:
    rare = wheel_valve.causes[-1].id
    told = [Report(rare, PROVED, contributor=f"m{n}") for n in range(60)]
    assert after(wheel_valve, [*told]).ranked()[0][0] == rare


def test_job_given_up_speaks_against_what_was_tried_in_it() -> None:
    unsolved = [Unsolved({"a": 0.05})] * 10
    found = learnt(AUTHORED, outcomes(unsolved))
    assert found["a"] < AUTHORED["a"]
    assert all(found[cause] > AUTHORED[cause] for cause in ("b", "c", ""))
    assert sum(found.values()) == pytest.approx(1.0)


def test_job_given_up_with_nothing_found_or_tried_teaches_nothing() -> None:
    found = learnt(AUTHORED, outcomes([Unsolved({})] * 30))
    assert found == pytest.approx(AUTHORED, abs=1e-6)


def test_unsolved_job_that_can_only_have_been_one_cause_counts_as_that_cause() -> None:
    sure = {"a": 1e-12, "b": 1.0, "c": 1e-12, "": 1e-12}
    told = learnt(AUTHORED, outcomes([Unsolved(sure)] * 8))
    named = learnt(AUTHORED, outcomes([Report("b", PROVED)] * 8))
    assert told["b"] == pytest.approx(named["b"], abs=0.02)


def test_nothing_recorded_leaves_the_author_as_he_is() -> None:
    assert learnt(AUTHORED, NO_OUTCOMES) is AUTHORED


def test_what_was_found_and_tried_fits_the_other_causes(wheel_valve: Card) -> None:
    repair = wheel_valve.repairs[0]
    cured = {c.id for c in wheel_valve.causes if c.cured_by(repair.id)}
    found = fits(wheel_valve, [], [Tried(wheel_valve.id, repair.id)])
    assert {round(found[cause] / found[""], 6) for cause in cured} == {0.05}
    other = next(c.id for c in wheel_valve.causes if c.id not in cured)
    assert found[other] == pytest.approx(found[""])
    check = wheel_valve.checks[0]
    heard = [Heard("another-card", check.id, check.findings[0].answer)]
    assert len(set(fits(wheel_valve, heard, []).values())) == 1
