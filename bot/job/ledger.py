"""May it move: a debt that only what the pages name can settle.

The verdict is the strictest of the page, of every stop rule that was raised, and of
every open hazard. A finding opens a hazard; it is closed by the repairs and checks that
the finding names, by nothing else: not by another repair, another card, or a milder
word later. A repair counts once it is proved. What cannot be read holds the truck.
"""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

from bot.job.hazards import ENTITLED, PART_LOST
from bot.job.job import Answer, Job, Tried
from bot.model.card import (
    Act,
    Card,
    Check,
    Drive,
    Finding,
    Proof,
    Repair,
    Strength,
    stricter,
)
from bot.model.rule import StopRule

GUARDED = frozenset(("brakes", "steering-suspension", "tyres-wheels", "air-supply"))
"""Systems whose work somebody entitled must check before the truck is without limit."""


@dataclass(frozen=True, slots=True)
class Hazard:
    """What holds the verdict down.

    Attributes:
        key: a stop rule's id, `ENTITLED`, or the card, check and answer that opened it.
        drive: what the truck may do while it is open.
        says: what was found, or the danger's title.
        closes: what closes it, in words, one a way.
        checks: ids of the checks of `card` that close it.
        repairs: ids of the repairs of `card` that do.
        made: whether one of these is made and not proved yet.
    """

    key: str
    drive: Drive
    says: str
    closes: tuple[str, ...]
    card: str = ""
    checks: tuple[str, ...] = ()
    repairs: tuple[str, ...] = ()
    made: bool = False

    @property
    def is_passed_by_word(self) -> bool:
        """Whether somebody who may decide it closes it, and no check or repair."""
        return not self.card

    def names(self, step: str, card: str) -> bool:
        """Whether a check or a repair of a card closes it."""
        return card == self.card and step in (*self.checks, *self.repairs)


class Ledger(NamedTuple):
    """The verdict of the page or of what was proved, and all that holds it down."""

    page: Drive
    hazards: tuple[Hazard, ...]
    unproved: str = ""
    """The repair that is made and not proved, by its title."""

    @property
    def drive(self) -> Drive:
        """May it move."""
        verdict = self.page
        for hazard in self.hazards:
            verdict = stricter(verdict, hazard.drive)
        return verdict

    def holding_back(
        self, step: Check | Repair | Proof, card: str = ""
    ) -> tuple[Hazard, ...]:
        """The hazards for which a step of a card must wait.

        Not those that the repair just made closes, nor those that the step itself does.
        Where a finding names a step as the way out, the stop rule behind it lets the
        engine run for that; to drive it does not.
        """
        id_ = step.id if isinstance(step, Check | Repair) else ""
        is_way_out = any(hazard.names(id_, card) for hazard in self.hazards)
        drives = Act.TRIAL_DRIVE in step.needs.does
        return tuple(
            hazard
            for hazard in self.hazards
            if not hazard.made
            and _forbids(hazard.drive, step.needs.does)
            and not hazard.names(id_, card)
            and not (is_way_out and hazard.is_passed_by_word and not drives)
        )


def _forbids(drive: Drive, does: Collection[Act]) -> bool:
    """Whether a verdict forbids acts: to drive the truck, or to run its engine."""
    drives = Act.TRIAL_DRIVE in does and (drive.stays or drive is Drive.CREEP)
    return drives or (Act.ENGINE_RUNNING in does and drive is Drive.ENGINE_OFF)


Cards = Callable[[str], Card | None]
Rules = Callable[[str], StopRule | None]


def ledger(
    job: Job, page: Drive, cards: Cards, rules: Rules, *, proved: bool
) -> Ledger:
    """What the truck may do, and what is open.

    Args:
        job: the job.
        page: the verdict of the pages in play before anything is repaired.
        cards: the card with an id, or None.
        rules: the stop rule with an id, or None.
        proved: whether the trials of the repair just made are enough.
    """
    card = cards(job.card) if job.card else None
    repair = card.repair(job.repair) if card and job.repair else None
    unproved = ""
    if repair and proved:
        page = repair.needs.after or page
    elif job.measure:
        page = _home(job.measure, cards) or page
    if repair and not proved:
        unproved = repair.title
    hazards = [*_of_rules(job, rules), *_of_findings(job, cards, proved=proved)]
    found = Ledger(page, tuple(hazards), unproved)
    work = proved and card is not None and card.system in GUARDED
    if work and not job.checked and found.drive is Drive.NO_LIMIT:
        found = found._replace(hazards=(*found.hazards, UNCHECKED))
    return found


UNCHECKED = Hazard(
    ENTITLED,
    Drive.CARE,
    "Work on brakes, steering, wheels or air supply, checked by nobody yet",
    ("somebody entitled to pass such work has checked it",),
)


NOT_WHOLE = Hazard(
    PART_LOST,
    Drive.DO_NOT_MOVE,
    "Some answers of this job are lost from the disk",
    ("somebody entitled has looked the truck through",),
)


def _home(measure: Tried, cards: Cards) -> Drive | None:
    """The verdict with a get-home measure in place."""
    card = cards(measure.card)
    taken = card.repair(measure.repair) if card else None
    return taken.needs.home if taken else None


def _of_rules(job: Job, rules: Rules) -> Iterator[Hazard]:
    for rule_id in dict.fromkeys(job.stops):
        rule = rules(rule_id)
        if rule_id == PART_LOST:
            yield NOT_WHOLE
        elif rule is None:
            says = f"The stop rule '{rule_id}', whose page is not here"
            yield Hazard(rule_id, Drive.DO_NOT_MOVE, says, ("its page says what",))
        elif rule.drive is not Drive.NO_LIMIT:
            decides = " ".join(
                " ".join(block.text.split()) for block in rule.who_decides
            )
            yield Hazard(rule_id, rule.drive, rule.title, (decides,))


def _of_findings(job: Job, cards: Cards, *, proved: bool) -> Iterator[Hazard]:
    """Walk through all that was found: each answer opens a hazard, or closes some."""
    opened: list[tuple[int, Hazard]] = []
    for at, answer in enumerate(job.history):
        hazard = _opened_by(answer, job, cards)
        if not _is_untold(answer, cards):
            harmless = _is_harmless(answer, cards)
            opened = [
                (since, other)
                for since, other in opened
                if not _is_closed(other, answer, by_harmless=harmless)
            ]
        if hazard:
            opened.append((at, hazard))
    for at, hazard in opened:
        left = _after_repair(at, hazard, job, proved=proved)
        if left:
            yield _with_measure(at, left, job, cards)


def _is_closed(hazard: Hazard, answer: Answer, *, by_harmless: bool) -> bool:
    """Whether an answer closes a hazard.

    A check that is named closes it where the answer opens none; looked at anew, the
    very check that opened it does by any other answer, which then opens its own.
    """
    if answer.card != hazard.card or answer.check not in hazard.checks:
        return False
    anew = _key(answer).rpartition("=")[0] == hazard.key.rpartition("=")[0]
    return by_harmless or (anew and _key(answer) != hazard.key)


def _is_untold(answer: Answer, cards: Cards) -> bool:
    """Whether nobody could tell what was looked for: that closes nothing."""
    card = cards(answer.card)
    found = _finding(card.check(answer.check) if card else None, answer.answer)
    return found is not None and found.is_untold


def _is_harmless(answer: Answer, cards: Cards) -> bool:
    """Whether an answer finds all in order: no verdict, and no stop rule behind it.

    That a stop rule was raised, passed or denied makes its answer no better.
    """
    card = cards(answer.card)
    found = _finding(card.check(answer.check) if card else None, answer.answer)
    return found is not None and found.is_in_order


def _key(answer: Answer) -> str:
    return f"{answer.card}#{answer.check}={answer.answer}"


def _opened_by(answer: Answer, job: Job, cards: Cards) -> Hazard | None:
    """The hazard that an answer opens, if any; one told by its page is its page's."""
    card = cards(answer.card)
    check = card.check(answer.check) if card else None
    finding = _finding(check, answer.answer)
    if card is None or check is None or finding is None:
        kept = next((d for d in Drive if d.value == answer.drive), Drive.NO_LIMIT)
        lost = ("the page that said so, which is not here or was changed",)
        hazard = Hazard(_key(answer), kept, answer.answer, lost, answer.card)
        return None if kept is Drive.NO_LIMIT else hazard
    drive = finding.drive
    if drive is None or drive is Drive.NO_LIMIT or _is_for_rule(finding, job):
        return None
    targets = [link.target.removeprefix("#") for link in finding.until]
    targets = targets or [*_cures(card, finding), check.id]
    checks = [c for c in card.checks if c.id in targets]
    repairs = [r for r in card.repairs if r.id in targets]
    return Hazard(
        _key(answer),
        drive,
        finding.answer,
        (
            *(f"'{r.title}' {_closes(r)}" for r in repairs),
            *(f"'{c.title}' finds it in order" for c in checks),
        ),
        card.id,
        tuple(c.id for c in checks),
        tuple(r.id for r in repairs),
    )


def _closes(repair: Repair) -> str:
    """What a repair has to come to."""
    home = repair.needs.home
    return f"is made: then {home.value}, home only" if home else "is made and proved"


def _finding(check: Check | None, answer: str) -> Finding | None:
    findings = check.findings if check else ()
    return next((found for found in findings if found.answer == answer), None)


def _is_for_rule(finding: Finding, job: Job) -> bool:
    """Whether a stop rule holds the truck for it, or was passed by one who may.

    That it was denied lifts the rule alone: the check must be looked at anew.
    """
    if finding.stop is None:
        return False
    rule = finding.stop.target.rsplit("/", 1)[-1].removesuffix(".md")
    return rule in (*job.stops, *job.passed)


def _cures(card: Card, finding: Finding) -> Iterator[str]:
    """The repairs of the causes that a finding speaks for."""
    speaks = (Strength.SURE, Strength.LIKELY)
    for bearing in finding.bearings:
        cause = card.cause(bearing.cause) if bearing.strength in speaks else None
        for repair in card.repairs_for(cause) if cause else ():
            if not repair.is_get_home:
                yield repair.id


def _after_repair(at: int, hazard: Hazard, job: Job, *, proved: bool) -> Hazard | None:
    """What the repair just made leaves of a hazard that was open before it."""
    names = job.card == hazard.card and job.repair in hazard.repairs
    if not job.repair or not names or at >= job.before_repair:
        return hazard
    return None if proved else replace(hazard, made=True)


def _with_measure(at: int, hazard: Hazard, job: Job, cards: Cards) -> Hazard:
    """With a get-home measure that it names, its verdict is that of the measure."""
    measure = job.measure
    if measure is None or at >= job.before_measure or measure.card != hazard.card:
        return hazard
    home = _home(measure, cards) if measure.repair in hazard.repairs else None
    return replace(hazard, drive=home) if home else hazard
