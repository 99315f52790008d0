"""A fault that comes again: told of, and whether it comes ever faster."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.desk.truck import keep, use
from bot.diagnose.recurrence import trend
from bot.job import events as e
from bot.job.job import Job
from bot.model.truck import Truck
from bot.store.journal import Journal
from bot.talk.again import had_before, same_cause
from bot.talk.library import Earlier
from bot.talk.messages import Say
from tests.fakes import FakeLibrary
from tests.seeds import seed
from tests.test_talk import drain

DRAIN = drain()
CAUSE, REPAIR = DRAIN.causes[0].id, DRAIN.repairs[0].id
START = datetime(2020, 1, 1, tzinfo=UTC)
NOW = "2026-11-25T10:00:00+00:00"


def days(*after: float) -> list[datetime]:
    return [START + timedelta(days=day) for day in after]


@pytest.mark.parametrize(
    ("times", "watched", "z"),
    [
        # a reliability-growth reference's worked example of Laplace's test; the result
        # *seen*, the row of data *from memory*
        (
            (1.2, 55.6, 72.7, 111.9, 121.9, 303.6, 326.9, 1568.4, 1913.5),
            2000,
            -2.6121,
        ),
        # NIST/SEMATECH e-Handbook chapter 8, repair times (data *seen*); z worked out
        # by its formula
        ((5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478), 1500, -1.327),
    ],
)
def test_trend_of_published_failures(
    times: tuple[float, ...], watched: float, z: float
) -> None:
    found = trend(days(*times), START + timedelta(days=watched), START)
    assert found is not None
    assert found.z == pytest.approx(z, abs=0.0006)
    assert found.events == len(times)
    assert found.is_rarer is (z < -1.645)
    assert not found.is_faster


def test_too_few_events_have_no_trend() -> None:
    assert trend(days(1, 2, 3, 4), START + timedelta(days=5), START) is None
    assert trend((), START) is None


def test_without_a_beginning_the_first_event_begins_the_watch() -> None:
    """The first is then no event of the watch: five more are needed."""
    until = START + timedelta(days=100)
    assert trend(days(0, 60, 70, 80, 90), until) is None
    found = trend(days(0, 60, 70, 80, 90, 95), until)
    assert found is not None
    assert (found.events, found.days) == (5, 100)
    assert found.is_faster


@pytest.fixture
def library() -> FakeLibrary:
    return FakeLibrary({DRAIN.id: DRAIN}, moment=NOW)


def past(job: int, day: str, cause: str = CAUSE, *, proved: bool = True) -> Earlier:
    return Earlier(job, f"{day}T08:00:00+00:00", cause, REPAIR, proved)


def said(library: FakeLibrary) -> str:
    told = had_before(DRAIN, Job(), library)
    assert len(told) <= 1
    return " ".join(m.text for m in told if isinstance(m, Say))


def test_what_it_had_before_is_told(library: FakeLibrary) -> None:
    assert said(library) == ""
    library.before = (past(4, "2026-03-02"),)
    told = said(library)
    assert "before, on 2026-03-02 (job 4)" in told
    assert "proved" in told
    assert "times it was that cause" not in told
    library.before = (past(4, "2026-03-02"), past(9, "2026-06-02", proved=False))
    told = said(library)
    assert "2 times before, last on 2026-06-02 (job 9)" in told
    assert "not proved" in told
    assert "2 times it was that cause" in told


def test_a_fault_that_comes_ever_sooner_is_said(library: FakeLibrary) -> None:
    months = ("2026-01", "2026-06", "2026-08", "2026-09", "2026-10", "2026-11")
    library.before = tuple(past(n, f"{m}-01") for n, m in enumerate(months, 1))
    told = said(library)
    assert "It may be coming ever sooner: 5 times in " in told
    assert "6 times before, last on 2026-11-01 (job 6)" in told
    library.before = tuple(past(n, f"2026-0{n}-01") for n in range(1, 7))
    library.moment = "2026-07-01T00:00:00+00:00"
    assert "at no rate that rises or falls" in said(library)


def test_the_same_cause_is_said_where_it_is_named(library: FakeLibrary) -> None:
    library.before = (past(4, "2026-03-02"),)
    assert same_cause(DRAIN.causes[1].id, Job(card=DRAIN.id), library) == ()
    (told,) = same_cause(CAUSE, Job(card=DRAIN.id), library)
    assert isinstance(told, Say)
    assert told.text.startswith("The same cause as in job 4 of 2026-03-02.")


def test_the_second_time_on_the_same_truck_is_noticed(kb: Path, tmp_path: Path) -> None:
    """And not on another truck."""
    home = seed(tmp_path)
    for name in ("heron", "badger"):
        keep(str(home), name, Truck(name.title()))
    use(str(home), "heron")
    journal = Journal(home)
    number = journal.open_job(NOW)
    events = (
        e.TruckNamed("heron"),
        e.Described("hiss", (("wheel-valve-leaks", 0.9),), 0.1),
        e.CardChosen("wheel-valve-leaks"),
        e.RepairProposed("re-make-the-joint-at-the-wheel"),
        e.RepairDone("re-make-the-joint-at-the-wheel"),
        e.ProofEnded(),
        e.CauseNamed("wheel-tap-or-union-weeping"),
    )
    job = journal.record(number, Job(), events, "2026-04-02T08:00:00+00:00")
    ended = e.Recorded(
        "wheel-tap-or-union-weeping",
        "re-make-the-joint-at-the-wheel",
        proved=False,
        helped=False,
        minutes=20.0,
        money=3.0,
    )
    journal.record(number, job, (ended,), "2026-04-03T08:00:00+00:00")
    for truck, told in (("heron", True), ("badger", False)):
        library = KbLibrary(str(kb), str(home), journal, truck)
        talk = Conversation(library, journal, lambda: NOW)
        talk.open()
        talk.hear("parked, system off, air hisses out of the valve at one wheel")
        shown = " ".join(m.text for m in talk.hear("1") if isinstance(m, Say))
        assert ("This truck had that fault before, on" in shown) is told
        assert ("on 2026-04-02 (job 1): Wheel tap or union weeping" in shown) is told
        talk.leave()
    assert [ended.job for ended in journal.history(("heron",))] == [1]
    assert journal.history(("badger", "")) == ()
