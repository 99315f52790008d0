"""The events from a made repair to the closed job, and after it."""

from dataclasses import dataclass, replace

from bot.job.event import Decision, Event
from bot.job.job import Job, Outcome, Tried


@dataclass(frozen=True, slots=True)
class ShowedBefore(Decision):
    """How often the fault showed before the repair: `times` in `cycles` tries."""

    times: int
    cycles: int

    def change(self, job: Job) -> Job:
        """It decides how many clean cycles are enough."""
        return replace(job, showed=(self.times, self.cycles))


@dataclass(frozen=True, slots=True)
class CycleClean(Decision):
    """So many cycles of the proof without the fault."""

    cycles: int = 1

    def change(self, job: Job) -> Job:
        """As many more towards enough."""
        return replace(job, clean=job.clean + self.cycles, guess=None)


@dataclass(frozen=True, slots=True)
class CycleNotClean(Decision):
    """The fault showed again: the repair did not cure it."""

    def change(self, job: Job) -> Job:
        """The repair has failed; the search goes on."""
        failed = (*job.failed, Tried(job.card, job.repair))
        return replace(job, failed=failed, repair="", clean=0, guess=None)


@dataclass(frozen=True, slots=True)
class CycleBetter(Decision):
    """It is better but not gone: one fault is mended, another is left."""

    def change(self, job: Job) -> Job:
        """The search goes on for the second."""
        mended = (*job.mended, Tried(job.card, job.repair))
        return replace(job, mended=mended, repair="", clean=0, guess=None)


@dataclass(frozen=True, slots=True)
class ProofEnded(Event):
    """Enough cycles, or enough for the person."""

    def change(self, job: Job) -> Job:
        """A trial that was read back and not confirmed does not count."""
        return replace(job, guess=None)


@dataclass(frozen=True, slots=True)
class CauseNamed(Decision):
    """What it was in the end; empty for none of the card's causes, or `NOT_KNOWN`."""

    cause: str

    def change(self, job: Job) -> Job:
        """The person's word, whatever was believed, or written down before."""
        outcome = job.outcome and replace(job.outcome, cause=self.cause)
        return replace(job, named=self.cause, outcome=outcome)


@dataclass(frozen=True, slots=True)
class WordsKept(Decision):
    """The person lets the words of this job help to find its page from now on."""

    def change(self, job: Job) -> Job:
        """By the person's leave alone, which may be taken back."""
        return replace(job, keeps_words=True)


@dataclass(frozen=True, slots=True)
class WordsForgotten(Decision):
    """The words of this job help to find nothing, or no longer."""

    def change(self, job: Job) -> Job:
        """They stay what was said in the job."""
        return replace(job, keeps_words=False)


@dataclass(frozen=True, slots=True)
class CameBack(Decision):
    """The fault showed again after the job was closed: it was not cured."""

    def change(self, job: Job) -> Job:
        """The repair has failed; the search goes on from what was found."""
        failed = (
            (*job.failed, Tried(job.card, job.repair)) if job.repair else job.failed
        )
        still = replace(job, failed=failed, repair="", clean=0, step=None)
        still = replace(still, checked=False)
        still = replace(still, named=None, outcome=None, helped=False)
        return replace(still, keeps_words=False)


@dataclass(frozen=True, slots=True)
class Recorded(Event):
    """The job is closed with its outcome."""

    cause: str
    repair: str
    proved: bool
    helped: bool
    minutes: float
    money: float
    sure: float = 0.0

    def change(self, job: Job) -> Job:
        """The outcome, for the record and for learning."""
        outcome = Outcome(
            self.cause,
            self.repair,
            self.proved,
            self.helped,
            self.minutes,
            self.money,
            self.sure,
        )
        return replace(job, outcome=outcome, step=None)
