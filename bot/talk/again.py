"""A fault that this truck had before: said when its card is chosen, and at the end."""

from collections.abc import Sequence
from datetime import UTC, datetime, time

from bot.diagnose.recurrence import Trend, trend
from bot.job.job import NOT_KNOWN, Job
from bot.model.card import Card
from bot.model.truck import Truck
from bot.talk.library import Earlier, Library
from bot.talk.messages import Message, Say
from bot.talk.wording import cause_name, percent

MOST_TOLD = 3
"""So many earlier jobs are named, the newest. Our choice."""

LASTS_NOT = "Look for what makes that part fail: mending it again and again does not."


def had_before(card: Card, job: Job, library: Library) -> tuple[Message, ...]:
    """How that fault ended before on this truck, and whether it comes ever sooner."""
    before = library.earlier(card.id, job.truck or library.in_use)
    if not before:
        return ()
    last = before[-1]
    often = f"{len(before)} times before, last" if len(before) > 1 else "before,"
    says = [f"This truck had that fault {often} {how_it_ended(last, card)}."]
    alike = [past.cause for past in before].count(last.cause)
    if alike > 1 and last.cause not in ("", NOT_KNOWN):
        says.append(f"{alike} times it was that cause. {LASTS_NOT}")
    found = trend_of(before, library.now(), library.truck(job.truck))
    if found:
        says.append(in_words(found))
    return (Say(" ".join(says)),)


def same_cause(cause: str, job: Job, library: Library) -> tuple[Message, ...]:
    """That a cause is the one of an earlier job, if it is."""
    if cause in ("", NOT_KNOWN):
        return ()
    before = library.earlier(job.card, job.truck or library.in_use)
    jobs = [f"job {p.job} of {p.opened[:10]}" for p in before if p.cause == cause]
    if not jobs:
        return ()
    return (Say(f"The same cause as in {', '.join(jobs[-MOST_TOLD:])}. {LASTS_NOT}"),)


def how_it_ended(past: Earlier, card: Card) -> str:
    """When an earlier job was, and how it ended, in a line."""
    known = past.cause not in ("", NOT_KNOWN)
    cause = cause_name(card, past.cause) if known else "cause not known"
    repair = card.repair(past.repair) if past.repair else None
    made = f"; {repair.title}" if repair else ""
    proved = ", proved" if past.proved else ", not proved" if past.repair else ""
    return f"on {past.opened[:10]} (job {past.job}): {cause}{made}{proved}"


def trend_of(before: Sequence[Earlier], now: str, truck: Truck | None) -> Trend | None:
    """The trend of a fault of a truck, watched since its jobs are written down."""
    since = truck.since if truck else None
    start = datetime.combine(since, time(), UTC) if since else None
    moments = [datetime.fromisoformat(past.opened) for past in before]
    return trend(moments, datetime.fromisoformat(now), start)


def in_words(found: Trend) -> str:
    """A trend in a sentence."""
    days = found.days / found.events
    if not (found.is_faster or found.is_rarer):
        return f"It comes about every {days:.0f} days, at no rate that rises or falls."
    how = "ever sooner" if found.is_faster else "ever more rarely"
    return (
        f"It may be coming {how}: {found.events} times in {found.days:.0f} days, as by "
        f"luck alone in {percent(found.by_luck)} of cases."
    )
