"""The history of a truck as pieces: what was wrong, what came again, what it cost."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.desk.library import KbLibrary
from bot.desk.report import HEARSAY, listed
from bot.desk.truck import of_jobs
from bot.job.job import NOT_KNOWN
from bot.model.card import Drive, stricter
from bot.model.place import BotError
from bot.model.truck import Truck
from bot.paper.pieces import Heading, Para, Piece, Plain, Table, Verdict
from bot.paper.plot import Curve, Plot
from bot.store.journal import Journal
from bot.store.second import Ended
from bot.talk.again import in_words, trend_of
from bot.talk.library import View, look
from bot.talk.owed import open_hazards
from bot.talk.wording import cause_name


@dataclass(frozen=True, slots=True)
class _Open:
    number: int
    opened: str
    view: View


def truck_report(
    journal: Journal, library: KbLibrary, home: str, now: str
) -> list[Piece]:
    """What was wrong with the truck in use, what came again, and what it cost."""
    mine = of_jobs(home, library.in_use)
    ended = journal.history(mine)
    held = [_Open(*row) for row in _still_open(journal, library, mine)]
    truck = library.truck() or Truck("Your truck")
    if not ended and not held:
        raise BotError(f"there are no jobs of {truck.name} yet; chock begins one")
    return [
        *_of_truck(truck, ended, held, now),
        *_jobs(ended, library),
        *_owed(ended, journal, library),
        *_again(ended, library, truck, now),
        *_costs(ended, library),
        Para(HEARSAY, small=True),
    ]


def _still_open(
    journal: Journal, library: KbLibrary, mine: Sequence[str]
) -> Iterator[tuple[int, str, View]]:
    for row in journal.listed(only_open=True):
        entry = journal.entry(row.number)
        if entry and entry.job.truck in mine:
            yield entry.number, entry.opened, look(entry.job, library)


def _of_truck(
    truck: Truck, ended: Sequence[Ended], held: Sequence[_Open], now: str
) -> Iterator[Piece]:
    yield Heading(1, f"{truck.name}: what was wrong, and what it cost")
    facts = [f"Jobs closed: {len(ended)}, open: {len(held)}. As of {now[:10]}."]
    if truck.since:
        facts.append(f"Written down since {truck.since}.")
    if truck.yearly_km:
        facts.append(f"About {truck.yearly_km:,.0f} km a year.")
    if truck.fitted:
        facts.append(f"Fitted: {', '.join(truck.fitted)}.")
    yield Plain((" ".join(facts),))
    if held:
        yield Heading(2, "Open now")
        known = [job for job in held if job.view.is_known]
        if known:
            yield Verdict(_strictest(known))
    yield from listed(map(_of_open, held))


def _of_open(job: _Open) -> str:
    words = job.view.job.words[0] if job.view.job.words else ""
    title = job.view.card.title if job.view.card else words
    owed = "; ".join(open_hazards(job.view.ledger))
    verdict = job.view.drive.value if job.view.is_known else "not known yet"
    says = f"Job {job.number} of {job.opened[:10]}, {title}: {verdict}"
    return f"{says}. Open: {owed}." if owed else f"{says}."


def _strictest(held: Sequence[_Open]) -> Drive:
    drive = Drive.NO_LIMIT
    for job in held:
        drive = stricter(drive, job.view.drive)
    return drive


def _jobs(ended: Sequence[Ended], library: KbLibrary) -> Iterator[Piece]:
    if not ended:
        return
    yield Heading(2, "Closed jobs")
    rows = tuple(_row(job, library) for job in ended)
    head = ("No.", "Opened", "Complaint", "Cause", "Repair", "Cure", "Hours", "Money")
    yield Table(head, rows, is_full=True)


def _row(job: Ended, library: KbLibrary) -> tuple[str, ...]:
    card = library.card(job.card) if job.card else None
    known = job.cause not in ("", NOT_KNOWN)
    cause = (cause_name(card, job.cause) if card else job.cause) if known else "?"
    repair = card.repair(job.repair) if card and job.repair else None
    cure = ("proved" if job.proved else "not proved") if job.repair else ""
    return (
        str(job.job),
        job.opened[:10],
        card.title if card else job.card or "no page",
        cause,
        repair.title if repair else job.repair or ("help" if job.helped else ""),
        cure,
        f"{job.minutes / 60:.1f}",
        f"{job.money:,.0f}",
    )


def _owed(
    ended: Sequence[Ended], journal: Journal, library: KbLibrary
) -> Iterator[Piece]:
    """What was still open when jobs were closed."""
    entries = (journal.entry(job.job) for job in ended)
    views = [(e, look(e.job, library)) for e in entries if e]
    told = [
        f"Job {entry.number} of {entry.opened[:10]}: {'; '.join(owed)}."
        for entry, view in views
        if (owed := open_hazards(view.ledger))
    ]
    if told:
        yield Heading(2, "Closed, and never put right")
        yield from listed(told)


def _again(
    ended: Sequence[Ended], library: KbLibrary, truck: Truck, now: str
) -> Iterator[Piece]:
    """The faults that came more than once, the most frequent first."""
    times = Counter(job.card for job in ended if job.card)
    again = [card for card, n in times.most_common() if n > 1]
    if again:
        yield Heading(2, "What came again")
        yield from listed(_came(card, library, truck, now) for card in again)


def _came(card_id: str, library: KbLibrary, truck: Truck, now: str) -> str:
    """How often a fault came, by which causes, and whether ever sooner."""
    card, before = library.card(card_id), library.earlier(card_id, library.in_use)
    causes = Counter(p.cause for p in before if p.cause not in ("", NOT_KNOWN))
    same = ", ".join(
        f"{cause_name(card, cause) if card else cause} {n} times"
        for cause, n in causes.most_common()
        if n > 1
    )
    says = [f"{card.title if card else card_id}: {len(before)} times."]
    says += [f"The same cause: {same}."] if same else []
    found = trend_of(before, now, truck)
    return " ".join((*says, *((in_words(found),) if found else ())))


def _costs(ended: Sequence[Ended], library: KbLibrary) -> Iterator[Piece]:
    """Money by the year, and hours and money by system."""
    if not ended:
        return
    yield Heading(2, "What it cost")
    hours, money = sum(job.minutes for job in ended) / 60, sum(j.money for j in ended)
    yield Para(f"Together {hours:,.1f} hours of work and {money:,.0f} money.")
    by_year: Counter[int] = Counter()
    for job in ended:
        by_year[datetime.fromisoformat(job.opened).year] += round(job.money)
    if len(by_year) > 1 and money:
        years = range(min(by_year), max(by_year) + 1)
        bars = Curve("money", tuple((float(y), float(by_year[y])) for y in years))
        marks = tuple((float(year), str(year)) for year in years)
        yield Plot("Money by the year", "year", "money", (bars,), 0, None, marks, True)
    systems: dict[str, list[Ended]] = {}
    for job in ended:
        card = library.card(job.card) if job.card else None
        systems.setdefault(card.system if card else "no page", []).append(job)
    rows = tuple(_spent(system, systems[system]) for system in sorted(systems))
    yield Table(("System", "Jobs", "Hours", "Money"), rows, is_full=True)


def _spent(system: str, jobs: Sequence[Ended]) -> tuple[str, ...]:
    hours, money = sum(job.minutes for job in jobs) / 60, sum(job.money for job in jobs)
    return system, str(len(jobs)), f"{hours:,.1f}", f"{money:,.0f}"
