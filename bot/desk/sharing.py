"""Sharing what jobs taught, by consent: off until it is given, shown line by line.

What would leave is a line a job, of ids, numbers and a month (`bot.club.outcomes`); it
is shown as it is, and only what was shown is shared. The words of a job leave only by a
second leave, given for sharing, beside the one to keep them here; then they are looked
through. All of it can be taken back for good: see `FORGOTTEN`.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from bot.club import lines
from bot.club.leaving import finds
from bot.club.outcomes import (
    NONE,
    UNKNOWN,
    Outcome,
    OutcomeError,
    Wording,
    in_order,
    line,
    read_line,
    revision,
    truck_of,
)
from bot.desk.lessons import learn_shared
from bot.desk.shelf import Told, nobody, open_index
from bot.job.job import NOT_KNOWN, Job
from bot.model.card import Card
from bot.model.kinds import Share
from bot.model.truck import Truck
from bot.store import clock, device
from bot.store.device import ShareError
from bot.store.files import read_whole, write_whole
from bot.store.journal import Journal
from bot.store.pages import pages
from bot.store.pool import Pool
from bot.store.second import Ended
from bot.talk.library import Library

CONSENT = "consent.txt"
_PAPER = lines.Grammar("your consent", ("outcomes", "words", "since"))
_YES, _NO = "yes", "no"

FORGOTTEN = (
    "Every copy that is brought up to date from now on drops what this device shared. "
    "Sticks and packs that were handed out already cannot be called back."
)


class Consent(NamedTuple):
    """What a person lets be shared: outcomes, and the words of jobs as well."""

    outcomes: bool = False
    words: bool = False


class Club(NamedTuple):
    """Where things are shared: the knowledge base, one's own store, the club's id."""

    kb: Path
    home: Path
    id: str


class Offer(NamedTuple):
    """A line that would leave, of which job, and the key under which it is shared."""

    job: int
    key: str
    line: str


def consent(home: Path) -> Consent:
    """What may be shared; nothing where no paper says so, or it is damaged."""
    try:
        said = lines.read(read_whole(_paper(home), lines.MOST_BYTES), _PAPER)
    except (OSError, lines.PaperError):
        return Consent()
    outcomes = said["outcomes"] == (_YES,)
    return Consent(outcomes, outcomes and said["words"] == (_YES,))


def give_consent(home: Path, *, words: bool = False) -> Consent:
    """From now on outcomes may be shared, each shown before; `words` is a second yes.

    Raises:
        ShareError: it cannot be kept.
    """
    return _keep(home, Consent(outcomes=True, words=words))


def take_back(home: Path) -> Consent:
    """From now on nothing is shared; what left already stays until it is forgotten.

    Raises:
        ShareError: it cannot be kept.
    """
    return _keep(home, Consent()) if _paper(home).exists() else Consent()


def _paper(home: Path) -> Path:
    return home / device.CLUB / CONSENT


def _keep(home: Path, given: Consent) -> Consent:
    said = (
        ("outcomes", _YES if given.outcomes else _NO),
        ("words", _YES if given.words else _NO),
        ("since", clock.today().isoformat()),
    )
    path = _paper(home)
    try:
        path.parent.mkdir(0o700, parents=True, exist_ok=True)
        write_whole(path, lines.write(said, _PAPER).decode("ascii"))
    except OSError as error:
        raise ShareError(
            f"cannot write '{path}' ({error.strerror or error}); make room there, or "
            "make it writable"
        ) from error
    return given


def may_leave(words: str) -> bool:
    """Whether nothing is found in words that tells of a person, a place or a paper."""
    return not finds(words)


def to_share(
    club: Club, journal: Journal, library: Library, since: str = ""
) -> tuple[Offer, ...]:
    """The exact lines that would leave, of closed jobs that were not shared yet.

    Nothing is written, and nothing leaves: whether it may is asked by `share`. Jobs on
    private pages are never among them. Words are where their second leave was given.

    Args:
        club: where to.
        journal: the jobs.
        library: their pages and trucks.
        since: jobs that ended before that moment, ISO 8601, or day are left out.

    Raises:
        ShareError: what was shared so far cannot be read.
    """
    done = device.shared(club.kb, club.home, club.id)
    owed = device.waiting(club.kb, club.home, club.id)
    number = device.next_number(club.kb, club.home, club.id)
    offers: list[Offer] = []
    with_words = consent(club.home).words
    for card, data, ended in _ended(club.kb, journal, library, since):
        entry = journal.entry(ended.job)
        if entry is None:
            continue
        lorry = library.truck(ended.truck) if ended.truck else None
        told: list[Outcome | Wording | None] = [
            outcome_of(card, data, ended, entry.job, lorry)
        ]
        told += wordings_of(card, entry.job) if with_words else ()
        for nth, one in enumerate(told):
            key = _key(ended, nth)
            if one is None or key in done:
                continue
            text = owed.get(key) or _fitting(one._replace(number=number))
            if text:
                offers.append(Offer(ended.job, key, text))
                number += key not in owed
    return tuple(offers)


def _ended(
    kb: Path, journal: Journal, library: Library, since: str
) -> Iterator[tuple[Card, bytes, Ended]]:
    """The closed jobs on pages that may be shared, with the page and its bytes."""
    for page in pages(kb):
        card = library.card(page.id) if page.path.suffix == ".md" else None
        if card is None or card.share is Share.PRIVATE or card.id != page.path.stem:
            continue
        ended = [e for e in journal.endings(card.id) if e.at >= since]
        if ended:
            data = read_whole(page.path)
            yield from ((card, data, one) for one in ended)


def _key(ended: Ended, nth: int) -> str:
    """What a line is of: a job, by its number and first moment, and what of it."""
    return f"{ended.job}@{'_'.join(ended.opened.split())}#{nth}"


def outcome_of(
    card: Card, page: bytes, ended: Ended, job: Job, lorry: Truck | None
) -> Outcome | None:
    """How a job ended, as far as it is shared; its line is still to be numbered.

    Whatever is not on the page as it is now is left out, so that nothing but words of
    the page can be in it. None where its moment cannot be read.
    """
    try:
        month = datetime.fromisoformat(ended.at).strftime("%Y-%m")
    except ValueError:
        return None
    cause = ended.cause
    if cause == NOT_KNOWN or (cause and card.cause(cause) is None):
        cause = UNKNOWN
    repair = ended.repair if card.repair(ended.repair) else NONE
    return Outcome(
        1,
        card.id,
        revision(page),
        cause or NONE,
        repair,
        ended.proved,
        month,
        truck_of(lorry.fitted, lorry.without) if lorry else truck_of((), ()),
        in_order(_answered(card, job)),
    )


def _answered(card: Card, job: Job) -> Iterator[tuple[int, int]]:
    """The checks of a card that were answered, and the answers, by their numbers."""
    for number, check in enumerate(card.checks, 1):
        given = job.answered(check.id, card.id)
        for nth, finding in enumerate(check.findings, 1):
            if finding.answer == given:
                yield number, nth
                break


def wordings_of(card: Card, job: Job) -> list[Wording | None]:
    """What was said in a job whose words are kept; None for what may not leave."""
    if not job.keeps_words:
        return []
    plain = (" ".join(lines.one_line(words).split()) for words in job.words)
    return [Wording(1, card.id, said) if may_leave(said) else None for said in plain]


def _fitting(told: Outcome | Wording) -> str:
    """The line of it, without its checks where they make it too long; "" for none."""
    try:
        return line(told)
    except OutcomeError:
        pass
    try:
        return line(told._replace(checks=())) if isinstance(told, Outcome) else ""
    except OutcomeError:
        return ""


def share(club: Club, offers: Sequence[Offer]) -> int:
    """Share lines as they were shown; how many left that had not left before.

    Raises:
        ShareError: there is no consent, or a line cannot be written; those before it
            are shared.
    """
    given = consent(club.home)
    for offer in offers:
        if why := _refused(given, offer.line):
            raise ShareError(why)
    if not offers:
        return 0
    who = device.made(club.home, club.id)
    left = sum(
        device.append(club.kb, club.home, who, offer.key, offer.line)
        for offer in offers
    )
    Pool(club.kb, club.home).refresh()
    return left


def _refused(given: Consent, text: str) -> str:
    """Why a line may not leave; "" where it may."""
    told = read_line(text)
    if told is None:
        return "that is no line to be shared; have the lines shown anew"
    if not given.outcomes:
        return "nothing is shared without consent; give it first, or leave it at that"
    if isinstance(told, Wording):
        if not given.words:
            return "words are shared only by a second yes; give it, or leave them out"
        if not may_leave(told.words):
            return f"'{told.words[:60]}' may tell of a person or a paper; leave it out"
    return ""


def forget(club: Club) -> str:
    """Publish that all that this device shared is to be dropped; consent ends too.

    What can be promised is in the sentence it gives.

    Raises:
        ShareError: it could not be published.
    """
    take_back(club.home)
    who = device.forget(club.kb, club.home, club.id)
    brought_in(club)
    return FORGOTTEN if who else "Nothing was shared from here; nothing is to forget."


def brought_in(club: Club, told: Told = nobody) -> int:
    """After an import or a sync: drop who is forgotten, add up what is new.

    Where wordings were shared, pages are found by them from now on.

    Args:
        club: where it came in.
        told: hears how far the reading is, where pages are read anew for it.

    Returns:
        How many files of forgotten devices were taken off the knowledge base.
    """
    pool = Pool(club.kb, club.home)
    swept = pool.sweep()
    pool.refresh()
    if swept or pool.said(may_leave, 1):
        index = open_index(str(club.kb), str(club.home), told)
        learn_shared(index, pool, may_leave)
        index.close()
    return swept


def shown(offers: Iterable[Offer]) -> str:
    """The lines as a person is to see them before they leave, one below the other."""
    return "\n".join(offer.line for offer in offers)
