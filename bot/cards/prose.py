"""The running text of a page: its blocks, and every text a reader sees, with places."""

from collections.abc import Iterator
from typing import NamedTuple

from bot.model.card import Block, Card, Needs, Prose
from bot.model.pages import Note, Procedure
from bot.model.place import Place
from bot.model.rule import StopRule


class Part(NamedTuple):
    """What a step is called, what it takes, what it says, and where it stands."""

    title: str
    needs: Needs
    body: tuple[Block, ...]
    place: Place


def parts_of(held: Card | Procedure) -> Iterator[Part]:
    """The checks, the repairs and the proof of a card, or the steps of a procedure."""
    if isinstance(held, Procedure):
        yield from (Part(s.title, s.needs, s.body, s.place) for s in held.steps)
        return
    yield from (Part(c.title, c.needs, c.body, c.place) for c in held.checks)
    yield from (Part(r.title, r.needs, r.body, r.place) for r in held.repairs)
    if not held.is_stub:
        yield Part("Proof", held.proof.needs, held.proof.body, held.proof.place)


def blocks_of(held: Card | Procedure | Note) -> Iterator[Block]:
    """All cautions and prose of a page, from top to bottom."""
    if isinstance(held, Note):
        yield from held.body
        return
    yield from held.opening
    for part in parts_of(held):
        yield from part.body
    if isinstance(held, Procedure):
        yield from held.done
    else:
        yield from (*held.nothing, *held.hearsay, *held.remarks)


def prose_of(card: Card) -> Iterator[tuple[str, Place]]:
    """Every text of a card in which a link may stand."""
    for block in blocks_of(card):
        yield block.text, block.place
    for cause in card.causes:
        yield cause.note, cause.place


def texts_of(card: Card) -> Iterator[tuple[str, Place]]:
    """Every text of a card in which a figure may stand."""
    yield from prose_of(card)
    for check in card.checks:
        for finding in check.findings:
            yield finding.answer, finding.place
    for said in (card.proof.clean, card.proof.not_clean):
        yield said, card.proof.place


def told_by(held: Card | Procedure | Note | StopRule) -> Iterator[tuple[str, Place]]:
    """Every text of a page beside its steps that may bid something."""
    if isinstance(held, StopRule):
        yield from ((said, held.place) for said in held.do_now)
        blocks = (*held.call_for_help, *held.who_decides)
        yield from ((block.text, block.place) for block in blocks)
        return
    steps = () if isinstance(held, Note) else parts_of(held)
    own = {id(block) for part in steps for block in part.body}
    for block in blocks_of(held):
        if isinstance(block, Prose) and id(block) not in own:
            yield block.text, block.place
    if isinstance(held, Card):
        yield from ((cause.note, cause.place) for cause in held.causes)
        for check in held.checks:
            yield from ((finding.answer, finding.place) for finding in check.findings)
        for said in (held.proof.clean, held.proof.not_clean):
            yield said, held.proof.place
