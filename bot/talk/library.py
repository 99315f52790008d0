"""What the conversation needs from outside, and the job seen in that light.

`Library` is a promise: the desk keeps it with files and an index, the tests with a few
values. A `View` is a job together with the card it is on and what is believed now.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import NamedTuple, Protocol

from bot.calc.readings import in_units
from bot.diagnose.belief import (
    CURE_CHANCE,
    Belief,
    Heard,
    Tried,
    believe,
    prior,
    still_valid,
)
from bot.diagnose.case import Case, case_of
from bot.diagnose.learning import Outcomes
from bot.diagnose.proof import enough_cycles
from bot.job.job import Job
from bot.job.ledger import Hazard, Ledger, ledger
from bot.language.line import Line
from bot.match.answers import Choice
from bot.match.danger import Hit
from bot.model.card import (
    Card,
    Check,
    Drive,
    Finding,
    Prose,
    Repair,
    Share,
    stricter,
)
from bot.model.pages import Note, Procedure
from bot.model.rule import StopRule
from bot.model.truck import Truck
from bot.talk.messages import Candidate


@dataclass(frozen=True, slots=True)
class Ranked:
    """What the words may mean: cards best first, chance of none, what was understood.

    `understood` are readings of odd spellings, such as ``guage read as gauge``.
    """

    cards: tuple[Candidate, ...]
    none: float
    fits: bool
    understood: tuple[str, ...] = ()


class Where(NamedTuple):
    """Of which card and check the options of a question are."""

    card: str
    check: str


NOWHERE = Where("", "")


class Earlier(NamedTuple):
    """A closed job on the same fault of the same truck.

    `opened` is the moment, ISO 8601, at which it was first complained of; `cause` the
    id of what it was, "" for none of the page's or not known; `repair` what was made.
    """

    job: int
    opened: str
    cause: str
    repair: str
    proved: bool


class Library(Protocol):
    """Cards, stop rules, recorded outcomes, and ears for plain words.

    `in_use` is the id of the truck that a new job is about; "" while it is not known.
    """

    @property
    def in_use(self) -> str:
        """As above."""

    def card(self, card_id: str) -> Card | None:
        """The card with that id, or None when there is none that can be read."""

    def rule(self, rule_id: str) -> StopRule | None:
        """The stop rule with that id, or None when there is none."""

    def procedure(self, page_id: str) -> Procedure | None:
        """The procedure with that id, or None when there is none."""

    def standing(self, page_id: str) -> tuple[str, str]:
        """How a page stands with the club, in a word or two, and why; "" unknown."""

    def notes(self, card_id: str) -> tuple[Note, ...]:
        """What members saw of that fault: hearsay, never weighed."""

    def now(self) -> str:
        """The present moment, ISO 8601 with its offset from UTC."""

    def steady(self) -> str:
        """The same by a clock that nobody can set: its mark and seconds, or ""."""

    def wall_clock(self, moment: str) -> str:
        """What a clock on the wall here showed at that moment, such as 14:08."""

    def truck(self, truck_id: str) -> Truck | None:
        """The keeper's note of a truck, or None when there is none to be read.

        Without an id it is the one in use.
        """

    def earlier(self, card_id: str, truck_id: str) -> tuple[Earlier, ...]:
        """How that fault ended before on that truck, in order."""

    def outcomes(self, card_id: str) -> Outcomes:
        """What recorded outcomes tell of a card's causes."""

    def rank(self, words: str, truck_id: str) -> Ranked:
        """The cards that plain words may mean, said of that truck."""

    def learn(self) -> None:
        """Learn from a job that was closed just now, for the next ranking."""

    def line(self, words: str) -> Line:
        """A typed text as it was read; the same text is read once."""

    def danger(self, words: str) -> tuple[Hit, ...]:
        """The stop rules that plain words raise, surely or maybe."""

    def confirms(self, words: str, tone: bool | None, guess: str) -> bool | None:
        """Whether words say yes or no to what was read back; `tone` if outright."""

    def bears(self, words: str, text: str) -> tuple[float, float]:
        """The most that words say for a text, 0 to 1, and against it, -1 to 0."""

    def choose(
        self, words: str, options: Sequence[str], where: Where = NOWHERE
    ) -> tuple[Choice, ...]:
        """The options that plain words may mean, surest first.

        `where` says of which check they are, for it may know more wordings of them.
        """

    def prepare(self, card_id: str) -> bool:
        """Read the answers of one more check of a card; False when all are read."""

    def volunteered(
        self, words: str, options: Sequence[str], where: Where = NOWHERE
    ) -> Choice | None:
        """The option that words state outright though nobody asked; or None."""


@dataclass(frozen=True, slots=True)
class View:
    """A job with the card whose steps are on the table, all in play, and the belief.

    `card`, `case`, `start` (the belief before any answer) and `belief` are None before
    a card is chosen; `heard` are the answers that count, `tried` the repairs that did
    not end it; `ledger` says whether it may move, and what is open.
    """

    job: Job
    card: Card | None
    case: Case | None
    start: Belief | None
    heard: tuple[Heard, ...]
    tried: tuple[Tried, ...]
    belief: Belief | None
    rules: tuple[StopRule, ...]
    ledger: Ledger
    truck: Truck | None = None

    @property
    def drive(self) -> Drive:
        """May it move."""
        return self.ledger.drive

    @property
    def is_known(self) -> bool:
        """Whether anything is known of the fault; before that there is no verdict."""
        return self.card is not None or bool(self.job.stops)

    @property
    def check(self) -> Check | None:
        """The check on the table, if the card still has it, in the truck's units."""
        step = self.job.step
        check = self.card.check(step.id) if self.card and step else None
        if check and check.readings and self.truck:
            return replace(check, readings=in_units(check.readings, self.truck.units))
        return check

    @property
    def repair(self) -> Repair | None:
        """The repair on the table or just made, if the card still has it."""
        step = self.job.step
        wanted = step.id if step else self.job.repair
        return self.card.repair(wanted) if self.card else None

    def cure_chance(self, repair: str = "") -> float:
        """P(a repair cures the fault), of the one just made unless another is named."""
        if not self.card or not self.belief:
            return 0.5
        made = repair or self.job.repair
        causes = (cause.id for cause in self.card.causes if cause.cured_by(made))
        cured = sum(self.belief.of(cause) for cause in causes)
        return min(max(cured * CURE_CHANCE, 0.05), 0.98)

    @property
    def cycles_needed(self) -> int:
        """Clean cycles that are enough for the repair made."""
        return enough_cycles(self.cure_chance(), self.job.showed or (1, 1))

    @property
    def is_proved(self) -> bool:
        """Whether the trials of the repair made are enough."""
        job = self.job
        if job.outcome:
            return job.outcome.proved and bool(job.repair)
        tried = bool(job.repair) and job.showed is not None
        return tried and job.clean >= self.cycles_needed


def look(job: Job, library: Library) -> View:
    """The job as it stands, with card, belief, pending stop rules and drive verdict."""
    card = library.card(job.card) if job.card else None
    case = in_play(job, library) if card else None
    start = prior(case, library.outcomes) if case else None
    heard = tuple(Heard(a.card, a.check, a.answer) for a in job.answers)
    made = (job.failed, job.mended)
    failed, mended = (tuple(Tried(t.card, t.repair) for t in some) for some in made)
    belief = None
    if case and start:
        heard = still_valid(case, start.causes, heard, mended)
        belief = believe(case, start, heard, (*failed, *mended))
    found = tuple(rule_of(job, rule, library) for rule in job.stop)
    tried = (*failed, *mended)
    lost = bool(job.card) and card is None
    page = Drive.DO_NOT_MOVE if lost else _by_pages(card, case)  # what is gone, holds
    unread = Ledger(page, ())
    truck = library.truck(job.truck)
    view = View(job, card, case, start, heard, tried, belief, found, unread, truck)

    def rules(rule_id: str) -> StopRule:
        return rule_of(job, rule_id, library)

    owed = ledger(job, page, library.card, rules, proved=view.is_proved)
    return replace(view, ledger=owed)


def rule_of(job: Job, rule_id: str, library: Library) -> StopRule:
    """A stop rule that was raised in a job: its page, no milder than it was then.

    Without its page it stands as it was; what was not kept holds the truck.
    """
    rule = library.rule(rule_id)
    kept = next((rule for rule in job.kept if rule.id == rule_id), None)
    was = next((d for d in Drive if kept and d.value == kept.drive), Drive.DO_NOT_MOVE)
    if rule:
        return replace(rule, drive=stricter(rule.drive, was)) if kept else rule
    title = f"The stop rule '{rule_id}', whose page is not here"
    return StopRule(
        id=rule_id,
        title=kept.title if kept else title,
        question="",
        signs=(),
        drive=was,
        share=Share.PRIVATE,
        check_by=date.max,
        authors=(),
        cautions=(),
        do_now=kept.do_now if kept else STAY,
        call_for_help=(),
        who_decides=(Prose(NOT_HERE),),
        sources=(),
    )


STAY = ("Stop. Leave it where it is, chocked, and keep everybody away from it.",)
NOT_HERE = "The rule's page is not here: somebody entitled to pass such work."
"""Common practice, no source."""


def in_play(job: Job, library: Library) -> Case:
    """The cards that the complaint may belong to, as the person and the words say.

    Causes that this truck cannot have are left out of them.
    """
    truck = library.truck(job.truck)
    matched = [(card, p) for card, p in job.candidates if card not in job.declined]
    found = ((card_id, library.card(card_id)) for card_id, _ in matched)
    cards = {card_id: card for card_id, card in found if card}
    for card_id in (job.picked, job.card):
        card = library.card(card_id) if card_id else None
        if card:
            cards[card_id] = card
    fitted = {name: for_truck(card, truck) for name, card in cards.items()}
    return case_of(fitted, matched, job.none, job.picked)


def for_truck(card: Card, truck: Truck | None) -> Card:
    """A card with the causes that a truck can have; all where that would be none."""
    if truck is None:
        return card
    kept = tuple(cause for cause in card.causes if truck.suits(cause.only))
    return card if len(kept) in (0, len(card.causes)) else replace(card, causes=kept)


def finding_of(card: Card, check_id: str, answer: str) -> Finding | None:
    """The finding that an answer names, or None when the card no longer has it."""
    check = card.check(check_id)
    findings = check.findings if check else ()
    return next((f for f in findings if f.answer == answer), None)


def sayable(check: Check) -> list[str]:
    """The answers to a check that may be given in words; limits want a number."""
    return [finding.answer for finding in check.findings if not finding.limit]


def last_finding(view: View) -> Finding | None:
    """The finding that was answered last, if any."""
    if not view.card or not view.job.answers:
        return None
    last = view.job.answers[-1]
    card = view.case.card(last.card) if view.case else None
    return finding_of(card, last.check, last.answer) if card else None


def stopped_by_answer(view: View) -> Finding | None:
    """The last finding, where the stop rule behind it is all that stops the job."""
    finding = last_finding(view)
    raised = finding is not None and view.job.stop == (finding.stop_rule,)
    return finding if raised else None


LIKELY = 0.2
"""A card in play that is this likely has a say in whether the truck may move."""


def _by_pages(card: Card | None, case: Case | None) -> Drive:
    """The verdict of the card on the table, and of all that are as likely."""
    verdict = card.drive if card else Drive.NO_LIMIT
    for other, chance in case.pairs() if case else ():
        verdict = stricter(verdict, other.drive) if chance >= LIKELY else verdict
    return verdict


def forbids_trial(view: View) -> Hazard | None:
    """The open hazard for which the card's trial must not be made yet, or None."""
    if view.card is None:
        return None
    return next(iter(view.ledger.holding_back(view.card.proof)), None)


def entered(view: View) -> tuple[tuple[str, str], ...]:
    """The answers that count, each with its check's title, in the order given."""
    found = []
    for answer in view.job.answers:
        card = view.case.card(answer.card) if view.case else None
        check = card.check(answer.check) if card else None
        if check:
            found.append((check.title, answer.answer))
    return tuple(found)
