"""The running text of a page: its blocks, and every text a reader sees, with places."""

from collections.abc import Iterator

from bot.model.card import Block, Card, Needs
from bot.model.pages import Note, Procedure
from bot.model.place import Place

Part = tuple[Needs, tuple[Block, ...], Place]
"""What a step takes, what it says, and where it stands."""


def parts_of(held: Card | Procedure) -> Iterator[Part]:
    """The checks, the repairs and the proof of a card, or the steps of a procedure."""
    if isinstance(held, Procedure):
        yield from ((step.needs, step.body, step.place) for step in held.steps)
        return
    for check in held.checks:
        yield check.needs, check.body, check.place
    for repair in held.repairs:
        yield repair.needs, repair.body, repair.place
    if not held.is_stub:
        yield held.proof.needs, held.proof.body, held.proof.place


def blocks_of(held: Card | Procedure | Note) -> Iterator[Block]:
    """All cautions and prose of a page, from top to bottom."""
    if isinstance(held, Note):
        yield from held.body
        return
    yield from held.opening
    for _, body, _ in parts_of(held):
        yield from body
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
