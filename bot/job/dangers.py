"""Stop rules: raised, doubted, denied, done as they say."""

from dataclasses import dataclass, replace

from bot.job.event import Decision, Event
from bot.job.job import Job, KeptRule, Stage


@dataclass(frozen=True, slots=True)
class StopRaised(Event):
    """Stop rules hold, raised by words or by a finding.

    `kept` are their ids, titles, verdicts and things to do now, as their pages have
    them.
    """

    rules: tuple[str, ...]
    kept: tuple[tuple[str, str, str, tuple[str, ...]], ...] = ()

    def change(self, job: Job) -> Job:
        """They stand until they are cleared; that they were raised stays known.

        Raised while others stand, they stand beside them.
        """
        stops = (*job.stops, *self.rules)
        passed = tuple(rule for rule in job.passed if rule not in self.rules)
        still = replace(job, stop=(*job.stop, *self.rules), stops=stops, doubt=())
        new = {rule[0]: KeptRule(*rule) for rule in self.kept}
        old = tuple(rule for rule in job.kept if rule.id not in new)
        still = replace(still, passed=passed, kept=(*old, *new.values()))
        if job.stage is Stage.STOPPED:
            return still
        return replace(still, came_from=(*job.came_from, job.stage))


@dataclass(frozen=True, slots=True)
class DangerDoubted(Event):
    """Words may mean these stop rules; the person is asked, one rule at a time."""

    rules: tuple[str, ...]

    def change(self, job: Job) -> Job:
        """The question stands before all others."""
        return replace(job, doubt=self.rules)


@dataclass(frozen=True, slots=True)
class DangerDenied(Decision):
    """The danger that was asked about is not there."""

    def change(self, job: Job) -> Job:
        """It is not asked about again, but raised if it is ever told outright."""
        settled = (*job.settled, *job.doubt[:1])
        return replace(job, doubt=job.doubt[1:], settled=settled)


@dataclass(frozen=True, slots=True)
class StopCleared(Decision):
    """The person has done what the stop rule says and goes on."""

    def change(self, job: Job) -> Job:
        """No rule holds any more."""
        return replace(job, stop=())


@dataclass(frozen=True, slots=True)
class StopDenied(Decision):
    """The person has looked and says that the stop rule does not hold here."""

    def change(self, job: Job) -> Job:
        """It holds no longer, says nothing about driving, and is not raised again."""
        held = tuple(rule for rule in job.stops if rule not in job.stop)
        denied = (*job.denied_stops, *job.stop)
        return replace(job, stop=(), stops=held, denied_stops=denied)
