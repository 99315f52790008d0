"""Whether the fault shows just now, and words kept for the checks to come."""

from dataclasses import dataclass, replace

from bot.job.event import Decision, Event
from bot.job.job import Job


@dataclass(frozen=True, slots=True)
class FaultHid(Decision):
    """The fault does not show just now, which is no finding."""

    def change(self, job: Job) -> Job:
        """What needs it to show waits; another step is chosen."""
        return replace(job, shows=False, step=None, guess=None)


@dataclass(frozen=True, slots=True)
class FaultShows(Decision):
    """The fault shows just now."""

    def change(self, job: Job) -> Job:
        """What waited for it can be done, and first of all."""
        return replace(job, shows=True, step=None)


@dataclass(frozen=True, slots=True)
class Told(Event):
    """Words that were said beside an answer and not used."""

    words: str

    def change(self, job: Job) -> Job:
        """They are offered to every check that is asked later."""
        return replace(job, told=(*job.told, self.words))
