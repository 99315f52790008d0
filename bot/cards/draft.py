"""Drafts of pages from what a job recorded: sound in their grammar, open in places.

What an author must still write is marked: a text that says `fill in:` anywhere, or that
begins with `fill in` where no colon may stand, is told by the lint until it is written.
"""

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import NamedTuple
from unicodedata import normalize

from bot.cards.hidden import hidden
from bot.cards.read import NO_PROOF
from bot.cards.template import CHECK_BY
from bot.model.card import (
    Bearing,
    Card,
    Cause,
    Check,
    Drive,
    Duration,
    Finding,
    Link,
    Needs,
    Often,
    Proof,
    Prose,
    Repair,
    Share,
    State,
    Strength,
)
from bot.model.pages import Note
from bot.model.sources import Citation, Source

MOST_TITLE, MOST_SIGN, MOST_SAID = 70, 150, 240
"""Letters of a title, of a sign, and of a statement that is quoted. Our choice."""

MOST_LINE = 1_900
"""Letters of a paragraph, which is one line: no word can begin another one."""

MOST_SIGNS = 11
MOST_STATEMENTS = 4
MOST_CHECKS, MOST_CHECK_LINES = 20, 5
"""What is told of a job; a note may have twelve lines in all."""

_AUTHORS = ("pen name",)
"""As the templates have it, for the author to write anew."""

_UNFILLED = re.compile(r"\Afill in\b|(?<![\w'])fill in:")


def unfilled_at(text: str) -> int | None:
    r"""On which line of a text, from 0, something is still to be filled in; or None.

    >>> unfilled_at("1. Look.\n2. fill in: what then."), unfilled_at("Fill in a hole.")
    (1, None)
    """
    found = _UNFILLED.search(text)
    return text.count("\n", 0, found.start()) if found else None


# A person's words as plain text

_SAID_OTHERWISE = (
    (re.compile(r"[-=]+>"), " to "),
    (re.compile(r"<\s*(?=\d)"), "under "),
    (re.compile(r">\s*(?=\d)"), "over "),
    (re.compile(r"~\s*(?=\d)"), "about "),
    (re.compile(r"#\s*(?=\d)"), "no. "),
)
_SIGNS_OF_MARKDOWN = str.maketrans(
    {
        "*": None,
        "~": None,
        "#": None,
        "_": " ",
        "`": "'",
        '"': "'",
        "[": "(",
        "]": ")",
        "<": "(",
        ">": ")",
        "\\": "/",
        "|": "/",
        "&": " and ",
    }
)
_LEADING = re.compile(r"\A[^\w('\u2018\u201c]+")
_NUMBERED = re.compile(r"\A([0-9]{1,9})[.)](?=\s|\Z)")


def plain(words: str, most: int = MOST_SAID) -> str:
    r"""A person's words on one line, with nothing that reads as Markdown or hides.

    Args:
        words: whatever was said.
        most: letters that are kept; what is cut off ends in three stops.

    >>> plain("**1.** see [here](x) & `run`\n> 8 bar", 80)
    "1 see (here)(x) and 'run' over 8 bar"
    """
    normal = normalize("NFC", words)
    unseen = {c for c in set(normal) if not c.isspace() and hidden(c, "")}
    text = " ".join("".join(c for c in normal if c not in unseen).split())
    for pattern, said in _SAID_OTHERWISE:
        text = pattern.sub(said, text)
    text = " ".join(text.translate(_SIGNS_OF_MARKDOWN).split())
    text = _LEADING.sub("", text, count=1)
    return cut(_NUMBERED.sub(r"\1", text, count=1), most)


def cut(text: str, most: int) -> str:
    """A text of at most so many letters, cut between words where there are any.

    >>> cut("one hub hisses after parking", 20)
    'one hub hisses ...'
    """
    if len(text) <= most:
        return text
    head = text[: most - 4]
    at = head.rfind(" ")
    return f"{(head[:at] if at > most // 2 else head).rstrip(' ,;:-.')} ..."


_ENDS = re.compile(r"(?<=[.!?])\s+|(?<=[\u3002\uff01\uff1f\u0964])\s*|\n+")
_FEWEST_LETTERS = 4


def statements(said: Sequence[str]) -> tuple[str, ...]:
    """What people notice, a sentence each, none twice, as a page has it."""
    found: dict[str, str] = {}
    for words in said:
        for piece in _ENDS.split(words):
            text = plain(piece, MOST_SIGN).rstrip(" .")
            if len(text) >= _FEWEST_LETTERS:
                found.setdefault(
                    " ".join(sorted(re.findall(r"\w+", text.lower()))), text
                )
    return tuple(found.values())


_SMALL = frozenset(
    re.findall(
        "[a-z]+",
        "a after an and at for from in is it of on the to truck when with",
    )
)
_MOST_WORDS = 6


def proposed_id(title: str, taken: Collection[str], without: Collection[str]) -> str:
    """A free name for a page, of words of its title.

    Long numbers are left out, and the words in `without`: a file's name leaves too.

    >>> proposed_id("One hub hisses, Tom says", {"one-hub-hisses-says"}, {"tom"})
    'one-hub-hisses-says-2'
    """
    letters = normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    words = re.findall(r"[a-z0-9]+", letters.replace("'", ""))
    kept = [
        word
        for word in words
        if word not in _SMALL and word not in without and not re.search(r"\d{4}", word)
    ]
    name = "-".join(kept[:_MOST_WORDS])[:60].strip("-") or "from-a-job"
    number, free = 1, name
    while free in taken:
        number += 1
        free = f"{name}-{number}"
    return free


# What a job told, and the pages that it makes


class Looked(NamedTuple):
    """A check that was made: its title, the answer, and the person's own words."""

    title: str
    answer: str
    words: str = ""


class Told(NamedTuple):
    """What a job told, in texts that need not be plain yet.

    Attributes:
        day: when it was begun.
        truck: the class of truck, in words; "" where nobody noted it.
        said: the complaint in the person's own words.
        looked: the checks that were made.
        cause: what it was; "" where that is not known, or none of the page's.
        found: how that is said, as a sentence.
        repair: what cured it or was to; None for none.
        failed: what was tried and did not help, sentences.
        proof: whether it is proved, as a sentence; the trial that was made, or None.
        spent: the work in words, "" where none was noted.
        stops: titles of the stop rules that were raised.
        drive: the strictest verdict that the job ever had; a note tells none.
        remarks: what else is to be told, sentences.
    """

    day: date
    truck: str
    said: tuple[str, ...]
    looked: tuple[Looked, ...]
    cause: str
    found: str
    repair: Repair | None
    failed: tuple[str, ...]
    proof: tuple[str, Proof | None]
    spent: str
    stops: tuple[str, ...]
    drive: Drive
    remarks: tuple[str, ...] = ()

    @property
    def complaint(self) -> str:
        """The first thing that was said, as a title."""
        first = next(iter(statements(self.said)), "") or "A complaint"
        return cut(f"{first[:1].upper()}{first[1:]}", MOST_TITLE)


def note_of(told: Told, page_id: str, about: str) -> Note:
    """The field note that a job makes, of at most twelve lines."""
    said = (f'"{plain(words)}"' for words in told.said[:MOST_STATEMENTS])
    truck = f"On a truck with {told.truck}." if told.truck else _WHICH_TRUCK
    lines = (truck, f"The complaint: {', '.join(said)}.", *_facts(told))
    return Note(
        page_id,
        _title_of(told),
        about,
        told.day,
        Share.PRIVATE,
        _AUTHORS,
        tuple(map(Prose, lines)),
    )


_WHICH_TRUCK = (
    "fill in: which class of truck, such as air brakes and 24 V; never whose it is or "
    "where it stands."
)


def _title_of(told: Told) -> str:
    if not told.cause:
        return cut(f"Not found: {told.complaint}", MOST_TITLE)
    sure = "cured and proved" if told.proof[0].startswith("Proved") else "not proved"
    return f"{cut(plain(told.cause), MOST_TITLE - 20)}, {sure}"


def _facts(told: Told) -> Iterator[str]:
    """What was looked at, found, mended, proved and spent, a paragraph a line."""
    looked = [_check_said(one) for one in told.looked[-MOST_CHECKS:]]
    many = -(-len(looked) // MOST_CHECK_LINES) or 1
    rows = [looked[n : n + many] for n in range(0, len(looked), many)]
    if rows:
        yield "\n".join(cut(" ".join(row), MOST_LINE) for row in rows)
    repair = f"Repair made: {plain(told.repair.title)}." if told.repair else ""
    ended = (told.found, *told.failed, repair, told.proof[0])
    yield cut(" ".join(says for says in ended if says), MOST_LINE)
    if told.spent:
        yield f"It took {told.spent} of work."
    if told.stops:
        titles = ", ".join(f'"{plain(title)}"' for title in told.stops)
        yield cut(f"Raised on the way, to stop at once: {titles}.", MOST_LINE)
    if told.remarks:
        yield cut(" ".join(told.remarks), MOST_LINE)


def _check_said(one: Looked) -> str:
    words = plain(one.words, 100)
    own = f' ("{words}")' if words else ""
    return f'Check "{plain(one.title)}": {plain(one.answer).rstrip(".")}{own}.'


def stub_of(told: Told, page_id: str, system: str) -> Card:
    """The stub that a job makes: the complaint, and no page yet."""
    return Card(
        id=page_id,
        title=told.complaint,
        system=system,
        signs=_signs(told),
        look_alikes=(),
        fits=(),
        drive=told.drive,
        share=Share.PRIVATE,
        check_by=CHECK_BY,
        authors=_AUTHORS,
        opening=(Prose("fill in: what to do until there is a page."),),
        causes=(),
        checks=(),
        repairs=(),
        proof=NO_PROOF,
        nothing=(),
        sources=(),
        is_stub=True,
    )


def _signs(told: Told) -> tuple[str, ...]:
    """How it was said; that there are too few to a page, the lint tells."""
    return statements(told.said)[:MOST_SIGNS] or ("fill in: how people say it",)


_OFF = (State("engine off"), State("wheels chocked"))


def page_of(told: Told, page_id: str, system: str) -> Card:
    """The fault page that a job makes; the rest is to be filled in."""
    repair = _repair(told)
    cure = Link("repair 1", f"#{repair.id}")
    name = re.sub(r"[,:;.()]", " ", plain(told.cause, MOST_TITLE))
    cause = Cause(
        " ".join(name.split()) or "fill in the cause", Often.USUAL, (cure,), letter="A"
    )
    return replace(
        stub_of(told, page_id, system),
        opening=tuple(_opening(told)),
        causes=(cause,),
        checks=(_check(cause, cure),),
        repairs=(repair,),
        proof=_proof(told.proof[1]),
        nothing=(Prose(_WHAT_THEN),),
        remarks=tuple(map(Prose, _remarks(told))),
        sources=(Source("no figures", (Citation("common-practice"),)),),
        is_stub=False,
    )


_WHAT_THEN = (
    "fill in: what to note, which page or procedure comes next, whom to call, and what "
    "the truck may do meanwhile."
)


def _opening(told: Told) -> Iterator[Prose]:
    yield Prose("fill in: what goes on inside the machine, in two to five sentences.")
    yield Prose("fill in: the cautions for the whole job, and whether it may move.")
    for title in told.stops:
        where = "fill in: the finding that must lead to it."
        yield Prose(f'In the job the stop rule "{plain(title)}" was raised. {where}')


def _check(cause: Cause, cure: Link) -> Check:
    likely, hardly = (
        Bearing(strength, cause.id) for strength in (Strength.LIKELY, Strength.HARDLY)
    )
    return Check(
        "fill in what to look at",
        Needs(Duration("5", "min"), truck=_OFF),
        (Prose("1. fill in: how to look, and with what; more such checks below."),),
        (
            Finding("fill in what one sees when it is so", (likely,), next=cure),
            Finding("fill in what one sees when it is not", (hardly,)),
        ),
    )


def _repair(told: Told) -> Repair:
    """The repair that was made, without what only its own page could mean."""
    steps = (Prose("1. fill in: what was done, step by step, with what."),)
    made = told.repair
    if made is None:
        needs = Needs(Duration("30", "min"), truck=_OFF, after=Drive.CARE)
        return Repair("fill in what mends it", needs, steps)
    needs = replace(made.needs, not_before=(), only=(), fact="", first=False)
    return Repair(plain(made.title, MOST_TITLE), needs, steps)


def _proof(made: Proof | None) -> Proof:
    body = (Prose("fill in: what to try, and how."),)
    if made is None:
        needs = Needs(Duration("30", "min"), truck=(State("parked"),))
        says = ("fill in: what counts as cured.", "fill in: what counts as not cured.")
        return Proof(needs, body, *says)
    return Proof(made.needs, body, plain(made.clean), plain(made.not_clean))


def _remarks(told: Told) -> Iterator[str]:
    truck = f", on a truck with {told.truck}" if told.truck else ""
    yield f"Drawn from one job of {told.day.isoformat()}{truck}."
    yield from _facts(told._replace(stops=()))
