"""Readings in the walk: in any order and unit, timed, drawn, overruled."""

from dataclasses import replace

import pytest

from bot.job import events as e
from bot.job.job import Job, Stage
from bot.model.card import Check, Finding, Quantity, Readings, State, Sum
from bot.model.truck import Truck
from bot.talk.aside import lacks
from bot.talk.ask import ask
from bot.talk.figures import figures
from bot.talk.hear import hear
from bot.talk.library import look
from bot.talk.messages import Chart, Say
from bot.talk.show import noted
from tests.fakes import FakeLibrary
from tests.test_talk import feeling, library, reading_check, walk

CHECK = "time-the-fall"
OVER, UNDER = "0.1 bar/min or more", "under 0.1 bar/min"


@pytest.fixture
def held() -> FakeLibrary:
    return library()


@pytest.fixture
def job(held: FakeLibrary) -> Job:
    """At a check: start (bar), wait 10 min, end (bar); the fall per minute."""
    return reading_check(held)


def at(held: FakeLibrary, clock: str) -> FakeLibrary:
    held.moment = f"2026-11-26T{clock}:00+00:00"
    return held


def said(held: FakeLibrary, job: Job, words: str) -> str:
    found = hear(look(job, held), words, held).says
    return " ".join(message.text for message in found if isinstance(message, Say))


def asked(held: FakeLibrary, job: Job) -> str:
    return ask(look(job, held), held).text


def test_first_value_starts_the_wait_and_the_second_ends_it(
    held: FakeLibrary, job: Job
) -> None:
    assert "Type start (bar) and I keep the time, 10 min" in asked(held, job)
    job = walk(at(held, "10:00"), "8.2 bar", job=job)
    assert job.answered(CHECK) is None
    assert "Read end (bar) at 10:10 or later" in asked(held, job)
    assert ask(look(job, held), held).due == "2026-11-26T10:10:00+00:00"
    job = walk(at(held, "10:10"), "6.2", job=job)
    assert job.answered(CHECK) == OVER
    assert job.readings == ()


def test_time_that_really_passed_counts(held: FakeLibrary, job: Job) -> None:
    """A fall of 2 bar is 0.2 bar/min in ten minutes, and 0.05 in forty."""
    job = walk(at(held, "10:00"), "8.2 bar", job=job)
    assert walk(at(held, "10:40"), "6.2", job=job).answered(CHECK) == UNDER


def test_unit_of_the_first_value_serves_the_second(held: FakeLibrary, job: Job) -> None:
    job = walk(at(held, "10:00"), "120 psi", job=job)
    job = walk(at(held, "10:10"), "90", job=job)
    assert job.answered(CHECK) == OVER


def test_value_on_the_way_is_kept_and_drawn(held: FakeLibrary, job: Job) -> None:
    job = walk(at(held, "10:00"), "8.2 bar", job=job)
    job = walk(at(held, "10:04"), "7.4 bar", job=job)
    assert job.answered(CHECK) is None
    assert len(job.taken(CHECK)) == 2
    at(held, "10:10")
    found = hear(look(job, held), "6.2", held)
    (drawn,) = [m for m in found.says if isinstance(m, Chart)]
    assert sum(row.count("*") for row in drawn.lines) == 3
    assert "0 to 10 min" in drawn.lines[-1]
    assert max(map(len, drawn.lines)) <= 38


def test_wait_survives_leaving_and_coming_back(held: FakeLibrary, job: Job) -> None:
    job = walk(at(held, "10:00"), "8.2 bar", "=", job=job)
    assert job.stage is Stage.PAUSED
    job = walk(at(held, "10:20"), "1", job=job)
    assert "at 10:10" in asked(held, job)
    assert walk(held, "5.2", job=job).answered(CHECK) == OVER


def test_clock_that_jumped_back_is_noticed(held: FakeLibrary, job: Job) -> None:
    job = walk(at(held, "10:00"), "8.2 bar", job=job)
    at(held, "09:00")
    assert "clock of this machine went back" in said(held, job, "6.2 bar")
    assert walk(held, "6.2 bar", job=job).answered(CHECK) is None
    job = walk(held, "6.2 bar after 10 min", job=job)
    assert job.answered(CHECK) == OVER


def test_clock_that_jumped_far_ahead_is_said_aloud(held: FakeLibrary, job: Job) -> None:
    job = walk(at(held, "10:00"), "8.2 bar", job=job)
    held.moment = "2026-11-28T10:00:00+00:00"
    assert "a long time" in said(held, job, "6.2 bar")


@pytest.mark.parametrize("clock", ["11:10", "09:10"])
def test_a_clock_that_was_set_does_not_count_where_a_steady_one_ran(
    held: FakeLibrary, job: Job, clock: str
) -> None:
    """One hour forward made a fall of 1 bar in ten minutes look like nothing."""
    held.since = "a-boot 100.0"
    job = walk(at(held, "10:00"), "8.2 bar", job=job)
    at(held, clock).since = "a-boot 700.0"
    shown = said(held, job, "7.0 bar")
    assert "was set, or jumped" in shown
    assert "10 min" in shown
    assert walk(held, "7.0 bar", job=job).answered(CHECK) == OVER


def test_the_steady_clock_agrees_and_nothing_is_said(
    held: FakeLibrary, job: Job
) -> None:
    held.since = "a-boot 100.0"
    job = walk(at(held, "10:00"), "8.2 bar", job=job)
    at(held, "10:10").since = "a-boot 702.5"
    assert "jumped" not in said(held, job, "7.0 bar")


def test_after_another_start_of_the_machine_the_time_is_asked_for(
    held: FakeLibrary, job: Job
) -> None:
    """Nobody knows whether its clock was set meanwhile."""
    held.since = "a-boot 100.0"
    job = walk(at(held, "10:00"), "8.2 bar", job=job)
    at(held, "11:10").since = "b-boot 30.0"
    shown = said(held, job, "7.0 bar")
    assert "started anew" in shown
    assert walk(held, "7.0 bar", job=job).answered(CHECK) is None
    job = walk(held, "7.0 bar after 10 min", job=job)
    assert job.answered(CHECK) == OVER


def test_the_real_clock_is_steady() -> None:
    from bot.store.clock import steady

    mark, _, first = steady().partition(" ")
    again, _, second = steady().partition(" ")
    assert mark == again
    assert float(first) <= float(second)


def test_values_may_come_in_any_order_by_their_names(
    held: FakeLibrary, job: Job
) -> None:
    job = walk(held, "end 6.5 bar, start 8.0", job=job)
    assert job.answered(CHECK) == OVER


def test_near_the_bound_it_is_too_close_to_call(held: FakeLibrary, job: Job) -> None:
    """0.1 bar/min asked; two gauge readings are each off by up to 0.05 bar."""
    words = "8.0 to 7.02 bar"
    assert "too close to call" in said(held, job, words)
    job = walk(held, words, job=job)
    assert job.answered(CHECK) is None
    assert job.guess is not None
    assert walk(held, "yes", job=job).answered(CHECK) == OVER  # the stricter of two


def test_person_overrules_what_was_read(held: FakeLibrary, job: Job) -> None:
    assert "Type < and pick" in said(held, job, "8.0 to 6.5 bar")
    job = walk(held, "8.0 to 6.5 bar", job=job)
    job = walk(held, "<", job=job)
    assert job.answered(CHECK) is None
    assert walk(held, "2", job=job).answered(CHECK) == UNDER


def test_going_back_takes_the_last_value_back(held: FakeLibrary, job: Job) -> None:
    job = walk(held, "8.2 bar", job=job)
    assert len(job.taken(CHECK)) == 1
    assert walk(held, "<", job=job).taken(CHECK) == ()


@pytest.mark.parametrize("words", ["800 bar", "nan bar", "8.2 V", "9**9**9", "-inf"])
def test_nonsense_starts_no_wait(held: FakeLibrary, job: Job, words: str) -> None:
    assert walk(held, words, job=job).taken(CHECK) == ()


def test_saved_value_is_never_renamed() -> None:
    """Journals hold it for ever."""
    event = e.ReadingTaken("a", 8.2, "bar", "2026-11-26T10:00:00+00:00")
    assert event.check == "a"
    assert (event.value, event.unit, event.at[:4]) == (8.2, "bar", "2026")


def feed_sheet(held: FakeLibrary, job: Job) -> None:
    """The check feeds its two values to the worksheet of a leak."""
    card = held.cards[job.card]
    checks = tuple(
        replace(c, readings=replace(c.readings, sum=None, sheet="leak-rate"))
        if c.readings
        else c
        for c in card.checks
    )
    held.cards[card.id] = replace(card, checks=checks)


def test_check_that_feeds_a_worksheet_is_timed_as_well(
    held: FakeLibrary, job: Job
) -> None:
    feed_sheet(held, job)
    job = walk(at(held, "10:00"), "8.2 bar", job=job)
    assert len(job.taken(CHECK)) == 1
    at(held, "10:10")
    assert "2 psi/min" in said(held, job, "6.2 bar")
    assert walk(held, "6.2 bar", job=job).answered(CHECK) == OVER


@pytest.mark.parametrize("words", ["5,5", "start 6 bar", "28v", "end 5.7 bar"])
def test_reading_that_nobody_asked_for_is_no_answer(
    held: FakeLibrary, words: str
) -> None:
    job = feeling(held)
    check = look(job, held).check
    assert check is not None
    assert check.readings is None
    held.meant = {words: (check.findings[0].answer, 0.99)}
    assert "No reading is asked for" in said(held, job, words)
    assert walk(held, words, job=job).answers == job.answers


def test_reading_is_no_yes_to_a_guess(held: FakeLibrary, job: Job) -> None:
    job = walk(held, "8.0 to 7.02 bar", job=job)
    assert job.guess is not None
    assert "No reading is asked for" in said(held, job, "end 5.7")


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        ("9 to 8 in 3 minutes", OVER),
        ("9 and after 12 min 7,2", OVER),
        ("start 9; after an hour 8", UNDER),
        ("9, after half an hour 8.2", UNDER),
        ("start 9 end 6.5 after 10 min", OVER),
        ("lost 2 bar in 10 min", OVER),
        ("it drops 30 psi in ten minutes", OVER),
        ("it fell by 0.2 bar in an hour", UNDER),
        ("it fell from 9 to 6", OVER),
        ("fell to 8 from 9 in 1 min", OVER),
        ("9 to 6.5 in a quarter of an hour", OVER),
        ("9 to 7 in an hour and a half", UNDER),
        ("9 to 8 in two and a half minutes", OVER),
        ("it drops a bar in two minutes", OVER),
        ("3 psi a minute", OVER),
        ("eight bar, six and a half after ten minutes", OVER),
        ("about three and a half bar to three in quarter of an hour", UNDER),
        ("it was nine, now nine after ten mins", UNDER),
        ("it lost 2000 mbar in 10 min", OVER),
        ("it fell by 0.2 MPa in 10 min", OVER),
        ("9 6 in under a minute", OVER),
    ],
)
def test_times_and_losses_are_heard_as_people_say_them(
    held: FakeLibrary, job: Job, words: str, answer: str
) -> None:
    assert walk(held, words, job=job).answered(CHECK) == answer


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("end 8", "Which was start?"),
        ("after 10 min 8", "Which was start?"),
        ("it lost 1 bar", "In what time?"),
        ("it gained 1 bar in 10 min", "other way"),
        ("8 to 9 bar in 10 min", "other way"),
        ("13.8 each", "one value"),
        ("no it was 8.5", "type < first"),
        ("hardly moves", "figures"),
        ("9 to 8 in a few minutes", "How long was that?"),
        ("it lost 2 V in 10 min", "V is none"),
    ],
)
def test_what_is_no_start_starts_no_wait(
    held: FakeLibrary, job: Job, words: str, says: str
) -> None:
    """Each was once taken for a value, by somebody who walked it for the first time."""
    assert says in said(held, job, words)
    after = walk(held, words, job=job)
    assert after.taken(CHECK) == ()
    assert after.answered(CHECK) is None


def test_start_that_is_typed_again_by_its_name_takes_the_place_of_the_first(
    held: FakeLibrary, job: Job
) -> None:
    job = walk(at(held, "10:00"), "9", job=job)
    job = walk(at(held, "10:05"), "start 8.5", job=job)
    (start,) = job.taken(CHECK)
    assert (start.value, start.at[11:16]) == (8.5, "10:05")


def test_fall_that_is_over_the_bound_already_waits_for_nothing(
    held: FakeLibrary, job: Job
) -> None:
    """9 bar, and 5 bar at once: the rest of ten minutes makes it no better."""
    job = walk(at(held, "10:00"), "9", job=job)
    assert walk(at(held, "10:01"), "5", job=job).answered(CHECK) == OVER


@pytest.mark.parametrize("words", ["7 after 20 min", "7,0 (20 min)", "after 20 min 7"])
def test_time_told_with_the_last_value_counts_wherever_it_stands(
    held: FakeLibrary, job: Job, words: str
) -> None:
    job = walk(at(held, "10:00"), "9.2", job=job)
    assert walk(at(held, "10:02"), words, job=job).answered(CHECK) == OVER


def test_time_without_a_value_asks_for_both(held: FakeLibrary, job: Job) -> None:
    job = walk(at(held, "10:00"), "9", job=job)
    assert "together with the time" in said(held, job, "after 20 min")


def test_bare_value_that_fits_no_unit_of_the_first_is_asked_for_its_unit(
    held: FakeLibrary, job: Job
) -> None:
    job = walk(at(held, "10:00"), "900 kPa", job=job)
    at(held, "10:10")
    assert "8.5 of what?" in said(held, job, "8.5")
    assert walk(held, "8.5", job=job).answered(CHECK) is None


def plain_fall(held: FakeLibrary, job: Job) -> None:
    """The check asks for the fall itself, in bar, over ten minutes."""
    card = held.cards[job.card]

    def changed(check: Check) -> Check:
        if check.readings is None:
            return check
        found = tuple(
            replace(f, limit=replace(f.limit, unit="bar")) if f.limit else f
            for f in check.findings
        )
        readings = replace(check.readings, sum=Sum.FALL, unit="bar")
        return replace(check, readings=readings, findings=found)

    held.cards[card.id] = replace(card, checks=tuple(map(changed, card.checks)))


def test_start_with_its_unit_is_no_fall(held: FakeLibrary, job: Job) -> None:
    """90 psi was once taken as a fall of 6.2 bar."""
    plain_fall(held, job)
    job = walk(held, "90 psi", job=job)
    assert job.answered(CHECK) is None
    assert len(job.taken(CHECK)) == 1


def test_plain_fall_after_a_fraction_of_the_wait_is_on_the_way(
    held: FakeLibrary, job: Job
) -> None:
    plain_fall(held, job)
    job = walk(at(held, "10:00"), "6.20 bar", job=job)
    early = walk(held, "6.19 after 2 min", job=job)
    assert early.answered(CHECK) is None
    assert "asks for 10 min" in said(held, reading_check(held), "6.2 6.1 after 2 min")
    late = walk(at(held, "14:00"), "6.0 bar", job=job)
    assert late.answered(CHECK) is None
    assert late.guess is not None


def test_danger_beside_a_reading_is_still_heard(held: FakeLibrary, job: Job) -> None:
    held.raises = {"brakes are gone": "a-rule"}
    job = walk(held, "8.0 to 6.0 bar and the brakes are gone", job=job)
    assert job.stage is Stage.STOPPED


def test_gauge_is_missing_only_where_one_is_asked_for(held: FakeLibrary) -> None:
    assert not lacks(held.line("sorry i have no gauge here"), ("watch",))
    assert (
        lacks(held.line("sorry i have no gauge here"), ("tyre gauge",)) == "tyre gauge"
    )


def test_two_bare_values_after_the_first_are_one_too_many(
    held: FakeLibrary, job: Job
) -> None:
    job = walk(at(held, "10:00"), "9", job=job)
    assert "One value now" in said(held, job, "7-8")
    assert "One value now" in said(held, job, "between 7 and 8")


def test_fall_just_under_the_bound_at_once_is_warned_of(
    held: FakeLibrary, job: Job
) -> None:
    job = walk(at(held, "10:00"), "9", job=job)
    assert "do not drive" in said(held, job, "8.1")
    assert "do not drive" not in said(held, job, "8.95")


def test_leak_test_from_under_the_low_air_mark_is_refused(
    held: FakeLibrary, job: Job
) -> None:
    feed_sheet(held, job)
    for words in ("3 bar", "4 3.9", "start 3 bar end 2.9"):
        assert "do not drive" in said(held, job, words)
        assert walk(held, words, job=job).taken(CHECK) == ()
    full = walk(at(held, "10:00"), "9 bar", job=job)
    assert walk(at(held, "10:10"), "3.5 bar", job=full).answered(CHECK) == OVER


@pytest.mark.parametrize(
    ("words", "tool"),
    [
        ("ive no meter", "meter"),
        ("i left the meter at home", "meter"),
        ("my meter is broken", "meter"),
        ("no soap here", "soapy water"),
        ("no water here", "soapy water"),
        ("no lamp lights up", ""),
    ],
)
def test_missing_tools_are_heard_as_people_say_them(words: str, tool: str) -> None:
    assert lacks(FakeLibrary().line(words), ("meter", "soapy water")) == tool


@pytest.mark.parametrize("words", ["my gauges dont work", "no gauges", "gauge is dead"])
def test_nothing_to_be_read_is_no_finding(held: FakeLibrary, words: str) -> None:
    job = feeling(held)
    check = look(job, held).check
    assert check is not None
    held.meant = {words: (check.findings[-1].answer, 0.99)}
    assert "tells nothing" in said(held, job, words)
    assert walk(held, words, job=job).answers == job.answers


def test_one_of_two_values_is_no_difference(held: FakeLibrary, job: Job) -> None:
    """73 psi on the panel was once taken for a gap of 73 psi."""
    plain_fall(held, job)
    card = held.cards[job.card]
    checks = tuple(
        replace(c, readings=replace(c.readings, wait=None, sum=Sum.DIFFERENCE))
        if c.readings
        else c
        for c in card.checks
    )
    held.cards[card.id] = replace(card, checks=checks)
    assert "Give both" in said(held, job, "73 psi")
    assert walk(held, "73 psi", job=job).answered(CHECK) is None
    assert walk(held, "difference 0.02 bar", job=job).answers != job.answers


def test_values_are_asked_and_bounded_in_the_truck_s_own_units(
    held: FakeLibrary, job: Job
) -> None:
    held.lorry = Truck("Heron", units=("psi",))
    question = ask(look(job, held), held)
    assert "start (psi)" in question.text
    assert question.choices[0].label == "0.1 bar/min or more (1.45 psi/min or more)"
    assert "which is 2 psi/min" in said(held, job, "120 then 100")
    assert walk(held, "120 100", job=job).answered(CHECK) == OVER
    assert walk(held, "8.2 7.8 bar", job=job).answered(CHECK) == UNDER


def test_two_gauges_of_one_moment_are_no_start_and_end(
    held: FakeLibrary, job: Job
) -> None:
    assert "Follow one gauge" in said(held, job, "front 7.8 bar, rear 7.6 bar")


def test_rate_has_no_minus(held: FakeLibrary, job: Job) -> None:
    assert "without minus" in said(held, job, "-5 psi/min")


def test_reading_that_is_taken_back_is_named(held: FakeLibrary, job: Job) -> None:
    job = walk(held, "8.0 to 6.5 bar", job=job)
    before = look(job, held)
    (said,) = noted(e.SteppedBack(), before, held)
    assert isinstance(said, Say)
    assert said.text.startswith(f"Taken back: {OVER}. Go against a reading only if")


VOLTS = Readings((Quantity("voltage of the pair with loads off", "V"),), unit="V")


def single(held: FakeLibrary, job: Job, readings: Readings) -> Job:
    """The same check, asking one value; its bounds become 0.1 of that unit."""
    card = held.cards[job.card]

    def asks(check: Check) -> Check:
        if check.readings is None:
            return check
        found = tuple(
            replace(f, limit=f.limit and replace(f.limit, unit=readings.unit))
            for f in check.findings
        )
        return replace(check, findings=found, readings=readings)

    held.cards[job.card] = replace(card, checks=tuple(map(asks, card.checks)))
    return job


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("-24 V", "without the minus"),
        ("28.1 V with the loads on", "Measure it so"),
        ("front 25 V rear 24 V", "One value is asked for"),
    ],
)
def test_single_value_taken_the_wrong_way_is_asked_again(
    held: FakeLibrary, job: Job, words: str, says: str
) -> None:
    assert says in said(held, single(held, job, VOLTS), words)


def test_rough_value_near_the_bound_takes_the_stricter_answer(
    held: FakeLibrary, job: Job
) -> None:
    gauge = Readings((Quantity("lowest gauge", "bar"),), unit="bar")
    job = single(held, job, gauge)
    assert "too close to call" in said(held, job, "about 0.102 bar")
    assert "too close to call" in said(held, job, "0.101 bar")
    assert "too close" not in said(held, job, "7 bar")


def test_state_that_the_check_needs_is_held_against_the_words(
    held: FakeLibrary, job: Job
) -> None:
    card = held.cards[job.card]
    off = tuple(
        replace(c, needs=replace(c.needs, truck=(State("engine off"),)))
        for c in card.checks
    )
    held.cards[job.card] = replace(card, checks=off)
    assert "engine off. Measure" in said(held, job, "8.2 with the engine running, 8.0")


def test_bare_bar_on_a_truck_in_psi_is_asked_for_its_unit(
    held: FakeLibrary, job: Job
) -> None:
    held.lorry = Truck("Heron", units=("psi",))
    assert "8.2 of what?" in said(held, job, "8.2 7.9")
    assert "start 118" in said(held, job, "112 now, was 118").lower()


def test_number_that_may_be_an_answer_or_a_value_is_read_back(
    held: FakeLibrary, job: Job
) -> None:
    """A reading of 1 V was once taken for the first answer of the list."""
    job = single(held, job, Readings((Quantity("loss", "V"),), unit="V"))
    card = held.cards[job.card]
    wide = tuple(
        replace(c, findings=tuple(map(tenfold, c.findings))) if c.readings else c
        for c in card.checks
    )
    held.cards[job.card] = replace(card, checks=wide)
    assert "I take it as" in asked(held, walk(held, "2", job=job))
    assert walk(held, "1", job=job).answered(CHECK) == OVER


def tenfold(finding: Finding) -> Finding:
    """Its bounds at 1 in place of 0.1."""
    limit = finding.limit
    if limit is None:
        return finding
    low, high = (
        10 * end if end is not None else None for end in (limit.low, limit.high)
    )
    return replace(finding, limit=replace(limit, low=low, high=high))


@pytest.mark.parametrize(
    ("words", "fall"), [("lost half a bar in 10 min", 0.05), ("8.0 to 7.5 bar", 0.05)]
)
def test_half_a_bar_is_half(
    held: FakeLibrary, job: Job, words: str, fall: float
) -> None:
    assert f"{fall:g}" in said(held, job, words)


def test_unit_typed_once_serves_both_of_two_values(held: FakeLibrary, job: Job) -> None:
    assert "Start 120 psi" not in said(held, job, "8.2 bar, end 7.2")
    typed = figures(TWO, held.line("180F other 95"))
    assert [v.unit.symbol for v in typed.values if v.unit] == ["degF", "degF"]


TWO = Readings(
    (Quantity("this hub", "degC"), Quantity("mate across", "degC")),
    None,
    Sum.DIFFERENCE,
    "degC",
)
