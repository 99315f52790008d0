"""Sentences that begin with a digit or a sign: none is an answer that it is not."""

from functools import cache
from itertools import product
from pathlib import Path
from shutil import copy, copytree
from typing import TYPE_CHECKING

import pytest

from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.job import events as e
from bot.store.journal import Journal
from bot.talk.ask import ask
from bot.talk.hear import hear
from bot.talk.library import look

if TYPE_CHECKING:
    from collections.abc import Callable

    from bot.job.job import Job

STARTS = (*"0123456789", *"<>=?!*+-.,")
ENDS = (
    "of my mates saw it too",
    "o'clock it was when we got here",
    "of us are sitting in the shade",
    "dogs are asleep beside me",
    "people here told me to sell it",
    "sandwiches and nothing to drink with them",
    "letters from home came today",
    "birds sing in that bush over there",
    "kinds of bread they bake in this village",
    "and the others are asleep already",
    "pages of my diary I have filled",
    "songs my daughter can sing by heart",
    "neighbours came to have a chat with me",
    "words of their tongue I have learnt by now",
    "of them laughed at my hat",
)
LINES = tuple(f"{start} {end}" for start, end in product(STARTS, ENDS))
"""Three hundred lines that tell nothing of any truck."""

ANSWERS = (
    *(e.Found, e.StopCleared, e.StopRaised, e.RepairDone, e.MeasureTaken),
    *(
        e.CycleClean,
        e.CycleNotClean,
        e.Recorded,
        e.CardChosen,
        e.CardLeft,
        e.CardsDeclined,
    ),
    *(e.SteppedBack, e.Paused, e.HelpCalled, e.ShowedBefore, e.DangerDenied),
)
"""What a person does by an answer, and not by telling of birds."""

PAGES = ("electrics/charging-low", "brakes/brake-drags", "tyres-wheels/tyre-slow-leak")


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory, kb: Path) -> KbLibrary:
    small, home = tmp_path_factory.mktemp("kb"), tmp_path_factory.mktemp("home")
    copytree(kb / "stop-rules", small / "stop-rules")
    for path in kb.glob("*.yaml"):
        copy(path, small)
    for name in PAGES:
        to = small / "cards" / name
        to.parent.mkdir(parents=True, exist_ok=True)
        for path in (kb / "cards" / name).parent.glob(f"{to.name}.*"):
            copy(path, to.parent)
    return KbLibrary(str(small), str(home), Journal(home))


@cache
def kinds(library: KbLibrary, home: Path) -> dict[tuple[str, bool, bool], "Job"]:
    """A job at every kind of question: stage, whether figures are asked, read back."""
    found: dict[tuple[str, bool, bool], Job] = {}

    def walk(words: str, pick: "Callable[[list[str], str], str]") -> None:
        talk = Conversation(library, Journal(home), lambda: "2026-11-30T10:00:00Z")
        talk.hear(words)
        for _ in range(40):
            asked = ask(talk.view, library)
            stage = talk.job.stage.value
            found.setdefault((stage, asked.numbers, bool(talk.job.guess)), talk.job)
            if talk.is_over or not asked.choices:
                return
            talk.hear(pick([c.key for c in asked.choices], stage))

    walk("the charge lamp is on", lambda keys, _: keys[0])
    walk("the charge lamp is on", lambda k, at: k[-1] if at == "check" else k[0])
    walk("a wheel gets hot and smells", lambda keys, _: keys[0])
    walk("a tyre is soft every morning", lambda k, at: k[-1] if at == "check" else k[0])
    return found


def test_every_kind_of_question_is_met(library: KbLibrary, tmp_path: Path) -> None:
    stages = {stage for stage, _, _ in kinds(library, tmp_path)}
    assert stages >= {"narrow", "check", "stopped", "repair", "prove", "record"}
    assert any(numbers for _, numbers, _ in kinds(library, tmp_path))
    assert any(is_guess for _, _, is_guess in kinds(library, tmp_path))


@pytest.mark.parametrize("end", ENDS)
def test_no_line_of_other_things_is_an_answer(
    library: KbLibrary, tmp_path: Path, end: str
) -> None:
    taken = []
    for kind, job in kinds(library, tmp_path).items():
        view = look(job, library)
        for start in STARTS:
            heard = hear(view, f"{start} {end}", library)
            taken += [
                (kind, f"{start} {end}", type(event).__name__)
                for event in heard.events
                if isinstance(event, ANSWERS)
            ]
    assert taken == []


@pytest.mark.parametrize(
    ("typed", "is_read"),
    [
        ("26.9", True),
        ("it reads 26 now and stays there", True),
        ("the needle is at 26, I waited", True),
        ("26.9 on a clear cold day like this", True),
        ("27 V with everything switched off here", True),
        ("2 of my mates saw it too", False),
        ("3 dogs are asleep beside me", False),
    ],
)
def test_a_figure_is_a_reading_where_it_tells_of_a_gauge(
    library: KbLibrary, tmp_path: Path, typed: str, is_read: bool
) -> None:
    job = kinds(library, tmp_path)["check", True, False]
    heard = hear(look(job, library), typed, library)
    told = (e.Found, e.ReadingTaken, e.Guessed)
    assert any(isinstance(event, told) for event in heard.events) is is_read
