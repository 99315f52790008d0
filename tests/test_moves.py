"""The state machine: which events may happen where, and what they do.

The allowed moves stand here by hand, apart from the table of the program.
"""

from collections.abc import Sequence

import pytest

from bot.job import events as e
from bot.job.job import Job, Stage, Tried
from bot.job.moves import NEXT_STAGE, WrongStageError, advance, replay
from tests.samples import SAMPLES

S = Stage

PASSING = "part-lost hazards-asked hazard-passed hazard-stands "
DOUBT = "danger-doubted danger-denied " + PASSING
ALLOWED = {
    S.DESCRIBE: DOUBT + "truck-named described stop-raised",
    S.NARROW: DOUBT
    + "described stop-raised help-called card-chosen cards-kept cards-declined "
    "cards-offered-again nothing-fitted fault-hid told paused "
    "stepped-back",
    S.CHECK: DOUBT
    + "card-left card-chosen lead-followed card-turned order-chosen check-proposed "
    "help-proposed repair-proposed "
    "guessed guess-denied found reading-taken step-skipped tool-missing stop-raised "
    "steps-taken-up "
    "help-called watch-proposed fault-hid fault-shows told "
    "paused stepped-back",
    S.REPAIR: DOUBT
    + "card-left fault-hid fault-shows told check-proposed lead-followed guessed "
    "guess-denied found step-skipped order-chosen tool-missing repair-done "
    "measure-taken "
    "stop-raised help-called paused stepped-back",
    S.PROVE: DOUBT
    + "told guessed guess-denied showed-before cycle-clean cycle-not-clean "
    "cycle-better proof-ended proof-put-off stop-raised help-called paused "
    "stepped-back",
    S.RECORD: DOUBT
    + "told cause-named words-kept words-forgotten recorded stop-raised paused "
    "stepped-back",
    S.CLOSED: PASSING + "cause-named words-kept words-forgotten came-back",
    S.PAUSED: "part-lost stop-raised resumed",
    S.STOPPED: "part-lost told stop-raised stop-cleared stop-denied help-called paused "
    "stepped-back",
}

ROADS: dict[Stage, Sequence[str]] = {
    S.DESCRIBE: (),
    S.NARROW: ("described",),
    S.CHECK: ("described", "card-chosen", "check-proposed", "guessed"),
    S.REPAIR: ("described", "card-chosen", "repair-proposed"),
    S.PROVE: ("described", "card-chosen", "repair-proposed", "repair-done"),
    S.RECORD: ("described", "nothing-fitted"),
    S.CLOSED: ("described", "nothing-fitted", "recorded"),
    S.PAUSED: ("described", "paused"),
    S.STOPPED: ("described", "stop-raised"),
}


def at(stage: Stage) -> Job:
    job = replay(SAMPLES[name] for name in ROADS[stage])
    assert job.stage is stage
    return job


@pytest.mark.parametrize("stage", Stage)
@pytest.mark.parametrize("name", SAMPLES)
def test_event_happens_only_where_it_may(stage: Stage, name: str) -> None:
    job = at(stage)
    if name in ALLOWED[stage].split():
        assert advance(job, SAMPLES[name]) is not job
    else:
        with pytest.raises(WrongStageError):
            advance(job, SAMPLES[name])
        assert job == at(stage)


def test_table_holds_no_move_that_is_not_written_here() -> None:
    by_type = {type(event): name for name, event in SAMPLES.items()}
    for stage, kind in NEXT_STAGE:
        assert by_type[kind] in ALLOWED[stage].split(), (stage, kind)


TARGETS = [
    (S.DESCRIBE, "described", S.NARROW),
    (S.NARROW, "card-chosen", S.CHECK),
    (S.NARROW, "nothing-fitted", S.RECORD),
    (S.CHECK, "repair-proposed", S.REPAIR),
    (S.REPAIR, "repair-done", S.PROVE),
    (S.REPAIR, "found", S.CHECK),
    (S.REPAIR, "step-skipped", S.CHECK),
    (S.REPAIR, "tool-missing", S.CHECK),
    (S.REPAIR, "fault-hid", S.CHECK),
    (S.REPAIR, "measure-taken", S.CHECK),
    (S.PROVE, "proof-put-off", S.CHECK),
    (S.REPAIR, "fault-shows", S.CHECK),
    (S.CHECK, "card-left", S.NARROW),
    (S.PROVE, "cycle-clean", S.PROVE),
    (S.PROVE, "cycle-not-clean", S.CHECK),
    (S.PROVE, "proof-ended", S.RECORD),
    (S.RECORD, "recorded", S.CLOSED),
    (S.CHECK, "help-called", S.RECORD),
    (S.STOPPED, "help-called", S.RECORD),
]


@pytest.mark.parametrize(("stage", "name", "target"), TARGETS)
def test_event_leads_where_the_job_goes_on(
    stage: Stage, name: str, target: Stage
) -> None:
    assert advance(at(stage), SAMPLES[name]).stage is target


@pytest.mark.parametrize(
    "stage", [S.NARROW, S.CHECK, S.REPAIR, S.PROVE, S.RECORD, S.STOPPED]
)
def test_pause_comes_back_to_the_same_stage(stage: Stage) -> None:
    job = at(stage)
    paused = advance(job, e.Paused())
    assert advance(paused, e.Resumed()) == job


@pytest.mark.parametrize("stage", [S.NARROW, S.CHECK, S.REPAIR, S.PROVE, S.RECORD])
def test_stop_comes_back_to_the_same_stage_even_over_a_pause(stage: Stage) -> None:
    job = at(stage)
    stopped = advance(job, e.StopRaised(("x",)))
    over = advance(advance(stopped, e.Paused()), e.Resumed())
    assert over == stopped
    assert advance(over, e.StopCleared()).stage is stage
    assert advance(over, e.StopCleared()).stops == ("x",)


DECISIONS = [
    (S.CHECK, "found"),
    (S.CHECK, "step-skipped"),
    (S.CHECK, "tool-missing"),
    (S.CHECK, "reading-taken"),
    (S.CHECK, "order-chosen"),
    (S.NARROW, "card-chosen"),
    (S.REPAIR, "repair-done"),
    (S.PROVE, "showed-before"),
    (S.PROVE, "cycle-clean"),
    (S.PROVE, "cycle-not-clean"),
    (S.RECORD, "cause-named"),
]


@pytest.mark.parametrize(("stage", "name"), DECISIONS)
def test_going_back_undoes_the_last_answer_whole(stage: Stage, name: str) -> None:
    job = at(stage)
    after = advance(job, SAMPLES[name])
    assert advance(after, e.SteppedBack()) == job


def test_going_back_twice_goes_back_two_answers() -> None:
    job = at(S.CHECK)
    one = advance(job, e.Found("a-check", "Yes"))
    two = advance(one, e.Found("b-check", "No"))
    assert advance(advance(two, e.SteppedBack()), e.SteppedBack()) == job


def test_nothing_to_go_back_to_is_refused() -> None:
    with pytest.raises(WrongStageError):
        advance(Job(stage=S.NARROW), e.SteppedBack())


def test_later_answer_to_a_check_replaces_the_first() -> None:
    job = advance(advance(at(S.CHECK), e.Found("c", "Yes")), e.Found("c", "No"))
    assert job.answered("c") == "No"
    assert len(job.answers) == 1


def test_another_card_starts_without_answers() -> None:
    job = advance(at(S.CHECK), e.Found("a-check", "Yes"))
    assert advance(job, e.CardChosen("b-card")).answers == ()


def test_fault_that_comes_back_in_the_proof_marks_the_repair_as_failed() -> None:
    job = advance(at(S.PROVE), e.CycleNotClean())
    assert job.failed == (Tried("a-card", "a-repair"),)
    assert job.repair == ""
