"""Card -> card text, in the one layout that `kb/README.md` lays down.

Prose and cautions come out letter for letter; everything else is written afresh. For a
tidy card, writing what was read gives the same text.
"""

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import chain

from bot.cards.evidence import Labels, labels_of, write_cause, write_finding, write_link
from bot.cards.front import (
    FAULT,
    NOTE,
    PROCEDURE,
    STOP_RULE,
    STUB,
    scalar,
    write_front,
)
from bot.cards.lesser import DONE, STEPS, WHEN
from bot.cards.needs import write_needs
from bot.cards.read import (
    HEARSAY,
    HOW_TO_STRIKE,
    LOOK_ALIKES,
    NOTHING_FOUND,
    REMARKS,
    SIGNS,
    TO_PROVOKE,
    TO_WATCH,
)
from bot.cards.readings import write_readings
from bot.cards.sources import write_source
from bot.model.card import Block, Card, Caution, Check, Drive, Proof, Repair, Share
from bot.model.pages import Note, Procedure
from bot.model.rule import StopRule
from bot.model.sources import Source


def write_card(card: Card) -> str:
    """The text of a card, ending in one line feed."""
    if card.is_stub:
        return _stub(card)
    labels = labels_of(card)
    letters = {cause.id: cause.letter for cause in card.causes}
    pieces = chain(
        _top(card, FAULT),
        _blocks(card.opening),
        _signs(card),
        ("## Causes", HOW_TO_STRIKE),
        (_dashes(write_cause(cause, labels) for cause in card.causes), "## Checks"),
        chain.from_iterable(
            _check(n, check, letters, labels) for n, check in enumerate(card.checks, 1)
        ),
        ("## Repairs",),
        chain.from_iterable(_repair(*pair) for pair in enumerate(card.repairs, 1)),
        ("## Proof",),
        _proof(card.proof),
        _section(NOTHING_FOUND, card.nothing),
        _section(HEARSAY, card.hearsay),
        _section(REMARKS, card.remarks),
        _sources(card.sources),
    )
    return "\n\n".join(piece for piece in pieces if piece) + "\n"


def write_rule(rule: StopRule) -> str:
    """The text of a stop rule, ending in one line feed."""
    front = write_front(
        [
            ("kind", STOP_RULE),
            ("question", scalar(rule.question)),
            ("signs", tuple(map(scalar, rule.signs))),
            *_head(rule.share, rule.check_by, rule.authors),
        ]
    )
    steps = "\n".join(f"{n}. {step}" for n, step in enumerate(rule.do_now, 1))
    pieces = chain(
        (front, f"# {rule.title}", _verdict(rule.drive)),
        _blocks(rule.cautions),
        ("## Do now", steps, "## Call for help when"),
        _blocks(rule.call_for_help),
        ("## Who decides",),
        _blocks(rule.who_decides),
        _sources(rule.sources),
    )
    return "\n\n".join(piece for piece in pieces if piece) + "\n"


def write_procedure(held: Procedure) -> str:
    """The text of a procedure, ending in one line feed."""
    steps = (
        (f"### {n}. {s.title}", f"*{write_needs(s.needs)}*", *_blocks(s.body))
        for n, s in enumerate(held.steps, 1)
    )
    pieces = chain(
        _top(held, PROCEDURE),
        _blocks(held.opening),
        (f"## {WHEN}", _dashes(held.signs), f"## {STEPS}"),
        chain.from_iterable(steps),
        _section(DONE, held.done),
        _sources(held.sources),
    )
    return "\n\n".join(piece for piece in pieces if piece) + "\n"


def _stub(stub: Card) -> str:
    pieces = chain(
        _top(stub, STUB),
        _blocks(stub.opening),
        (f"## {SIGNS}", _dashes(stub.signs)),
    )
    return "\n\n".join(piece for piece in pieces if piece) + "\n"


def write_note(note: Note) -> str:
    """The text of a field note, ending in one line feed."""
    front = write_front(
        [
            ("kind", NOTE),
            ("about", note.about),
            ("seen", note.seen.isoformat()),
            ("share", note.share.value),
            ("authors", tuple(map(scalar, note.authors))),
        ]
    )
    pieces = chain((front, f"# {note.title}"), _blocks(note.body))
    return "\n\n".join(pieces) + "\n"


def _top(held: Card | Procedure, kind: str) -> Iterator[str]:
    """Front matter, title and verdict."""
    yield write_front(
        [
            ("kind", kind),
            ("system", held.system),
            ("fits", tuple(" or ".join(group) for group in held.fits)),
            *_head(held.share, held.check_by, held.authors),
        ]
    )
    yield f"# {held.title}"
    yield _verdict(held.drive)


def _head(
    share: Share, check_by: date, authors: tuple[str, ...]
) -> list[tuple[str, str | tuple[str, ...]]]:
    return [
        ("share", share.value),
        ("check-by", check_by.isoformat()),
        ("authors", tuple(map(scalar, authors))),
    ]


def _verdict(drive: Drive) -> str:
    return f"**May it move:** {drive.value}."


def _signs(card: Card) -> Iterator[str]:
    yield f"## {SIGNS}"
    yield _dashes(card.signs)
    yield f"{TO_PROVOKE}{card.provoke}" if card.provoke else ""
    yield f"{TO_WATCH}{card.watch}" if card.watch else ""
    if card.look_alikes:
        yield f"## {LOOK_ALIKES}"
        yield _dashes(f"{a.phrase}: {write_link(a.link, {})}" for a in card.look_alikes)


EXTRA = "(no empty line here)"


def untidy_line(text: str, tidy: str) -> tuple[int, str] | None:
    """The first line, from 1, where a text differs from its tidy form, and that form.

    None when the two are the same.
    """
    if text == tidy:
        return None
    lines, wanted = text.split("\n"), tidy.split("\n")
    for number, (line, other) in enumerate(zip(lines, wanted, strict=False), 1):
        if line != other:
            return number, EXTRA if not line else other
    return min(len(lines), len(wanted)), "(one line feed at the end)"


def _dashes(lines: Iterable[str]) -> str:
    return "\n".join(f"- {line}" for line in lines)


def _blocks(blocks: tuple[Block, ...]) -> Iterator[str]:
    for block in blocks:
        if isinstance(block, Caution):
            act = f", {block.act.value}" if block.act else ""
            said = f"**{block.signal.value}{act}** {block.text}"
            yield "\n".join(f"> {line}" for line in said.split("\n"))
        else:
            yield block.text


def _section(name: str, blocks: tuple[Block, ...]) -> Iterator[str]:
    if blocks:
        yield f"## {name}"
        yield from _blocks(blocks)


def _check(
    number: int, check: Check, letters: dict[str, str], labels: Labels
) -> Iterator[str]:
    yield f"### {number}. {check.title}"
    yield f"*{write_needs(check.needs)}*"
    yield from _blocks(check.body)
    if check.readings:
        yield write_readings(check.readings)
    yield _dashes(write_finding(finding, letters, labels) for finding in check.findings)


def _repair(number: int, repair: Repair) -> Iterator[str]:
    yield f"### {number}. {repair.title}"
    yield f"*{write_needs(repair.needs)}*"
    yield from _blocks(repair.body)


def _proof(proof: Proof) -> Iterator[str]:
    yield f"*{write_needs(proof.needs)}*"
    yield from _blocks(proof.body)
    yield _dashes((f"Clean: {proof.clean}", f"Not clean: {proof.not_clean}"))


def _sources(sources: tuple[Source, ...]) -> Iterator[str]:
    yield "## Sources"
    yield _dashes(map(write_source, sources))
