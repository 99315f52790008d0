"""The story of a job, and the history of a truck, as pieces to be set on paper."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from bot.desk.library import KbLibrary
from bot.job.job import NOT_KNOWN, Stage
from bot.model.place import BotError
from bot.paper.pieces import Box, Heading, Para, Piece, Plain, Table, Verdict
from bot.paper.plot import Curve, Plot
from bot.store.journal import Journal
from bot.talk.library import View
from bot.talk.owed import in_full
from bot.talk.story import Moment, Series, Story, story
from bot.talk.wording import cause_name, percent, span

MOST_CURVES = 5
"""So many causes are drawn: the likeliest at any step. Our choice."""

TITLE = "How suspicion moved, by the numbers above, weighed by all outcomes known today"
HEARSAY = (
    "One person's words on one truck: hearsay, until people who know have vetted it. "
    "Local law, the maker's manual and licensed practice come first."
)


def job_report(number: int, journal: Journal, library: KbLibrary) -> list[Piece]:
    """One job from its first words to where it stands."""
    happened = journal.walked(number)
    if not happened:
        raise BotError(f"there is no job {number}; 'chock jobs' lists them")
    told = story(number, happened, library)
    return [
        *_head(told, library),
        *_what_happened(told.moments),
        *_what_it_may_be(told),
        *_readings(told.series),
        Para(HEARSAY, small=True),
    ]


def _head(told: Story, library: KbLibrary) -> Iterator[Piece]:
    view, job = told.view, told.view.job
    title = view.card.title if view.card else (job.words or ("no words yet",))[0]
    yield Heading(1, f"Job {told.number}: {title}")
    truck = library.truck(job.truck)
    name = f"{truck.name}. " if truck else ""
    state = "closed" if job.stage is Stage.CLOSED else "still open"
    yield Plain((f"{name}Opened {told.opened[:10]}, {state}.",))
    yield Verdict(view.drive) if view.is_known else Plain((NO_VERDICT,))
    for rule in view.rules:
        yield Box("STOP", " ".join((f"{rule.title}.", *rule.do_now)))
    yield from listed(in_full(view.ledger))
    if job.outcome:
        yield Plain((_ending(view),))


NO_VERDICT = "May it move? Not known yet."


def listed(lines: Iterable[str]) -> Iterator[Piece]:
    """Some lines with a dash each, over the whole width."""
    told = tuple(lines)
    if told:
        yield Plain(told, listed=True)


def _ending(view: View) -> str:
    """What it was, and what was spent."""
    out, card = view.job.outcome, view.card
    if out is None or card is None:
        return "Closed; no page fitted."
    known = out.cause not in ("", NOT_KNOWN)
    cause = cause_name(card, out.cause) if known else "not known"
    repair = card.repair(out.repair) if out.repair else None
    sure = "proved" if out.proved else "not proved"
    made = f" Repair: {repair.title}, {sure}." if repair else ""
    helped = " Help was called." if out.helped else ""
    spent = f"{span(out.minutes)}, money {out.money:g}"
    return f"Cause: {cause}.{made}{helped} Spent: {spent}."


def _what_happened(moments: Sequence[Moment]) -> Iterator[Piece]:
    yield Heading(2, "What happened")
    rows = tuple(
        (
            str(nth),
            _clock(moment.at),
            moment.says,
            moment.quote,
            moment.drive.value if moment.drive else "",
        )
        for nth, moment in enumerate(moments, 1)
    )
    yield Table(
        ("No.", "When", "What", "In own words", "May it move"), rows, is_full=True
    )


def _clock(at: str) -> str:
    return at[:16].replace("T", " ")


def _what_it_may_be(told: Story) -> Iterator[Piece]:
    """The causes over the steps, drawn, and as they stand."""
    steps = [(n, m) for n, m in enumerate(told.moments, 1) if m.suspected]
    if not steps:
        return
    yield Heading(2, "What it may be")
    highest: Counter[str] = Counter()
    for _, moment in steps:
        for cause, chance in moment.suspected:
            highest[cause] = max(highest[cause], round(100 * chance))
    curves = (
        Curve(cause, _chances(cause, steps))
        for cause, _ in highest.most_common(MOST_CURVES)
    )
    marks = tuple((float(n), str(n)) for n, _ in steps)
    drawn = tuple(curve for curve in curves if curve.points)
    if len(steps) > 1:
        title = TITLE
        yield Plot(title, "step", "per cent", drawn, 0, 100, marks)
    last = sorted(steps[-1][1].suspected, key=lambda pair: -pair[1])
    rows = tuple((cause, percent(chance)) for cause, chance in last[:MOST_CURVES])
    yield Table(("Cause", "Chance now"), rows, is_full=True)


def _chances(
    cause: str, steps: Iterable[tuple[int, Moment]]
) -> tuple[tuple[float, float], ...]:
    found = ((n, dict(moment.suspected).get(cause)) for n, moment in steps)
    return tuple((float(n), round(100 * p, 1)) for n, p in found if p is not None)


def _readings(series: Sequence[Series]) -> Iterator[Piece]:
    if not series:
        return
    yield Heading(2, "Readings")
    for one in series:
        timed = len(one.points) > 1 and one.points[-1][0] > 0
        if timed:
            curve = Curve(f"{one.points[-1][1]:g} {one.unit}", one.points)
            yield Plot(one.title, "minutes", one.unit, (curve,))
        else:
            values = ", ".join(f"{value:g} {one.unit}" for _, value in one.points)
            yield Plain((f"{one.title}: {values}",), listed=True)
