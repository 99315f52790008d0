"""Faults that come and go, faults that no page covers, and words kept for later."""

from dataclasses import replace

import pytest

from bot.cards.read import read_card
from bot.job.job import Job, Stage, StepKind
from bot.model.card import SHOWING, Card, State
from bot.talk.ask import ask
from bot.talk.library import look
from bot.talk.messages import Say
from bot.talk.search import QUESTIONS
from bot.talk.show import show
from tests.fakes import FakeLibrary
from tests.test_talk import GOOD, library, proving, walk

FITFUL = "it hisses, but it comes and goes"


def fitful() -> FakeLibrary:
    """A library whose card has only checks that need the fault to show."""
    held = library()
    even = read_card(GOOD.replace("(now and then)", "(usual)"), "kb/drain-left-open.md")
    assert isinstance(even, Card)
    card = even
    checks = tuple(
        replace(c, needs=replace(c.needs, first=False, truck=(State(SHOWING, None),)))
        for c in card.checks
    )
    held.cards[card.id] = replace(
        card, checks=checks, provoke="drive it wet.", watch="Note the weather."
    )
    return held


def card_of(held: FakeLibrary) -> Card:
    return next(iter(held.cards.values()))


def text_of(held: FakeLibrary, job: Job) -> str:
    told = show(look(job, held), held)
    return " ".join(message.text for message in told if isinstance(message, Say))


def test_one_that_comes_and_goes_is_asked_whether_it_shows() -> None:
    held = fitful()
    job = walk(held, FITFUL, "1")
    assert "Is it doing it now?" in ask(look(job, held), held).text
    shows = walk(held, "yes it is", job=job)
    assert shows.shows is True
    assert shows.step == job.step
    assert "Is it doing it now?" not in ask(look(shows, held), held).text


@pytest.mark.parametrize(
    ("typed", "shows"),
    [
        ("it's doing it this very minute, I just tried", True),
        ("still dead, just this second", True),
        ("not at this moment", False),
        ("it is fine just now", False),
        ("so no, right now it is behaving, of course it is", False),
    ],
)
def test_whether_it_shows_is_heard_by_what_is_said_of_now(
    typed: str, shows: bool
) -> None:
    held = fitful()
    job = walk(held, FITFUL, "1")
    assert walk(held, typed, job=job).shows is shows


def test_what_does_not_come_and_go_is_not_asked() -> None:
    held = fitful()
    job = walk(held, "it hisses", "1")
    assert "Is it doing it now?" not in ask(look(job, held), held).text


def test_checks_that_need_it_to_show_wait_and_it_says_what_to_watch() -> None:
    held = fitful()
    job = walk(held, FITFUL, "1", "no, not now")
    assert job.step
    assert job.step.kind is StepKind.WATCH
    told = text_of(held, job)
    assert "drive it wet." in told
    assert "Note the weather." in told
    assert card_of(held).checks[0].title in told
    caught = walk(held, "it is doing it now", job=job)
    assert caught.step
    assert caught.step.kind is not StepKind.WATCH


@pytest.mark.parametrize(
    "typed",
    [
        "it is not doing it now",
        "typical, it works now",
        "sorry, it has stopped doing it",
        "cant make it do it",
        "all fine at the moment",
        "it went away by itself",
    ],
)
def test_not_doing_it_now_is_no_finding(typed: str) -> None:
    held = fitful()
    job = walk(held, "it hisses", "1")
    after = walk(held, typed, job=job)
    assert after.shows is False
    assert after.answers == job.answers == ()
    assert after.stage is Stage.CHECK


def test_said_with_the_description_it_hides_from_the_start() -> None:
    held = fitful()
    job = walk(held, "it hisses at times, but it is not doing it now", "1")
    assert job.step
    assert job.step.kind is StepKind.WATCH


def test_what_guards_a_life_never_waits() -> None:
    held = fitful()
    first = card_of(held).checks[0]
    guards = replace(first, needs=replace(first.needs, first=True))
    assert not guards.needs_showing
    assert first.needs_showing


@pytest.mark.parametrize(
    ("said", "label"),
    [
        ("it hisses one start in five", "1 of 5, as you said"),
        ("it hisses every third morning", "1 of 3, as you said"),
    ],
)
def test_how_often_is_asked_for_no_second_time(said: str, label: str) -> None:
    held = library()
    job = proving(held)
    job = replace(job, words=(said,))
    question = ask(look(job, held), held)
    assert label in [choice.label for choice in question.choices]


def test_where_no_page_fits_a_short_search_is_asked_for() -> None:
    held = library(sure=0.1)
    job = walk(held, "the wipers judder")
    assert "may it move?" in text_of(held, job)
    for number, words in enumerate(("since the rain", "the cab", "the other is good")):
        assert ask(look(job, held), held).text == QUESTIONS[number]
        job = walk(held, words, job=job)
    assert "Halve the way" in text_of(held, job)
    kept = walk(held, "none", "yes", job=job)
    assert kept.stage is Stage.CLOSED
    assert kept.words == (
        "the wipers judder",
        "since the rain",
        "the cab",
        "the other is good",
    )


def test_a_no_with_a_description_behind_it_is_both() -> None:
    held = library(sure=0.1)
    job = walk(held, "the wipers judder", "none of those, the arm is loose")
    assert job.stage is Stage.NARROW
    assert job.words == ("the wipers judder", "the arm is loose")
