"""What can happen to a job. Each event says what it changes; the moves say where to.

Fields are plain texts, numbers and tuples of them, so that a journal keeps them for
ever. An event once saved is never renamed and never means anything else.
"""

from dataclasses import dataclass, replace

from bot.job.dangers import DangerDenied as DangerDenied
from bot.job.dangers import DangerDoubted as DangerDoubted
from bot.job.dangers import StopCleared as StopCleared
from bot.job.dangers import StopDenied as StopDenied
from bot.job.dangers import StopRaised as StopRaised
from bot.job.endings import (
    CameBack as CameBack,
)
from bot.job.endings import (
    CauseNamed as CauseNamed,
)
from bot.job.endings import (
    CycleBetter as CycleBetter,
)
from bot.job.endings import (
    CycleClean as CycleClean,
)
from bot.job.endings import (
    CycleNotClean as CycleNotClean,
)
from bot.job.endings import (
    ProofEnded as ProofEnded,
)
from bot.job.endings import (
    Recorded as Recorded,
)
from bot.job.endings import (
    ShowedBefore as ShowedBefore,
)
from bot.job.endings import (
    WordsForgotten as WordsForgotten,
)
from bot.job.endings import (
    WordsKept as WordsKept,
)
from bot.job.event import Decision as Decision
from bot.job.event import Event as Event
from bot.job.hazards import HazardPassed as HazardPassed
from bot.job.hazards import HazardsAsked as HazardsAsked
from bot.job.hazards import HazardStands as HazardStands
from bot.job.hazards import MeasureTaken as MeasureTaken
from bot.job.hazards import PartLost as PartLost
from bot.job.hazards import ProofPutOff as ProofPutOff
from bot.job.job import Answer, Job, Skip, Skipped, Step, StepKind, Taken
from bot.job.showing import FaultHid as FaultHid
from bot.job.showing import FaultShows as FaultShows
from bot.job.showing import Told as Told


@dataclass(frozen=True, slots=True)
class TruckNamed(Event):
    """The truck that the job is about, by the id of its note."""

    truck: str

    def change(self, job: Job) -> Job:
        """It is the job's from the start on."""
        return replace(job, truck=self.truck)


@dataclass(frozen=True, slots=True)
class Described(Decision):
    """The person said what is wrong; the cards that may fit, (id, probability)."""

    words: str
    candidates: tuple[tuple[str, float], ...]
    none: float

    def change(self, job: Job) -> Job:
        """Words add up; the candidates are those of all words together."""
        words = (*job.words, self.words)
        return replace(job, words=words, candidates=self.candidates, none=self.none)


@dataclass(frozen=True, slots=True)
class HelpCalled(Decision):
    """The person gives the work up to somebody else."""

    def change(self, job: Job) -> Job:
        """The rest of the job is to write down what was seen."""
        still = replace(job, stop=(), came_from=())
        return replace(still, helped=True, step=None, guess=None)


@dataclass(frozen=True, slots=True)
class CardChosen(Decision):
    """This card it is; work begins on it from scratch."""

    card: str

    def change(self, job: Job) -> Job:
        """Answers belong to a card: another card starts with none."""
        fresh = replace(job, card=self.card, step=None, guess=None, repair="")
        bare = replace(fresh, answers=(), skipped=(), failed=(), mended=(), denied=())
        return replace(bare, picked=self.card, proposed=(), readings=())


@dataclass(frozen=True, slots=True)
class CardsKept(Decision):
    """The person cannot say which of these cards it is: checks are to tell."""

    cards: tuple[str, ...]

    def change(self, job: Job) -> Job:
        """Work begins on the first, with the others in play."""
        return replace(job, card=self.cards[0], picked="")


@dataclass(frozen=True, slots=True)
class LeadFollowed(Decision):
    """The person follows a finding to another card; what was found stays known."""

    card: str

    def change(self, job: Job) -> Job:
        """That card is the likeliest now."""
        return replace(job, card=self.card, picked=self.card, step=None, guess=None)


@dataclass(frozen=True, slots=True)
class CardLeft(Decision):
    """It is not this card after all; others are offered."""

    def change(self, job: Job) -> Job:
        """What was found stays known; the card is not offered again in this job."""
        left = replace(job, declined=(*job.declined, job.card), card="", picked="")
        return replace(left, step=None, guess=None)


@dataclass(frozen=True, slots=True)
class CardTurned(Event):
    """The next step stands on another card that is in play."""

    card: str

    def change(self, job: Job) -> Job:
        """What was found stays known."""
        return replace(job, card=self.card, step=None, guess=None)


@dataclass(frozen=True, slots=True)
class CardsDeclined(Decision):
    """It is none of these cards; others are offered, and more words asked for."""

    cards: tuple[str, ...]

    def change(self, job: Job) -> Job:
        """A declined card is not offered again in this job."""
        return replace(job, declined=(*job.declined, *self.cards))


@dataclass(frozen=True, slots=True)
class CardsOfferedAgain(Event):
    """New words speak for cards that were declined: they are offered once more."""

    cards: tuple[str, ...]

    def change(self, job: Job) -> Job:
        """They are declined no longer."""
        left = tuple(card for card in job.declined if card not in self.cards)
        return replace(job, declined=left)


@dataclass(frozen=True, slots=True)
class NothingFitted(Decision):
    """No card fits; what was seen is written down."""


@dataclass(frozen=True, slots=True)
class OrderChosen(Decision):
    """Checks come in the card's own order, or in the order that is worth most."""

    as_written: bool

    def change(self, job: Job) -> Job:
        """The step on the table is chosen afresh."""
        return replace(job, as_written=self.as_written, step=None)


@dataclass(frozen=True, slots=True)
class CheckProposed(Event):
    """This check is on the table."""

    check: str

    def change(self, job: Job) -> Job:
        """The step on the table; a hazard that was to be closed first has its turn."""
        return _proposed(replace(job, closing=""), Step(StepKind.CHECK, self.check))


@dataclass(frozen=True, slots=True)
class RepairProposed(Event):
    """This repair is on the table."""

    repair: str

    def change(self, job: Job) -> Job:
        """The step on the table; a hazard that was to be closed first has its turn."""
        return _proposed(replace(job, closing=""), Step(StepKind.REPAIR, self.repair))


@dataclass(frozen=True, slots=True)
class HelpProposed(Event):
    """Nothing left is worth its cost: calling for help is on the table."""

    def change(self, job: Job) -> Job:
        """The step on the table."""
        return _proposed(job, Step(StepKind.HELP, ""))


@dataclass(frozen=True, slots=True)
class WatchProposed(Event):
    """What is left to check needs the fault to show, and it does not."""

    def change(self, job: Job) -> Job:
        """The step on the table."""
        return _proposed(job, Step(StepKind.WATCH, ""))


@dataclass(frozen=True, slots=True)
class Guessed(Event):
    """The words may mean this finding; the person is asked yes or no."""

    check: str
    answer: str
    words: str
    why: tuple[str, ...] = ()

    def change(self, job: Job) -> Job:
        """The question on the table."""
        guess = Answer(self.check, self.answer, self.words, why=self.why)
        return replace(job, guess=guess)


@dataclass(frozen=True, slots=True)
class GuessDenied(Event):
    """That finding was not meant."""

    def change(self, job: Job) -> Job:
        """It is not asked again of the same check."""
        if job.guess is None:
            return job
        denied = (*job.denied, (job.guess.check, job.guess.answer))
        return replace(job, guess=None, denied=denied)


@dataclass(frozen=True, slots=True)
class Found(Decision):
    """A check was answered; a later answer to the same check replaces the first."""

    check: str
    answer: str
    words: str = ""
    why: tuple[str, ...] = ()
    drive: str = ""

    def change(self, job: Job) -> Job:
        """The finding counts from now on."""
        why, drive = self.why, self.drive
        new = Answer(self.check, self.answer, self.words, job.card, why, drive)
        same = (new.card, new.check)
        others = (a for a in job.answers if (a.card, a.check) != same)
        answers = (*others, new)
        left = tuple(r for r in job.readings if (r.card, r.check) != same)
        step = None if job.step and job.step.id == self.check else job.step
        job = replace(job, history=(*job.history, new))
        return replace(job, answers=answers, readings=left, step=step, guess=None)


@dataclass(frozen=True, slots=True)
class ReadingTaken(Decision):
    """A value was read off, on the way to what a check asks; `at` is ISO 8601.

    With `again` it takes the place of all values taken for that check before.
    """

    check: str
    value: float
    unit: str
    at: str
    again: bool = False
    steady: str = ""

    def change(self, job: Job) -> Job:
        """The check stays on the table until the last value is in."""
        new = Taken(self.check, self.value, self.unit, self.at, job.card, self.steady)
        kept = [r for r in job.readings if not (self.again and r.check == self.check)]
        return replace(job, readings=(*kept, new), guess=None)


@dataclass(frozen=True, slots=True)
class StepSkipped(Decision):
    """A check or repair was passed over: could not tell, not possible here, put off."""

    step: str
    why: str

    def change(self, job: Job) -> Job:
        """Nothing is believed for it; another step is chosen."""
        skipped = (*job.skipped, Skipped(self.step, Skip(self.why), job.card))
        return replace(job, skipped=skipped, step=None, guess=None)


@dataclass(frozen=True, slots=True)
class ToolMissing(Decision):
    """A step cannot be done here, for want of a tool; nor can others that need it."""

    step: str
    tool: str

    def change(self, job: Job) -> Job:
        """The step is passed over; the tool stays missing for the whole job."""
        skipped = (*job.skipped, Skipped(self.step, Skip.NOT_POSSIBLE, job.card))
        still = replace(job, skipped=skipped, step=None, guess=None)
        return replace(still, lacking=(*job.lacking, self.tool))


@dataclass(frozen=True, slots=True)
class StepsTakenUp(Decision):
    """What was passed over may be done after all: a tool was found, the rain ended."""

    def change(self, job: Job) -> Job:
        """Nothing is left out any longer, and nothing is missing."""
        return replace(job, skipped=(), lacking=(), step=None, guess=None)


@dataclass(frozen=True, slots=True)
class RepairDone(Decision):
    """A repair was made; whether it cured is for the proof to say."""

    repair: str

    def change(self, job: Job) -> Job:
        """The proof starts at no clean cycles, and nobody has checked the work."""
        made = replace(job, repair=self.repair, step=None, clean=0, guess=None)
        return replace(made, before_repair=len(job.history), checked=False, closing="")


@dataclass(frozen=True, slots=True)
class Paused(Event):
    """The person leaves, for a minute or a year."""

    def change(self, job: Job) -> Job:
        """The stage to come back to is kept."""
        return replace(job, came_from=(*job.came_from, job.stage))


@dataclass(frozen=True, slots=True)
class Resumed(Event):
    """The person is back."""


@dataclass(frozen=True, slots=True)
class SteppedBack(Event):
    """The person takes the last answer back."""

    def change(self, job: Job) -> Job:
        """Everything is as it was before that answer."""
        return job.earlier or job


def _proposed(job: Job, step: Step) -> Job:
    proposed = (*job.proposed, job.card)
    return replace(job, step=step, guess=None, proposed=proposed)
