"""A job as it stands: what was said, found, tried and proved so far.

Values only. It holds names of cards, checks and findings, never the cards themselves:
a job outlives every revision of a card.
"""

from dataclasses import dataclass, field
from enum import Enum


class Stage(Enum):
    """Where a job stands."""

    DESCRIBE = "describe"
    NARROW = "narrow"
    CHECK = "check"
    REPAIR = "repair"
    PROVE = "prove"
    RECORD = "record"
    CLOSED = "closed"
    PAUSED = "paused"
    STOPPED = "stopped"


NOT_KNOWN = "?"
"""The cause of a job that ended before it was known; no cause can have that id."""


class StepKind(Enum):
    """What a proposed step is."""

    CHECK = "check"
    REPAIR = "repair"
    HELP = "help"
    WATCH = "watch"


class Skip(Enum):
    """Why a step was passed over."""

    COULD_NOT_TELL = "could not tell"
    NOT_POSSIBLE = "not possible here"
    PUT_OFF = "put off"


@dataclass(frozen=True, slots=True)
class Step:
    """The step on the table; `id` is a check's or a repair's, else empty."""

    kind: StepKind
    id: str


@dataclass(frozen=True, slots=True)
class Answer:
    """A finding that counts, the person's own words if they typed any, whose check.

    `why` is what in the words spoke for it; `drive` the verdict that its page gave it,
    in words, for the page may be gone one day.
    """

    check: str
    answer: str
    words: str = ""
    card: str = ""
    why: tuple[str, ...] = ()
    drive: str = ""


@dataclass(frozen=True, slots=True)
class KeptRule:
    """A stop rule as it was when it was raised, for its page may be gone one day.

    `drive` is its verdict and `do_now` what to do at once, in words.
    """

    id: str
    title: str
    drive: str
    do_now: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Taken:
    """A value read off for a check of a card, and the moment, ISO 8601.

    `steady` is the same moment by a clock that nobody can set; "" where there was none.
    """

    check: str
    value: float
    unit: str
    at: str
    card: str = ""
    steady: str = ""


@dataclass(frozen=True, slots=True)
class Skipped:
    """A step that was passed over, why, and whose it is."""

    step: str
    why: Skip
    card: str = ""


@dataclass(frozen=True, slots=True)
class Tried:
    """A repair that was made, and did not cure or not all; whose, and which."""

    card: str
    repair: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a job ended: `cause` is empty when it was none of the card's causes.

    `sure` is P(cured) as the clean cycles made it, 0 where none was made.
    """

    cause: str
    repair: str
    proved: bool
    helped: bool
    minutes: float
    money: float
    sure: float = 0.0


@dataclass(frozen=True, slots=True)
class Job:
    """The state of one job.

    `candidates` are (card id, probability), best first; `declined` the cards that the
    person said it is not. `card` is the one whose steps are on the table; `picked` the
    one that the person picked or followed a lead to, which may be another. `proposed`
    names the card of every step put on the table. `failed` are the repairs that changed
    nothing, `mended` those after which it was better but not gone.
    `readings` are values taken for a check that is not answered yet, in order.
    `told` are words beside an answer that no ear could use yet; `shows` is whether the
    fault shows just now, None while nobody said.
    `lacking` are tools that the person said are not here.
    `showed` is (times the fault showed, in how many cycles) before the repair; (1, 1)
    means every time. `named` is the cause the person named at the end, None until then.
    `came_from` are the stages under a pause or a stop, the innermost last; `stop` the
    rules that hold now, `stops` all that were ever raised but those in `denied_stops`;
    `doubt` are those that words may have meant, the first of which is asked about;
    `settled` those that were asked about and are not so.
    `history` is every finding there was, in order, whatever became of its card: what
    opens and closes hazards (`bot.job.ledger`). `before_repair` counts those there were
    when the repair was made; `measure` is a get-home measure in place, and
    `before_measure` the same for it.
    `kept` are the stop rules that were raised, as their pages had them then.
    `passing` are open hazards that are asked about: has one who may decide passed them?
    `passed` are stop rules that were passed so, `checked` whether the work was;
    `closing` is the hazard to be closed before the trial.
    `truck` is the id of the note of the truck it is about, "" where none was named.
    `keeps_words` is whether its words may help to find its page, by the person's leave.
    `earlier` is the job before the person's last answer, for going back.
    """

    stage: Stage = Stage.DESCRIBE
    truck: str = ""
    came_from: tuple[Stage, ...] = ()
    words: tuple[str, ...] = ()
    candidates: tuple[tuple[str, float], ...] = ()
    none: float = 1.0
    declined: tuple[str, ...] = ()
    card: str = ""
    picked: str = ""
    as_written: bool = False
    step: Step | None = None
    proposed: tuple[str, ...] = ()
    guess: Answer | None = None
    denied: tuple[tuple[str, str], ...] = ()
    answers: tuple[Answer, ...] = ()
    readings: tuple[Taken, ...] = ()
    skipped: tuple[Skipped, ...] = ()
    lacking: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    shows: bool | None = None
    repair: str = ""
    failed: tuple[Tried, ...] = ()
    mended: tuple[Tried, ...] = ()
    showed: tuple[int, int] | None = None
    clean: int = 0
    stop: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    denied_stops: tuple[str, ...] = ()
    doubt: tuple[str, ...] = ()
    settled: tuple[str, ...] = ()
    history: tuple[Answer, ...] = ()
    before_repair: int = 0
    measure: Tried | None = None
    before_measure: int = 0
    kept: tuple[KeptRule, ...] = ()
    passing: tuple[str, ...] = ()
    passed: tuple[str, ...] = ()
    checked: bool = False
    closing: str = ""
    helped: bool = False
    named: str | None = None
    keeps_words: bool = False
    outcome: Outcome | None = None
    earlier: "Job | None" = field(default=None, compare=False, repr=False)

    def answered(self, check: str, card: str = "") -> str | None:
        """The finding that counts for a check of a card (the present one), or None."""
        wanted = (card or self.card, check)
        found = (a.answer for a in self.answers if (a.card, a.check) == wanted)
        return next(found, None)

    def taken(self, check: str) -> tuple[Taken, ...]:
        """The values read off so far for a check of the present card."""
        mine = (self.card, check)
        return tuple(r for r in self.readings if (r.card, r.check) == mine)

    def passed_over(self, step: str, card: str = "") -> Skip | None:
        """Why a step of a card (the present one) was passed over, or None."""
        wanted = (card or self.card, step)
        over = (s.why for s in reversed(self.skipped) if (s.card, s.step) == wanted)
        return next(over, None)
