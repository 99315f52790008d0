"""A job told from its first words to its end: what happened, what was believed then."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from bot.job import events as e
from bot.job.job import NOT_KNOWN, Job, Taken
from bot.model.card import Card, Drive
from bot.talk.library import Library, View, look
from bot.talk.outcome import how_sure
from bot.talk.passed import between
from bot.talk.wording import cause_name, span
from bot.units import SYMBOLS, amount, convert

Happened = tuple[str, e.Event, Job]
"""The moment of an event, ISO 8601, the event, and the job after it."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One thing that happened: when, what, and in whose words.

    `quote` are the person's own words. `drive` is what the truck might do after it, and
    `suspected` (cause, probability) of the causes then, in the page's order; empty
    where nothing was to be believed yet.
    """

    at: str
    says: str
    quote: str = ""
    drive: Drive | None = None
    suspected: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Series:
    """Readings of one check: (minutes since the first, value), and their unit."""

    title: str
    unit: str
    points: tuple[tuple[float, float], ...]


@dataclass
class Story:
    """A job told.

    `view` is the job as it stands; `number` and `opened` tell which it is.
    """

    number: int
    opened: str
    view: View
    moments: list[Moment] = field(default_factory=list)
    series: list[Series] = field(default_factory=list)


def story(number: int, happened: Iterable[Happened], library: Library) -> Story:
    """The story of a job, in order; there is at least one event."""
    told = list(happened)
    found = Story(number, told[0][0], look(told[-1][2], library))
    taken: dict[tuple[str, str], tuple[Taken, ...]] = {}
    for at, event, job in told:
        moment = _moment(at, event, job, library)
        found.moments += [moment] if moment else []
        if isinstance(event, e.ReadingTaken):
            taken[job.card, event.check] = job.taken(event.check)
        elif isinstance(event, e.Found) and (job.card, event.check) in taken:
            taken[job.card, event.check] += _last(at, event, job.card)
    found.series += [_series(some, library) for some in taken.values()]
    return found


def _last(at: str, event: e.Found, card: str) -> tuple[Taken, ...]:
    """The value that ended a reading, which stands in the words of its finding."""
    value = amount(event.words)
    if value is None or value.unit is None:
        return ()
    return (Taken(event.check, value.value, value.unit.symbol, at, card),)


def _moment(at: str, event: e.Event, job: Job, library: Library) -> Moment | None:
    says = _said(event, job, library)
    if says is None:
        return None
    quote = event.words if isinstance(event, e.Described | e.Told | e.Found) else ""
    if not isinstance(event, CHANGES_BELIEF) or not job.card:
        return Moment(at, says, quote)
    view = look(job, library)
    return Moment(at, says, quote, view.drive, _suspected(view))


CHANGES_BELIEF = (
    e.CardChosen,
    e.CardsKept,
    e.LeadFollowed,
    e.CardTurned,
    e.Found,
    e.CycleNotClean,
    e.CycleBetter,
    e.CameBack,
    e.RepairDone,
    e.StopRaised,
    e.HazardPassed,
    e.SteppedBack,
)
"""After these it is told what is believed."""


def _suspected(view: View) -> tuple[tuple[str, float], ...]:
    if not view.card or not view.belief:
        return ()
    card, case = view.card, view.case
    names = ((case and case.naming(c)) or card for c in view.belief.causes)
    told = zip(view.belief.causes, names, strict=True)
    return tuple((cause_name(n, c), view.belief.of(c)) for c, n in told)


def _said(event: e.Event, job: Job, library: Library) -> str | None:
    """What happened, in words; None for what need not be told."""
    card = library.card(job.card) if job.card else None
    match event:
        case e.StopRaised():
            titles = (_rule(rule, job, library) for rule in event.rules)
            return f"STOP: {'; '.join(titles)}"
        case e.CardChosen() | e.LeadFollowed() | e.CardTurned():
            return f"Page: {card.title if card else event.card}"
        case e.Found():
            return f"{_step(card, event.check)}: {event.answer}"
        case e.StepSkipped():
            return f"Left out: {_step(card, event.step)} ({event.why})"
        case e.MeasureTaken() | e.RepairDone():
            how = "To get home" if isinstance(event, e.MeasureTaken) else "Repair made"
            return f"{how}: {_step(card, event.repair)}"
        case e.CauseNamed():
            return f"It was: {_cause(event.cause, card)}"
        case e.Recorded():
            return _recorded(job, card)
        case _:
            return _in_short(event)


def _in_short(event: e.Event) -> str | None:
    match event:
        case e.ShowedBefore():
            return f"It had shown in {event.times} of {event.cycles} tries"
        case e.CycleClean():
            return f"{event.cycles} trials clean" if event.cycles > 1 else "Trial clean"
        case e.ToolMissing():
            return f"No {event.tool} here"
        case _:
            return _SHORT.get(type(event))


def _cause(cause: str, card: Card | None) -> str:
    if cause == NOT_KNOWN:
        return "not known"
    return cause_name(card, cause) if card else cause


_SHORT: dict[type[e.Event], str] = {
    e.Described: "Said",
    e.Told: "Said too",
    e.HazardPassed: "Passed by one who may decide",
    e.PartLost: "Here answers are lost from the disk",
    e.CardsKept: "Checks were to tell several pages apart",
    e.CardLeft: "That page was left",
    e.NothingFitted: "No page fitted",
    e.StopCleared: "The danger was dealt with",
    e.StopDenied: "The danger was denied",
    e.HelpCalled: "Help was called",
    e.FaultHid: "It did not show just then",
    e.FaultShows: "It showed",
    e.CycleNotClean: "A trial was not clean: it was not that, or not only",
    e.CycleBetter: "Better, but not gone",
    e.CameBack: "It came back",
    e.SteppedBack: "The last answer was taken back",
    e.ProofPutOff: "The proof was put off",
}


def _recorded(job: Job, card: Card | None) -> str:
    out = job.outcome
    if out is None:
        return "Closed"
    sure = f", {how_sure(out)}" if out.repair else ""
    repair = f"; {_step(card, out.repair)}{sure}" if out.repair else ""
    return f"Closed{repair}; {span(out.minutes)}, money {out.money:g}"


def _rule(rule_id: str, job: Job, library: Library) -> str:
    rule = library.rule(rule_id)
    kept = next((kept.title for kept in job.kept if kept.id == rule_id), rule_id)
    return rule.title if rule else kept


def _step(card: Card | None, step: str) -> str:
    found = (card.check(step) or card.repair(step)) if card else None
    return found.title if found else step


def _series(taken: Sequence[Taken], library: Library) -> Series:
    """The readings of a check against the time since the first."""
    first = taken[0]
    card = library.card(first.card)
    check = card.check(first.check) if card else None
    unit = SYMBOLS[first.unit]
    alike = [each for each in taken if SYMBOLS[each.unit].kind == unit.kind]
    points = tuple(
        (between(first, each), convert(each.value, SYMBOLS[each.unit], unit))
        for each in alike
    )
    return Series(check.title if check else first.check, first.unit, points)
