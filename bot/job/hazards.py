"""What closes hazards beside findings and proved repairs, and what waits for them."""

from dataclasses import dataclass, replace

from bot.job.event import Decision, Event
from bot.job.job import Job, Tried

ENTITLED = "entitled"
"""The hazard of work on brakes, steering, wheels or air that nobody entitled has
checked yet; no stop rule can have that id."""


PART_LOST = "part-lost"
"""The hazard of a job some of whose answers the disk has lost; it is kept among the
stop rules, and no stop rule can have that id."""


@dataclass(frozen=True, slots=True)
class PartLost(Event):
    """Some lines of this job are lost: what they said is not known."""

    lines: int

    def change(self, job: Job) -> Job:
        """The truck is held until somebody entitled has looked it through."""
        passed = tuple(rule for rule in job.passed if rule != PART_LOST)
        stops = tuple(dict.fromkeys((*job.stops, PART_LOST)))
        return replace(job, stops=stops, passed=passed)


@dataclass(frozen=True, slots=True)
class HazardsAsked(Event):
    """Has somebody who may decide it passed these? One is asked about at a time."""

    hazards: tuple[str, ...]

    def change(self, job: Job) -> Job:
        """The question stands before all others but those about a danger."""
        return replace(job, passing=self.hazards)


@dataclass(frozen=True, slots=True)
class HazardPassed(Decision):
    """The hazard that was asked about: one who may decide it has looked, and passed."""

    def change(self, job: Job) -> Job:
        """A stop rule holds down nothing any more; the work counts as checked."""
        now = job.passing[:1]
        left = replace(job, passing=job.passing[1:])
        if now == (ENTITLED,):
            return replace(left, checked=True)
        stops = tuple(rule for rule in job.stops if rule not in now)
        return replace(left, stops=stops, passed=(*job.passed, *now))


@dataclass(frozen=True, slots=True)
class HazardStands(Event):
    """Nobody who may decide it has passed it."""

    def change(self, job: Job) -> Job:
        """It stays as it is, and the next one is asked about."""
        return replace(job, passing=job.passing[1:])


@dataclass(frozen=True, slots=True)
class MeasureTaken(Decision):
    """A get-home measure was taken: it cures nothing, and the job stays open."""

    repair: str

    def change(self, job: Job) -> Job:
        """It is not proposed again; the search for the cure goes on."""
        measure = Tried(job.card, self.repair)
        taken = replace(job, measure=measure, before_measure=len(job.history))
        return replace(taken, step=None, guess=None)


@dataclass(frozen=True, slots=True)
class ProofPutOff(Decision):
    """No trial yet: this open hazard is to be closed first."""

    hazard: str

    def change(self, job: Job) -> Job:
        """The repair is made again, or told as made, once the hazard is closed."""
        still = replace(job, repair="", clean=0, step=None, guess=None)
        return replace(still, closing=self.hazard, before_repair=0)
