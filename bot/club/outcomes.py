"""Outcomes and learnt wordings as they are shared: a line each, and nothing else in it.

    1 outcome 7 page wheel-valve-leaks rev 0123456789ab cause vent-blocked repair
      soap-it proved yes truck air/24 month 2026-11 checks 1=2 3=1      (one line)
    1 wording 8 page wheel-valve-leaks says one wheel goes down overnight

Each begins with the edition; its number is the device's own. What an outcome may hold
is listed here and nowhere else: ids of the page, numbers, words of fixed lists, a
month. A line that this grammar would not write so, letter for letter, is none. Checks
stand by their numbers on the page, and answers by theirs under the check, which tells
what they were only beside the digest of that very page; where it is missing, so are
they.

A wording is what a person said of a fault, and shared by a word of leave of its own.
It is free text, so whoever writes or reads one has it looked through as well (`Clean`).
"""

import re
from collections.abc import Callable, Collection, Iterable, Iterator
from hashlib import sha256
from itertools import islice, pairwise
from typing import NamedTuple
from unicodedata import normalize

from bot.model.place import BotError

NONE, UNKNOWN = "-", "?"
"""For a cause: none of those that the page names, and not known. No id is so."""

MOST_LINE_BYTES, MOST_LINES = 300, 20_000
MOST_WORDS = 200
"""The longest line, the most lines of one device, the most letters of a wording."""

MOST_BYTES = 4 * 1024 * 1024
"""The longest file of one device, as `bot.club.names` has it."""

BRAKES = ("air", "air-over-fluid", "fluid", "any")
VOLTS = ("12", "24", "any")
"""What is told of a truck: much less would be nothing, more could tell whose it is."""

TRUCKS = tuple(f"{brakes}/{volts}" for brakes in BRAKES for volts in VOLTS)
ANY_TRUCK = "any/any"

_BRAKES_OF = (
    ("air brakes", "air"),
    ("air over fluid", "air-over-fluid"),
    ("fluid brakes", "fluid"),
)


class OutcomeError(BotError):
    """Something that may not be shared so."""


class Outcome(NamedTuple):
    """How one job ended, as far as it is shared.

    Attributes:
        number: of the device's lines, from 1.
        page: the id of the fault page.
        revision: the first 12 hexadecimal digits of SHA-256 of its bytes; "" where
            that is not known.
        cause: its id on the page, `NONE` or `UNKNOWN`.
        repair: its id on the page, or `NONE`.
        proved: whether it was proved cured.
        month: such as 2026-11.
        truck: one of `TRUCKS`.
        checks: (number of the check, number of its answer), from 1, in rising order.
    """

    number: int
    page: str
    revision: str
    cause: str
    repair: str
    proved: bool
    month: str
    truck: str = ANY_TRUCK
    checks: tuple[tuple[int, int], ...] = ()


class Wording(NamedTuple):
    """What somebody said of the fault that a page is about."""

    number: int
    page: str
    words: str


Clean = Callable[[str], bool]
"""Whether a text holds nothing that tells of a person or a place."""

_ID = r"(?![a-z0-9-]*[0-9]{5})[a-z0-9][a-z0-9-]{0,79}"
_PAIR = r"[1-9][0-9]?=[1-9][0-9]?"
_NUMBER = r"[1-9][0-9]{0,5}"
_OUTCOME = re.compile(
    rf"1 outcome (?P<number>{_NUMBER}) page (?P<page>{_ID})"
    r" rev (?P<revision>-|[0-9a-f]{12})"
    rf" cause (?P<cause>[-?]|{_ID}) repair (?P<repair>-|{_ID})"
    rf" proved (?P<proved>yes|no) truck (?P<truck>{'|'.join(TRUCKS)})"
    r" month (?P<month>20[0-9]{2}-(?:0[1-9]|1[0-2]))"
    rf" checks (?P<checks>-|{_PAIR}(?: {_PAIR})*)"
)
_WORDING = re.compile(
    rf"1 wording (?P<number>{_NUMBER}) page (?P<page>{_ID}) says (?P<words>.+)"
)
_TELLS = re.compile(
    r"\d(?:[\W_]*\d){4}|@|://|www\.|[°º]\W*\d|(?:^|\s)[~/]\w|\\|\ufffd", re.IGNORECASE
)
"""Five digits with no letter between them, addresses, degrees and minutes, paths: the
second net, under the one that looks for people and papers."""


def line(told: Outcome | Wording) -> str:
    """The line of an outcome or a wording.

    A wording must have been looked through already.

    Raises:
        OutcomeError: it holds something that no such line may.
    """
    if isinstance(told, Wording):
        text = f"1 wording {told.number} page {told.page} says {told.words}"
    else:
        text = _outcome_said(told)
    if read_line(text) != told:
        raise OutcomeError(
            "what was to be shared holds more than ids, numbers and a month, or is "
            "too long; leave it out"
        )
    return text


def _outcome_said(told: Outcome) -> str:
    checks = " ".join(f"{check}={answer}" for check, answer in told.checks)
    return (
        f"1 outcome {told.number} page {told.page} rev {told.revision or NONE}"
        f" cause {told.cause} repair {told.repair}"
        f" proved {'yes' if told.proved else 'no'} truck {told.truck}"
        f" month {told.month} checks {checks or NONE}"
    )


def read_line(text: str) -> Outcome | Wording | None:
    """What a line says; None for one that nobody may have written so.

    A wording that is read still has to be looked through.
    """
    if len(text.encode("utf-8", "replace")) > MOST_LINE_BYTES:
        return None
    if found := _OUTCOME.fullmatch(text):
        return _outcome(found)
    found = _WORDING.fullmatch(text)
    if found is None or not may_be_said(found["words"]):
        return None
    return Wording(int(found["number"]), found["page"], found["words"])


def _outcome(found: re.Match[str]) -> Outcome | None:
    number, page, revision, cause, repair, proved, truck, month, told = found.groups()
    checks: tuple[tuple[int, int], ...] = ()
    if told != NONE:
        pairs = (pair.partition("=") for pair in told.split(" "))
        checks = tuple((int(check), int(answer)) for check, _, answer in pairs)
        rising = all(a < b for (a, _), (b, _) in pairwise(checks))
        if not rising or revision == NONE:
            return None
    known = "" if revision == NONE else revision
    is_proved = proved == "yes"
    return Outcome(
        int(number), page, known, cause, repair, is_proved, month, truck, checks
    )


def may_be_said(words: str) -> bool:
    """Whether words have the form of a wording; they still have to be looked through.

    >>> may_be_said("hisses at 8 bar"), may_be_said("ring 0170 12 345")
    (True, False)
    """
    plain = normalize("NFC", " ".join(words.split()))
    is_plain = words == plain and words.isprintable() and 0 < len(words) <= MOST_WORDS
    return is_plain and not _TELLS.search(words)


class Read(NamedTuple):
    """What a device's file says, and how many of its lines say nothing."""

    outcomes: tuple[Outcome, ...]
    wordings: tuple[Wording, ...]
    skipped: int


def read(text: str) -> Read:
    """What a device's file says; a bad line is skipped, and never trusted by half.

    A line that is not ended may have been cut: it counts as bad. Lines after the most
    are not looked at.
    """
    outcomes, wordings, skipped = [], [], 0
    for raw in lines_of(text):
        told = read_line(raw)
        if isinstance(told, Outcome):
            outcomes.append(told)
        elif told:
            wordings.append(told)
        else:
            skipped += 1
    whole = text.count("\n")
    skipped += max(0, whole - MOST_LINES) + (not text.endswith("\n") and text != "")
    return Read(tuple(outcomes), tuple(wordings), skipped)


def lines_of(text: str) -> Iterator[str]:
    """The lines of a file that are ended, up to the most; the end may be CR LF."""
    ended = text.split("\n", MOST_LINES + 1)[:-1]
    return (raw.removesuffix("\r") for raw in islice(ended, MOST_LINES))


def revision(page: bytes) -> str:
    """What a revision of a page is called in an outcome."""
    return sha256(page).hexdigest()[:12]


def truck_of(fitted: Collection[str], without: Collection[str]) -> str:
    """The class of a truck, of what it has and has not for sure (`model.fitted`).

    >>> truck_of(["air brakes", "24 V", "winch"], []), truck_of([], ["24 V"])
    ('air/24', 'any/12')
    """
    brakes = next((kind for name, kind in _BRAKES_OF if name in fitted), "any")
    volts = "24" if "24 V" in fitted else "12" if "24 V" in without else "any"
    return f"{brakes}/{volts}"


def in_order(pairs: Iterable[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Checks and answers in the order in which a line has them."""
    return tuple(sorted(dict(pairs).items()))
