"""Remarks on a page under review: a line each, in a file of each device for each page.

    2026-12-01 Wren at abcdef123456 check 3: too far from the brake chamber

A date, a pen name, the revision that was read (the first 12 hexadecimal digits of
SHA-256 of the page's bytes), the place in the page's own terms, and the words. A line
that this grammar would not write so, letter for letter, is none: it is skipped and
counted.
"""

import re
from collections.abc import Iterator
from datetime import date
from typing import NamedTuple
from unicodedata import normalize

from bot.club.names import REMARKS, stem
from bot.model.card import Card
from bot.model.pages import Note, Procedure
from bot.model.place import BotError
from bot.model.rule import StopRule

WHOLE_PAGE, PROOF = "page", "proof"
"""Places that are no numbered part of a page."""

MOST_WORDS, MOST_PEN = 500, 40
"""Letters of a remark, and of a pen name."""

MOST_BYTES = 256 * 1_024
MOST_LINES = 4_000
"""The longest file of one device on one page."""

_LINE = re.compile(
    r"(?P<day>[0-9]{4}-[0-9]{2}-[0-9]{2}) (?P<pen>[^,:]{1,40}?) at (?P<at>[0-9a-f]{12})"
    r" (?P<place>page|proof|cause [A-Z]|(?:check|repair|step) [1-9][0-9]{0,2})"
    r": (?P<words>.+)"
)


class RemarkError(BotError):
    """A remark that cannot be written so."""


class Remark(NamedTuple):
    """One remark: when, whose, on which revision, where on the page, and the words."""

    day: date
    pen: str
    at: str
    place: str
    words: str


class Read(NamedTuple):
    """What a device's file says, in its order, and how many lines of it say nothing."""

    remarks: tuple[Remark, ...]
    skipped: int


def line(told: Remark) -> str:
    """The line of a remark, without its end.

    Raises:
        RemarkError: it cannot be said so.
    """
    text = f"{told.day.isoformat()} {told.pen} at {told.at} {told.place}: {told.words}"
    if len(told.words) > MOST_WORDS:
        long = f"a remark of {len(told.words)} letters"
        raise RemarkError(f"{long}; say it in at most {MOST_WORDS}, or in two")
    if read_line(text) != told:
        raise RemarkError(
            "not a remark; write a pen name without comma and colon, a place of the "
            "page, and some words"
        )
    return text


def read_line(text: str) -> Remark | None:
    """What a line says; None for one that nobody may have written so."""
    found = _LINE.fullmatch(text)
    if found is None:
        return None
    day, pen, at, place, words = found.groups()
    if len(words) > MOST_WORDS or not (_is_one_line(pen) and _is_one_line(words)):
        return None
    try:
        return Remark(date.fromisoformat(day), pen, at, place, words)
    except ValueError:
        return None


def one_line(words: str) -> str:
    """Words with their blanks closed up, nothing cut off."""
    return normalize("NFC", " ".join(words.split()))


def _is_one_line(text: str) -> bool:
    return bool(text) and text.isprintable() and text == one_line(text)


def read(text: str) -> Read:
    """What a device's file says; a bad line is skipped, and never trusted by half.

    A line that is not ended may have been cut: it counts as bad. Lines after the most
    are not looked at.
    """
    *ended, last = text.split("\n")
    told = [read_line(raw.removesuffix("\r")) for raw in ended[:MOST_LINES]]
    remarks = tuple(remark for remark in told if remark)
    more = max(0, len(ended) - MOST_LINES) + bool(last)
    return Read(remarks, len(told) - len(remarks) + more)


def path_of(page: str, device: str) -> str:
    """Where a device's remarks on a page lie in the knowledge base.

    >>> path_of("cards/brakes/brake-drags.md", "0" * 32)[:40]
    'club/remarks/cards/brakes/brake-drags/00'

    Raises:
        RemarkError: no such file may lie in a knowledge base.
    """
    path = f"club/remarks/{stem(page)}/{device}.txt"
    if not page.endswith(".md") or not REMARKS.fullmatch(path):
        raise RemarkError(f"'{page}' can have no remarks here; name a page by its path")
    return path


def places_of(held: Card | Procedure | Note | StopRule | None) -> tuple[str, ...]:
    """All places of a page that a remark can be about; of one unread, the whole."""
    return (WHOLE_PAGE, *_parts(held))


def _parts(held: Card | Procedure | Note | StopRule | None) -> Iterator[str]:
    if isinstance(held, Card):
        yield from (f"cause {cause.letter}" for cause in held.causes)
        yield from (f"check {n}" for n, _ in enumerate(held.checks, 1))
        yield from (f"repair {n}" for n, _ in enumerate(held.repairs, 1))
        yield from () if held.is_stub else (PROOF,)
    elif isinstance(held, Procedure):
        yield from (f"step {n}" for n, _ in enumerate(held.steps, 1))
    elif isinstance(held, StopRule):
        yield from (f"step {n}" for n, _ in enumerate(held.do_now, 1))


def place_in(said: str, places: tuple[str, ...]) -> str:
    """The place that somebody means.

    >>> place_in("Cause a", ("page", "cause A", "check 1"))
    'cause A'

    Raises:
        RemarkError: the page has none that is called so.
    """
    wanted = one_line(said).lower()
    found = next((place for place in places if place.lower() == wanted), "")
    if not found:
        raise RemarkError(
            f"'{one_line(said)[:40]}' is no place of that page; write one of "
            f"{', '.join(places)}"
        )
    return found
