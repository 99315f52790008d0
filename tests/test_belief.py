"""Beliefs: Bayes' rule on published examples, and its laws on a real card."""

from itertools import permutations

import pytest

from bot.diagnose.belief import (
    CURE_CHANCE,
    Belief,
    Heard,
    Tried,
    believe,
    posterior,
    prior,
)
from bot.diagnose.case import Case, case_of
from bot.diagnose.learning import (
    AUTHOR_OFF,
    AUTHOR_RIGHT,
    NO_OUTCOMES,
    Outcomes,
    learnt,
    shrunk,
)
from bot.model.card import Card

PUBLISHED = [
    # Circuit failures in four categories, a textbook exercise with printed answer 4/15
    # for the third; homeworksource.com/p/1106933 (seen).
    ((0.40, 0.25, 0.30, 0.05), [(0.05, 0.05, 0.04, 0.01)], 2, 4 / 15),
    ((0.40, 0.25, 0.30, 0.05), [(0.95, 0.95, 0.96, 0.99)], 2, 0.30157),
    # Screening, base rate 0.5 %, 95 % and 1 %: "about 32 percent"; chemedx.org (seen).
    ((0.005, 0.995), [(0.95, 0.01)], 0, 0.3231),
    # Screening, base rate 1 %, 80 % and 9.6 %; solopassion.com/print/9528 (question
    # seen, answer worked out).
    ((0.01, 0.99), [(0.80, 0.096)], 0, 0.0776),
]


@pytest.mark.parametrize(("weights", "likelihoods", "which", "wanted"), PUBLISHED)
def test_bayes_rule_gives_the_published_figure(
    weights: tuple[float, ...],
    likelihoods: list[tuple[float, ...]],
    which: int,
    wanted: float,
) -> None:
    assert posterior(weights, likelihoods)[which] == pytest.approx(wanted, abs=5e-5)


def alone(card: Card) -> Case:
    return Case((card,), (1.0,))


def start_of(card: Card, **counts: float) -> Belief:
    seen = {cause.replace("_", "-"): n for cause, n in counts.items()}
    return prior(alone(card), lambda _: Outcomes(seen))


def first_answers(card: Card, count: int) -> list[Heard]:
    return [Heard(card.id, c.id, c.findings[0].answer) for c in card.checks[:count]]


def test_beliefs_sum_to_one_whatever_was_heard(wheel_valve: Card) -> None:
    start = start_of(wheel_valve)
    for count in range(len(wheel_valve.checks) + 1):
        found = believe(alone(wheel_valve), start, first_answers(wheel_valve, count))
        assert sum(found.weights) == pytest.approx(1.0)
        assert all(0 < weight < 1 for weight in found.weights)


def test_order_of_answers_does_not_matter(wheel_valve: Card) -> None:
    start = start_of(wheel_valve)
    heard = first_answers(wheel_valve, 4)
    wanted = believe(alone(wheel_valve), start, heard).weights
    for order in permutations(heard):
        assert believe(alone(wheel_valve), start, order).weights == pytest.approx(
            wanted
        )


def test_answer_the_card_no_longer_has_changes_nothing(wheel_valve: Card) -> None:
    start = start_of(wheel_valve)
    heard = [
        Heard(wheel_valve.id, "gone", "Yes"),
        Heard(wheel_valve.id, wheel_valve.checks[1].id, "no such finding"),
    ]
    assert believe(alone(wheel_valve), start, heard).weights == pytest.approx(
        start.weights
    )


def test_same_fact_read_twice_counts_once(wheel_valve: Card) -> None:
    from dataclasses import replace

    check = wheel_valve.checks[2]
    needs = replace(check.needs, fact="froth")
    twin = replace(check, title="Soap it again", needs=needs)
    card = replace(wheel_valve, checks=(replace(check, needs=needs), twin))
    answer = check.findings[0].answer
    start = start_of(card)
    once = believe(alone(card), start, [Heard(card.id, check.id, answer)])
    twice = believe(
        alone(card),
        start,
        [Heard(card.id, check.id, answer), Heard(card.id, twin.id, answer)],
    )
    assert twice.weights == pytest.approx(once.weights)


def test_author_word_decides_without_outcomes(wheel_valve: Card) -> None:
    assert start_of(wheel_valve).ranked()[0][0] == "dirt-on-the-wheel-valve-seat"


def test_outcomes_shift_the_prior_as_dirichlet_counts(wheel_valve: Card) -> None:
    rare = "cracked-wheel-valve-body"
    before = start_of(wheel_valve).of(rare)
    after = start_of(wheel_valve, **{rare: 12.0})
    alone = Outcomes({rare: 12.0})
    shares = dict(zip((*after.causes, ""), start_of(wheel_valve).weights, strict=True))
    assert after.of(rare) == pytest.approx(learnt(shares, alone)[rare])
    tight = shrunk(shares, alone.named, AUTHOR_RIGHT)[rare]
    loose = shrunk(shares, alone.named, AUTHOR_OFF)[rare]
    assert before < tight < after.of(rare) < loose
    assert after.ranked()[0][0] == rare


def test_none_of_these_grows_when_all_named_causes_are_spoken_against(
    wheel_valve: Card,
) -> None:
    start = start_of(wheel_valve)
    heard = [
        Heard(
            wheel_valve.id,
            "listen-at-the-hub-with-the-system-at-rest",
            "No, silent everywhere",
        ),
        Heard(
            wheel_valve.id,
            "soap-the-joints-the-tyre-valve-and-the-rim-edge",
            "No bubbles anywhere",
        ),
        Heard(wheel_valve.id, "open-the-line-at-the-frame", "No, the line was empty"),
    ]
    assert believe(alone(wheel_valve), start, heard).none > 2 * start.none


def test_repair_that_failed_takes_weight_but_not_all(wheel_valve: Card) -> None:
    start = start_of(wheel_valve)
    after = believe(
        alone(wheel_valve),
        start,
        [],
        [Tried(wheel_valve.id, "rebuild-the-wheel-valve")],
    )
    for cause in ("dirt-on-the-wheel-valve-seat", "split-diaphragm-in-the-wheel-valve"):
        odds_before = start.of(cause) / start.none
        assert after.of(cause) / after.none == pytest.approx(
            odds_before * (1 - CURE_CHANCE)
        )


def two(one: Card) -> tuple[Card, Card]:
    """A card, and another that shares its first cause only."""
    from dataclasses import replace

    first, *rest = one.causes
    renamed = tuple(replace(cause, name=f"Other {cause.name}") for cause in rest)
    return one, replace(one, id="other", causes=(first, *renamed))


def test_same_cause_on_two_cards_is_one_cause(wheel_valve: Card) -> None:
    one, other = two(wheel_valve)
    shared = one.causes[0].id
    both = prior(Case((one, other), (0.5, 0.3), 0.2), lambda _: NO_OUTCOMES)
    assert both.causes.count(shared) == 1
    assert both.of(shared) == pytest.approx(0.8 * start_of(one).of(shared))
    assert both.none == pytest.approx(0.2 + 0.8 * start_of(one).none)
    assert sum(both.weights) == pytest.approx(1.0)


def test_a_check_leaves_the_causes_of_other_cards_alone(wheel_valve: Card) -> None:
    one, other = two(wheel_valve)
    case = Case((one, other), (0.5, 0.4), 0.1)
    start = prior(case, lambda _: NO_OUTCOMES)
    after = believe(case, start, first_answers(one, 3)[2:])
    foreign = [c.id for c in other.causes[1:]]
    for cause in foreign:
        assert after.of(cause) / after.none == pytest.approx(
            start.of(cause) / start.none
        )


def test_the_card_picked_leads_and_the_others_stay_in_play(wheel_valve: Card) -> None:
    one, other = two(wheel_valve)
    cards = {one.id: one, other.id: other}
    matched = [(other.id, 0.5), (one.id, 0.3)]
    unpicked = case_of(cards, matched, 0.2)
    assert unpicked.chances == pytest.approx((0.5, 0.3))
    picked = case_of(cards, matched, 0.2, one.id)
    assert picked.cards[0] is one
    assert picked.chances == pytest.approx((6 / 6.7, 0.5 / 6.7))
    assert picked.none == pytest.approx(0.2 / 6.7)


def test_a_card_nobody_matched_can_be_picked(wheel_valve: Card) -> None:
    case = case_of({wheel_valve.id: wheel_valve}, [], 1.0, wheel_valve.id)
    assert case.cards == (wheel_valve,)
    assert case.chances[0] > 0.9
