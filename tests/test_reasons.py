"""Why a cause is suspected, answers that fight, and two faults at once."""

from dataclasses import replace

import pytest

from bot.diagnose.belief import Belief, Heard, prior
from bot.diagnose.case import Case
from bot.diagnose.learning import NO_OUTCOMES
from bot.diagnose.reasons import effects, fighting, surprises, two_faults
from bot.model.card import (
    Bearing,
    Card,
    Cause,
    Check,
    Duration,
    Finding,
    Needs,
    Often,
    Strength,
)

S = Strength


def yes_no(title: str, yes: tuple[Bearing, ...], no: tuple[Bearing, ...]) -> Check:
    findings = (Finding("Yes", yes), Finding("No", no))
    return Check(title, Needs(Duration("5", "min")), (), findings)


def split_check(title: str, cause: str) -> Check:
    """Yes speaks for one cause and against the rest, no the other way round."""
    yes = (Bearing(S.SURE, cause), Bearing(S.HARDLY, "the rest"))
    return yes_no(title, yes, (Bearing(S.NOT, cause),))


@pytest.fixture
def card(wheel_valve: Card) -> Card:
    """Four causes alike, two checks for each of the first two."""
    causes = tuple(Cause(name, Often.COMMON, ()) for name in ("a", "b", "c", "d"))
    checks = tuple(
        split_check(f"{cause} {number}", cause) for cause in "ab" for number in (1, 2)
    )
    return replace(wheel_valve, causes=causes, checks=checks)


@pytest.fixture
def case(card: Card) -> Case:
    return Case((card,), (1.0,))


@pytest.fixture
def start(case: Case) -> Belief:
    return prior(case, lambda _: NO_OUTCOMES)


def told(card: Card, *answers: str) -> list[Heard]:
    """Answers such as "a 1 Yes"."""
    split = (answer.rsplit(" ", 1) for answer in answers)
    return [Heard(card.id, check.replace(" ", "-"), said) for check, said in split]


def test_an_answer_raises_one_cause_and_lowers_another(
    card: Card, case: Case, start: Belief
) -> None:
    heard = told(card, "a 1 Yes")
    (for_a,) = effects(case, start, heard, [], "a")
    (against_b,) = effects(case, start, heard, [], "b")
    assert for_a.ratio > 10
    assert against_b.ratio < 0.5
    assert effects(case, start, [], [], "a") == ()


def test_answers_that_agree_surprise_nobody(
    card: Card, case: Case, start: Belief
) -> None:
    first, second = surprises(case, start, told(card, "a 1 Yes", "a 2 Yes"))
    assert first == pytest.approx(1.0)
    assert second > 1.0


def test_answers_that_fight_three_times_in_a_row_name_the_one_to_look_at(
    card: Card,
) -> None:
    """Each of four answers confirms another cause; the first was only the first."""
    wide = replace(card, checks=tuple(split_check(f"{c} 1", c) for c in "abcd"))
    case = Case((wide,), (1.0,))
    start = prior(case, lambda _: NO_OUTCOMES)
    heard = told(wide, "a 1 Yes", "b 1 Yes", "c 1 Yes", "d 1 Yes")
    assert [ratio <= 1 / 3 for ratio in surprises(case, start, heard)] == [
        False,
        True,
        True,
        True,
    ]
    assert fighting(case, start, heard[:3]) is None
    assert fighting(case, start, heard) in heard


def test_two_causes_that_explain_all_are_named(
    card: Card, case: Case, start: Belief
) -> None:
    heard = told(card, "a 1 Yes", "b 1 Yes", "a 2 Yes", "b 2 Yes")
    assert two_faults(case, start, heard) == ("a", "b")


def test_one_cause_that_explains_all_is_enough(
    card: Card, case: Case, start: Belief
) -> None:
    heard = told(card, "a 1 Yes", "b 1 No", "a 2 Yes", "b 2 No")
    assert two_faults(case, start, heard) is None
