"""What reports teach, and what nobody can make them teach."""

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import dirichlet_multinomial

from bot.club.outcomes import Outcome, line
from bot.club.tally import tally
from bot.diagnose.belief import Belief, Heard, Tried, fits, prior_of
from bot.diagnose.learning import (
    AUTHOR_OFF,
    AUTHOR_RIGHT,
    NO_OUTCOMES,
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
def test_a_hundred_lines_of_one_device_move_no_cause_by_five_points(
    honest: int, wheel_valve: Card
) -> None:
    """The bound that the project sets itself."""
    causes = [cause.id for cause in wheel_valve.causes]
    told = {
        f"{n:032x}": f"{line(voted(wheel_valve, causes[n % 3], 1))}\n"
        for n in range(honest)
    }
    page = wheel_valve.id
    before = prior_of(wheel_valve, Outcomes(pool=tally(told).pool(page)))
    for cause in causes:
        lies = (line(voted(wheel_valve, cause, n)) for n in range(100))
        liar = {"f" * 32: "".join(f"{lie}\n" for lie in lies)}
        pool = tally({**told, **liar}).pool(page)
        moved = prior_of(wheel_valve, Outcomes(pool=pool))
        most = max(abs(moved.of(c) - before.of(c)) for c in causes)
        assert most <= 0.05 + 1e-9


def voted(card: Card, cause: str, n: int) -> Outcome:
    """The nth line of a device that says a cause in every month there is."""
    month = f"20{10 + n // 12}-{n % 12 + 1:02}"
    return Outcome(n + 1, card.id, "", cause, "-", True, month)


def test_order_of_reports_does_not_matter() -> None:
    told = [Report("ab"[n % 2], PROVED, n / 10) for n in range(12)]
    backwards = outcomes(told[::-1]).named
    for cause, weight in outcomes(told).named.items():
        assert backwards[cause] == pytest.approx(weight)


def test_many_jobs_of_ones_own_outweigh_the_author(wheel_valve: Card) -> None:
    rare = wheel_valve.causes[-1].id
    told = [Report(rare, PROVED)] * 60
    assert after(wheel_valve, [*told]).ranked()[0][0] == rare


def test_votes_of_others_weigh_three_tenths_of_the_author_at_most() -> None:
    """By hand: 6 beside 20, however many they are; (20 x .5 + 6) / 26."""
    alike = {"a": 0.5, "b": 0.5}
    for votes in (12, 200, 10**6):
        found = learnt(alike, Outcomes(pool={"b": votes}))
        assert found == pytest.approx({"a": 10 / 26, "b": 16 / 26})


def test_few_votes_weigh_as_reports_that_nobody_here_saw_proved() -> None:
    found = learnt(AUTHORED, Outcomes(pool={"b": 2}))
    assert found == pytest.approx(shrunk(AUTHORED, {"b": 1.0}, AUTHOR_OFF))


def test_votes_weigh_the_less_the_more_outcomes_of_ones_own_there_are() -> None:
    moved = []
    for own in (0, 10, 100):
        named = {cause: own * p for cause, p in AUTHORED.items()} if own else {}
        found = learnt(AUTHORED, Outcomes(named, pool={"a": 10**6}))
        moved.append(found["a"] - learnt(AUTHORED, Outcomes(named))["a"])
    assert moved == sorted(moved, reverse=True)
    assert moved[-1] < moved[0] / 3


def test_votes_alone_put_no_rarer_cause_on_top() -> None:
    for lie in ("b", "c"):
        found = learnt(AUTHORED, Outcomes(pool={lie: 10**6}))
        assert found["a"] > found[lie] > AUTHORED[lie]
        assert sum(found.values()) == pytest.approx(1.0)


def test_votes_for_none_of_the_causes_do_not_stand_before_a_commoner_one() -> None:
    found = learnt({"a": 0.3, "b": 0.3, "c": 0.3, "": 0.1}, Outcomes(pool={"": 99}))
    assert 0.1 < found[""] < found["a"]


def test_none_that_stands_before_all_causes_lets_no_rare_one_through() -> None:
    """Of many causes each is rarer than none of them; that is no leave for the rest."""
    authored = {"a": 0.2, "b": 0.2, "c": 0.1, "": 0.5}
    found = learnt(authored, Outcomes(pool={"c": 10**6}))
    assert found["c"] < found["a"] == found["b"]


def test_votes_do_not_finish_what_own_outcomes_began() -> None:
    """Own outcomes alone leave the rarer cause behind; with votes it stays there."""
    own = {"c": 4.0}
    assert learnt(AUTHORED, Outcomes(own))["a"] > learnt(AUTHORED, Outcomes(own))["c"]
    found = learnt(AUTHORED, Outcomes(own, pool={"c": 10**6}))
    assert found["a"] > found["c"]


def test_own_outcomes_put_a_rarer_cause_on_top_and_votes_may_keep_it_there() -> None:
    found = learnt(AUTHORED, Outcomes({"c": 40.0}, pool={"c": 5}))
    assert max(found, key=lambda cause: found[cause]) == "c"


def test_votes_for_what_is_no_cause_of_the_page_change_nothing() -> None:
    assert learnt(AUTHORED, Outcomes(pool={"of-an-older-page": 500})) == AUTHORED
    both = learnt(AUTHORED, Outcomes(pool={"of-an-older-page": 500, "b": 2}))
    assert both == learnt(AUTHORED, Outcomes(pool={"b": 2}))


@given(
    st.lists(st.sampled_from((8.0, 4.0, 2.0, 0.7)), min_size=2, max_size=9),
    st.lists(st.floats(0.0, 40.0), min_size=9, max_size=9),
    st.lists(st.integers(0, 10**6), min_size=9, max_size=9),
)
def test_whatever_is_voted_the_first_was_first_already_or_is_as_common(
    often: list[float], jobs: list[float], votes: list[int]
) -> None:
    names = [f"cause-{n}" for n in range(len(often))]
    shares = {c: 0.92 * p / sum(often) for c, p in zip(names, often, strict=True)}
    authored = {**shares, "": 0.08}
    named = dict(zip(names, jobs, strict=False))
    own = learnt(authored, Outcomes(named))
    told = dict(zip(names, votes, strict=False))
    found = learnt(authored, Outcomes(named, pool=told))
    first = max(names, key=lambda cause: found[cause])
    commoner = [c for c in names if authored[c] > authored[first]]
    assert all(own[c] < own[first] for c in commoner)


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
