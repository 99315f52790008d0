"""From a recorded job to the draft of a page.

A draft stays with its author: it is private, names no truck, no place and no money, and
whatever in it still tells of somebody is told by its line (`bot.desk.drafted`).
"""

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import datetime
from typing import NamedTuple

from bot.cards.draft import (
    Looked,
    Told,
    note_of,
    page_of,
    proposed_id,
    stub_of,
    unfilled_at,
)
from bot.cards.front import SYSTEMS
from bot.cards.read import read_card
from bot.cards.write import write_card, write_note
from bot.club.outcomes import truck_of
from bot.desk.drafted import Likened, names_in
from bot.desk.library import KbLibrary
from bot.desk.truck import note, trucks
from bot.job import events as e
from bot.job.job import NOT_KNOWN, Job
from bot.model.card import Card, Drive, stricter
from bot.model.pages import Procedure
from bot.model.place import BotError
from bot.model.truck import Truck
from bot.store.index import CardIndex
from bot.store.journal import Journal, Walked
from bot.store.scan import CARDS, NOTES
from bot.talk.clean import clean
from bot.talk.library import look
from bot.talk.outcome import PROBABLY
from bot.talk.wording import cause_name, percent, span


class Draft(NamedTuple):
    """A page that a job makes.

    Attributes:
        path: where it belongs in the knowledge base.
        text: the whole page.
        what: in words, such as "a field note about 'wheel-valve-leaks'".
        about: the page that a note is about, "" for a page.
        likened: what it is compared with other pages by.
        said: the person's own words in it.
        remarks: what the person should know of it, sentences.
    """

    path: str
    text: str
    what: str
    about: str
    likened: Likened
    said: tuple[str, ...]
    remarks: tuple[str, ...]


class Asked(NamedTuple):
    """What a draft is asked for: an id and a system if any, a page for sure or not."""

    id: str = ""
    system: str = ""
    is_page: bool = False


class Desk(NamedTuple):
    """What drafts are made of: jobs, pages, the person's own store, the shelf."""

    journal: Journal
    library: KbLibrary
    home: str
    shelf: CardIndex


def draft(number: int, asked: Asked, desk: Desk, taken: Collection[str]) -> Draft:
    """The draft that a job makes: a note of the page it was worked by, or a new page.

    Args:
        number: the job's.
        asked: what the person wants of it.
        desk: what there is.
        taken: the ids of all pages there are.

    Raises:
        BotError: there is no such job, nothing was said in it, or nothing tells which
            system it is about.
    """
    happened = desk.journal.walked(number)
    if not happened:
        raise BotError(f"there is no job {number}; 'chock jobs' lists them")
    job, library = happened[-1].job, desk.library
    if not job.words:
        raise BotError(f"nothing was said in job {number}; name one that tells more")
    hidden = _Hidden(lorry.name for lorry in _lorries(desk.home))
    told = _told(happened, library, desk.home, hidden)
    names = {name.lower() for name in names_in(told.said, desk.shelf)}
    page_id = asked.id or proposed_id(told.complaint, taken, names)
    worked = library.card(job.card) if job.card else None
    remarks = (*hidden.remarks(), *_state_of(job))
    if worked and not _is_none_of_its_causes(job, worked):
        if not asked.is_page:
            return _note(told, page_id, worked, remarks)
        remarks += (f"The job was worked by '{worked.id}': {A_NOTE.format(number)}.",)
    system = asked.system or _system(job, worked, library)
    strict = told._replace(drive=_strictest(happened, library))
    return _page(strict, page_id, system, remarks)


A_NOTE = "a field note there may be all that is needed: chock new --from {}"


def _note(told: Told, note_id: str, about: Card, remarks: tuple[str, ...]) -> Draft:
    held = note_of(told, note_id, about.id)
    return Draft(
        f"{NOTES}/{note_id}.md",
        write_note(held),
        f"a field note about '{about.id}'",
        about.id,
        Likened(told.said),
        _own_words(told),
        remarks,
    )


def _page(told: Told, page_id: str, system: str, remarks: tuple[str, ...]) -> Draft:
    """A fault page, or a stub where that could not be read."""
    path = f"{CARDS}/{system}/{page_id}.md"
    held = page_of(told, page_id, system)
    if not isinstance(read_card(write_card(held), path), Card):
        held = stub_of(told, page_id, system)
    what = "a stub" if held.is_stub else "a fault page"
    causes = tuple(c.name for c in held.causes if unfilled_at(c.name) is None)
    signs = tuple(s for s in (held.title, *held.signs) if unfilled_at(s) is None)
    likened = Likened(signs, causes)
    return Draft(path, write_card(held), what, "", likened, _own_words(told), remarks)


def _own_words(told: Told) -> tuple[str, ...]:
    return (*told.said, *(one.words for one in told.looked if one.words))


def _is_none_of_its_causes(job: Job, card: Card) -> bool:
    """Whether the person said that it was none of the causes of the page."""
    if card.is_stub:
        return False
    out = job.outcome
    if job.named is None:
        return out is not None and not out.cause and not out.helped
    return not job.named


def _state_of(job: Job) -> Iterator[str]:
    """What the person should know of the job that a draft is made of."""
    if job.outcome is None:
        yield "The job is not closed: what comes of it is not in the draft."


def _system(job: Job, worked: Card | None, library: KbLibrary) -> str:
    """Where a page belongs: with the one worked by, or the one that sounded likest.

    Raises:
        BotError: nothing tells.
    """
    looked = (answer.card for answer in reversed(job.history))
    likely = (card for card, _ in job.candidates)
    for card_id in (*looked, *likely):
        held = worked or library.page(card_id)
        if isinstance(held, Card | Procedure) and held.system in SYSTEMS:
            return held.system
    if worked:
        return worked.system
    raise BotError(
        "nothing in that job tells which system it is; name an id and a system behind "
        f"it: {', '.join(SYSTEMS)}"
    )


# What a job tells


def _told(
    happened: Sequence[Walked], library: KbLibrary, home: str, hidden: "_Hidden"
) -> Told:
    job = happened[-1].job
    card = library.card(job.card) if job.card else None
    opened = datetime.fromisoformat(happened[0].at).date()
    cause = _cause(job, card)
    has_tried = bool(card) and bool(job.clean or job.failed or job.mended)
    minutes = job.outcome.minutes if job.outcome else 0.0
    lost = any(isinstance(step.event, e.PartLost) for step in happened)
    return Told(
        opened,
        _class_of(job, library, home),
        tuple(hidden.out_of(words) for words in job.words),
        tuple(_looked(job, library, hidden)),
        cause,
        _found(job, cause),
        card.repair(job.repair) if card and job.repair else None,
        tuple(_failed(happened, library)),
        (_proof(job), card.proof if card and has_tried else None),
        span(minutes) if minutes else "",
        tuple(_stops(job, library)),
        Drive.DO_NOT_MOVE,
        ("Some answers of the job are lost.",) if lost else (),
    )


def _class_of(job: Job, library: KbLibrary, home: str) -> str:
    """The class of the job's truck in words, as outcomes tell it; "" while unknown."""
    is_known = bool(job.truck) or len(trucks(home)) == 1
    truck = library.truck(job.truck) if is_known else None
    brakes, _, volts = truck_of(*_fitted(truck)).partition("/")
    told = (_BRAKES.get(brakes, ""), "" if volts == "any" else f"{volts} V")
    return " and ".join(part for part in told if part)


_BRAKES = {
    "air": "air brakes",
    "air-over-fluid": "air over fluid brakes",
    "fluid": "fluid brakes",
}


def _fitted(truck: Truck | None) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return (truck.fitted, truck.without) if truck else ((), ())


def _looked(job: Job, library: KbLibrary, hidden: "_Hidden") -> Iterator[Looked]:
    for answer in job.answers:
        card = library.card(answer.card)
        check = card.check(answer.check) if card else None
        title = check.title if check else answer.check.replace("-", " ")
        words = hidden.out_of(answer.words)
        said = "" if words.strip().lower() == answer.answer.lower() else words
        yield Looked(title, answer.answer, said)


def _cause(job: Job, card: Card | None) -> str:
    """What it was, by name; "" where that is not known, or none of the page's."""
    named = job.named if job.named is not None else ""
    named = named or (job.outcome.cause if job.outcome else "")
    if named in ("", NOT_KNOWN):
        return ""
    return cause_name(card, named) if card else named.replace("-", " ")


def _found(job: Job, cause: str) -> str:
    help_ = " Help was called." if job.helped else ""
    if cause:
        return f"It was: {cause}.{help_}"
    if job.card and job.named == "":
        return f"It was none of the causes that the page names.{help_}"
    return f"What it was is not known.{help_}"


def _failed(happened: Sequence[Walked], library: KbLibrary) -> Iterator[str]:
    """What was tried and did not help, or not enough, each once."""
    job = happened[-1].job
    for says, some in (
        ("did not cure it", job.failed),
        ("made it better, not good", job.mended),
    ):
        for tried in dict.fromkeys(some):
            card = library.card(tried.card)
            repair = card.repair(tried.repair) if card else None
            title = repair.title if repair else tried.repair.replace("-", " ")
            yield f'"{title}" {says}.'
    if any(isinstance(step.event, e.CameBack) for step in happened):
        yield "It came back after the job had been closed."


def _proof(job: Job) -> str:
    """Whether the repair is proved, and by how many clean trials."""
    if not job.repair:
        return ""
    trials = f"{job.clean} clean trial{'' if job.clean == 1 else 's'}"
    out = job.outcome
    before = ""
    if job.showed and job.showed != (1, 1):
        before = f" Before, it showed in {job.showed[0]} of {job.showed[1]} tries."
    if out and out.proved:
        return f"Proved by {trials}.{before}"
    if not job.clean:
        return f"Not proved: no trial was clean.{before}"
    sure = f", which makes it {percent(out.sure)} sure" if out and out.sure else ""
    near = "Probably cured" if out and out.sure >= PROBABLY else "Not proved"
    return f"{near}: {trials} so far{sure}.{before}"


def _stops(job: Job, library: KbLibrary) -> Iterator[str]:
    """The titles of the stop rules that were raised, passed or denied."""
    kept = {rule.id: rule.title for rule in job.kept}
    raised = dict.fromkeys((*job.stops, *job.passed, *job.denied_stops))
    for rule_id in raised:
        rule = library.rule(rule_id)
        title = rule.title if rule else kept.get(rule_id, "")
        if title:
            denied = rule_id in job.denied_stops and rule_id not in job.stops
            yield f"{title} (looked at, and not so)" if denied else title


def _strictest(happened: Sequence[Walked], library: KbLibrary) -> Drive:
    """The strictest verdict there ever was; where no page told any, with care."""
    drive = Drive.NO_LIMIT
    for step in happened:
        drive = stricter(drive, look(step.job, library).drive)
    by_page = any(step.job.card for step in happened)
    return drive if by_page else stricter(drive, Drive.CARE)


# What tells of people


def _lorries(home: str) -> Iterator[Truck]:
    found = (note(home, truck_id) for truck_id in trucks(home))
    return (lorry for lorry in found if isinstance(lorry, Truck))


class _Hidden:
    """Takes the names of the keeper's trucks out of words, and knows how often."""

    def __init__(self, names: Iterable[str]) -> None:
        kept = sorted({n.strip() for n in names} - {""}, key=len, reverse=True)
        own = [n for n in kept if n.lower() not in _NO_NAMES]
        said = "|".join(map(re.escape, own))
        self._pattern = re.compile(
            rf"(?:\b(?:the|my|our|old) )?(?<!\w)(?:{said})(?!\w)", re.IGNORECASE
        )
        self._is_used = bool(own)
        self.times = 0

    def out_of(self, words: str) -> str:
        """Words fit for a terminal, "the truck" in place of its name."""
        text = clean(words)
        if not self._is_used:
            return text
        text, times = self._pattern.subn("the truck", text)
        self.times += times
        return text

    def remarks(self) -> Iterator[str]:
        """That a name was taken out, if one was."""
        if self.times:
            yield "Your truck's name was in the words; 'the truck' stands there now."


_NO_NAMES = frozenset(("truck", "the truck", "my truck", "your truck", "lorry"))
