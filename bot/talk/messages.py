"""What the program says, as typed values: every window shows the same ones its own way.

The order of a tuple of messages is the order to show them in; an `Ask` is always last.
"""

from dataclasses import dataclass
from enum import Enum

from bot.job.events import Event
from bot.model.card import Block, Caution, Drive, Needs, Prose, Readings
from bot.model.rule import StopRule


class Aside(Enum):
    """What a person may ask for that is no step of the job."""

    WHY = "why"
    SUSPECTS = "suspects"
    KEYS = "keys"


@dataclass(frozen=True, slots=True)
class PageAsked:
    """A procedure to be shown, after which the same question stands."""

    page: str


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer on offer: its key, its words, what it does, and other ways to say it.

    `act` is the event it stands for, or the aside or page it asks for.
    """

    key: str
    label: str
    act: Event | Aside | PageAsked
    said: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Say:
    """Plain words."""

    text: str


@dataclass(frozen=True, slots=True)
class Chart:
    """Values against time, lines to be shown as they are."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tell:
    """Prose of a card, in Markdown."""

    prose: Prose


@dataclass(frozen=True, slots=True)
class NotSaved:
    """What was said is not on the disk: it counts here, and may be lost."""

    text: str


@dataclass(frozen=True, slots=True)
class Warn:
    """A caution that guards what comes next."""

    caution: Caution


@dataclass(frozen=True, slots=True)
class Stop:
    """A stop rule that holds: what to do now, before everything else.

    `whole`: with when to call for help and who decides, which is given on request.
    """

    rule: StopRule
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Candidate:
    """A page that may fit, how sure, and why; `look` tells it from its look-alikes.

    A procedure is shown when it is picked; a card is worked by. `standing` is how it
    stands with the club, where that is not the same for all that are on offer.
    """

    card: str
    title: str
    probability: float
    why: tuple[str, ...] = ()
    look: str = ""
    is_procedure: bool = False
    standing: str = ""


@dataclass(frozen=True, slots=True)
class Candidates:
    """The cards that may fit, best first; `none` is the chance that no card does."""

    cards: tuple[Candidate, ...]
    none: float
    fits: bool


@dataclass(frozen=True, slots=True)
class Suspicions:
    """The causes with their chances, likeliest first, and the drive verdict now.

    `hazards` are what is open; `unproved` the repair that is made and not proved yet.
    """

    card: str
    causes: tuple[tuple[str, float], ...]
    none: float
    drive: Drive
    hazards: tuple[str, ...] = ()
    unproved: str = ""


@dataclass(frozen=True, slots=True)
class ShowStep:
    """A check, a repair or the proof: what it takes and what to do, cautions in place.

    `kind` is "Check", "Repair" or "Proof"; `note` says what it will tell or cost;
    `standing` how its page stands with the club.
    """

    kind: str
    title: str
    needs: Needs
    body: tuple[Block, ...]
    readings: Readings | None = None
    note: str = ""
    standing: str = ""

    @property
    def called(self) -> str:
        """The kind, and how the page stands."""
        return f"{self.kind} ({self.standing})" if self.standing else self.kind


@dataclass(frozen=True, slots=True)
class Ask:
    """The question on the table. `choices` have digits for keys, `more` have marks.

    `numbers`: a number may be typed as well, so that a digit is not yet an answer.
    `due`: the moment, ISO 8601, that the person has to wait for; "" for none.
    """

    text: str
    choices: tuple[Choice, ...] = ()
    more: tuple[Choice, ...] = ()
    numbers: bool = False
    due: str = ""


@dataclass(frozen=True, slots=True)
class Done:
    """The job is closed."""

    text: str


Message = (
    Say
    | Chart
    | Tell
    | NotSaved
    | Warn
    | Stop
    | Candidates
    | Suspicions
    | ShowStep
    | Ask
    | Done
)
