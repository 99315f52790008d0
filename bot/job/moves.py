"""The moves of a job: one table, and the one function that applies it.

All that changes a job's stage stands in `NEXT_STAGE`. A move that is not in the table
is refused and leaves the job as it was. `Back` marks the moves that return to the stage
a pause or a stop came from; going back takes the stage of the job it returns to.
"""

from collections.abc import Iterable
from dataclasses import replace
from enum import Enum
from functools import reduce

from bot.job import events as e
from bot.job.job import Job, Stage
from bot.model.place import BotError


class WrongStageError(BotError):
    """An event at a stage where it cannot happen."""


class Back(Enum):
    """Targets that are no fixed stage."""

    CAME_FROM = "the stage that the pause or stop came from"
    EARLIER = "the stage of the earlier job"


_PASSING = (e.HazardsAsked, e.HazardPassed, e.HazardStands)
_WORKING = (Stage.NARROW, Stage.CHECK, Stage.REPAIR, Stage.PROVE, Stage.RECORD)

NEXT_STAGE: dict[tuple[Stage, type[e.Event]], Stage | Back] = {
    (Stage.DESCRIBE, e.TruckNamed): Stage.DESCRIBE,
    (Stage.DESCRIBE, e.Described): Stage.NARROW,
    (Stage.NARROW, e.Described): Stage.NARROW,
    (Stage.NARROW, e.CardChosen): Stage.CHECK,
    (Stage.NARROW, e.CardsKept): Stage.CHECK,
    (Stage.NARROW, e.CardsDeclined): Stage.NARROW,
    (Stage.NARROW, e.CardsOfferedAgain): Stage.NARROW,
    (Stage.NARROW, e.NothingFitted): Stage.RECORD,
    (Stage.CHECK, e.CardChosen): Stage.CHECK,
    (Stage.CHECK, e.LeadFollowed): Stage.CHECK,
    (Stage.CHECK, e.CardTurned): Stage.CHECK,
    (Stage.CHECK, e.CardLeft): Stage.NARROW,
    (Stage.REPAIR, e.CardLeft): Stage.NARROW,
    (Stage.CHECK, e.OrderChosen): Stage.CHECK,
    (Stage.CHECK, e.CheckProposed): Stage.CHECK,
    (Stage.CHECK, e.HelpProposed): Stage.CHECK,
    (Stage.CHECK, e.WatchProposed): Stage.CHECK,
    (Stage.NARROW, e.FaultHid): Stage.NARROW,
    (Stage.CHECK, e.FaultHid): Stage.CHECK,
    (Stage.CHECK, e.FaultShows): Stage.CHECK,
    (Stage.REPAIR, e.FaultHid): Stage.CHECK,
    (Stage.REPAIR, e.FaultShows): Stage.CHECK,
    (Stage.CHECK, e.RepairProposed): Stage.REPAIR,
    (Stage.CHECK, e.Guessed): Stage.CHECK,
    (Stage.CHECK, e.GuessDenied): Stage.CHECK,
    (Stage.CHECK, e.Found): Stage.CHECK,
    (Stage.CHECK, e.ReadingTaken): Stage.CHECK,
    (Stage.CHECK, e.StepSkipped): Stage.CHECK,
    (Stage.CHECK, e.StepsTakenUp): Stage.CHECK,
    (Stage.CHECK, e.ToolMissing): Stage.CHECK,
    (Stage.REPAIR, e.CheckProposed): Stage.CHECK,
    (Stage.REPAIR, e.LeadFollowed): Stage.CHECK,
    (Stage.REPAIR, e.Guessed): Stage.REPAIR,
    (Stage.REPAIR, e.GuessDenied): Stage.REPAIR,
    (Stage.REPAIR, e.Found): Stage.CHECK,
    (Stage.REPAIR, e.StepSkipped): Stage.CHECK,
    (Stage.REPAIR, e.ToolMissing): Stage.CHECK,
    (Stage.REPAIR, e.OrderChosen): Stage.CHECK,
    (Stage.REPAIR, e.RepairDone): Stage.PROVE,
    (Stage.PROVE, e.ShowedBefore): Stage.PROVE,
    (Stage.PROVE, e.Guessed): Stage.PROVE,
    (Stage.PROVE, e.GuessDenied): Stage.PROVE,
    (Stage.PROVE, e.CycleClean): Stage.PROVE,
    (Stage.REPAIR, e.MeasureTaken): Stage.CHECK,
    (Stage.PROVE, e.ProofPutOff): Stage.CHECK,
    (Stage.PROVE, e.CycleNotClean): Stage.CHECK,
    (Stage.PROVE, e.CycleBetter): Stage.CHECK,
    (Stage.PROVE, e.ProofEnded): Stage.RECORD,
    (Stage.RECORD, e.CauseNamed): Stage.RECORD,
    (Stage.RECORD, e.WordsKept): Stage.RECORD,
    (Stage.RECORD, e.WordsForgotten): Stage.RECORD,
    (Stage.RECORD, e.Recorded): Stage.CLOSED,
    (Stage.CLOSED, e.CauseNamed): Stage.CLOSED,
    (Stage.CLOSED, e.WordsKept): Stage.CLOSED,
    (Stage.CLOSED, e.WordsForgotten): Stage.CLOSED,
    (Stage.CLOSED, e.CameBack): Stage.CHECK,
    (Stage.STOPPED, e.StopCleared): Back.CAME_FROM,
    (Stage.STOPPED, e.StopDenied): Back.CAME_FROM,
    (Stage.STOPPED, e.HelpCalled): Stage.RECORD,
    (Stage.PAUSED, e.Resumed): Back.CAME_FROM,
    (Stage.STOPPED, e.StopRaised): Stage.STOPPED,
    (Stage.PAUSED, e.StopRaised): Stage.STOPPED,
    **{(stage, e.StopRaised): Stage.STOPPED for stage in (Stage.DESCRIBE, *_WORKING)},
    **{(stage, e.DangerDoubted): stage for stage in (Stage.DESCRIBE, *_WORKING)},
    **{(stage, e.DangerDenied): stage for stage in (Stage.DESCRIBE, *_WORKING)},
    **{
        (stage, event): stage
        for stage in (Stage.DESCRIBE, *_WORKING, Stage.CLOSED)
        for event in _PASSING
    },
    **{(stage, e.PartLost): stage for stage in Stage},
    **{(stage, e.Told): stage for stage in (*_WORKING, Stage.STOPPED)},
    **{(stage, e.HelpCalled): Stage.RECORD for stage in _WORKING[:-1]},
    **{(stage, e.SteppedBack): Back.EARLIER for stage in (*_WORKING, Stage.STOPPED)},
    **{(stage, e.Paused): Stage.PAUSED for stage in (*_WORKING, Stage.STOPPED)},
}
"""Where each event leads from each stage; what is not here cannot happen."""


def advance(job: Job, event: e.Event) -> Job:
    """The job after an event; the job passed in is never changed.

    Raises:
        WrongStageError: the event cannot happen at the job's stage.
    """
    target = NEXT_STAGE.get((job.stage, type(event)))
    if target is None or (target is Back.EARLIER and job.earlier is None):
        raise WrongStageError(f"{type(event).__name__} cannot happen in {job.stage}")
    after = event.change(job)
    if isinstance(event, e.Decision):
        after = replace(after, earlier=job)
    if target is Back.EARLIER:
        return after
    if target is Back.CAME_FROM:
        *outer, inner = job.came_from
        return replace(after, stage=inner, came_from=tuple(outer))
    return replace(after, stage=target)


def replay(events: Iterable[e.Event]) -> Job:
    """The job that these events made: how a saved job is opened again."""
    return reduce(advance, events, Job())
