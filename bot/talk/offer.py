"""Which cards are put before the person, and what tells each from the others."""

from collections.abc import Sequence
from dataclasses import replace

from bot.job.events import CardChosen
from bot.job.job import Job
from bot.model.card import Card
from bot.model.pages import Procedure
from bot.talk.library import Library
from bot.talk.messages import Candidate, Candidates, Message, PageAsked, Say

CLEAR = 0.75
"""A card this likely is offered by itself; otherwise one question parts the nearest."""

WORTH_ASKING = 0.03
"""A card less likely than this is not put beside a likelier one."""

NEAR = 0.1
"""Where nothing fits, a card less likely than this is not shown. Our choice."""

NEAREST = 3
HALF = 0.5


def nearest(job: Job, library: Library) -> tuple[Candidate, ...]:
    """The cards worth asking about, each with what tells it from the others."""
    left = [(card, p) for card, p in job.candidates if card not in job.declined]
    pages = [(_page(card, library), p) for card, p in left[:NEAREST]]
    known = [(page, p) for page, p in pages if page]
    if job.candidates and not any(_page(card, library) for card, _ in job.candidates):
        # their pages are gone: those that the words mean now
        ranked = library.rank(". ".join(job.words), job.truck).cards[:NEAREST]
        pages = [(_page(c.card, library), c.probability) for c in ranked]
        known = [(page, p) for page, p in pages if page]
    cards = [page for page, _ in known if isinstance(page, Card)]
    return tuple(
        Candidate(
            page.id,
            _title(page),
            p,
            look=_look(page.id, cards),
            is_procedure=isinstance(page, Procedure),
        )
        for page, p in known
    )


def _page(page: str, library: Library) -> Card | Procedure | None:
    return library.card(page) or library.procedure(page)


def _title(page: Card | Procedure) -> str:
    """The title of a page, and what it is when it leads through no fault."""
    if isinstance(page, Procedure):
        return f"How it is done: {page.title}"
    return f"{page.title} (known, no page yet)" if page.is_stub else page.title


def pick(found: Candidate) -> CardChosen | PageAsked:
    """What it means to pick a page: to work by it, or to have it shown."""
    made = PageAsked if found.is_procedure else CardChosen
    return made(found.card)


def _look(card: str, known: list[Card]) -> str:
    """How the other cards on offer describe this one to tell it apart."""
    rest = {other.id for other in known}
    for other in known:
        for look_alike in other.look_alikes:
            if other.id in rest and look_alike.card == card:
                return look_alike.phrase
    return ""


def on_offer(job: Job, library: Library) -> tuple[Candidate, ...]:
    """The cards that are asked about: all that are near, or the likely ones of them."""
    near = nearest(job, library)
    if not near or not is_fitting(job):
        return tuple(card for card in near if card.probability >= NEAR)
    if near[0].probability >= CLEAR:
        return near[:1]
    return (near[0], *(c for c in near[1:] if c.probability >= WORTH_ASKING))


def declined(
    job: Job, offered: Sequence[str], rest: str, library: Library
) -> tuple[str, ...]:
    """The cards that a "no" with more behind it declines.

    "No, not the engine, it is water in the lines" leaves the one that it speaks for.
    """
    found = library.rank(rest, job.truck).cards
    ranked = {card.card: card.probability for card in found}
    likely = sorted(offered, key=lambda card: -ranked.get(card, 0.0))
    best, *others = (ranked.get(card, 0.0) for card in likely)
    spoken_for = best >= WORTH_ASKING and best >= AHEAD * max(others, default=0.0)
    return tuple(c for c in offered if not (spoken_for and c == likely[0]))


def offered_again(job: Job, words: str, library: Library) -> tuple[str, ...]:
    """The declined card that new words by themselves speak for: none or one."""
    if not job.declined:
        return ()
    ranked = library.rank(words, job.truck).cards
    first = ranked[0] if ranked else None
    if first is None or first.card not in job.declined or first.probability < HALF:
        return ()
    return (first.card,)


AHEAD = 2.0
"""So many times likelier than the others a card must be that is spoken for."""


def is_fitting(job: Job) -> bool:
    """Whether some card that was not declined is likelier than that none fits."""
    left = [p for card, p in job.candidates if card not in job.declined]
    return bool(left) and 1.0 - sum(left) < HALF


def on_the_table(rows: tuple[Candidate, ...], job: Job) -> tuple[Message, ...]:
    """The pages on offer; what is the same of all is said once."""
    stand = {row.standing for row in rows}
    told: tuple[Message, ...] = ()
    if len(stand) == 1:
        rows = tuple(replace(row, standing="") for row in rows)
        how, many = next(iter(stand)), len(rows)
        each = "This page" if many == 1 else f"All {many} pages"
        told = (Say(f"{each}: {how}."),) if how else ()
    return (*told, Candidates(rows, job.none, is_fitting(job)))
