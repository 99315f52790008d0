"""The running text of a card: its blocks, and every text a reader sees, with places."""

from collections.abc import Iterator

from bot.model.card import Block, Card, Needs
from bot.model.place import Place


def parts_of(card: Card) -> Iterator[tuple[Needs, tuple[Block, ...], Place]]:
    """What each check, each repair and the proof take, say, and where they stand."""
    for check in card.checks:
        yield check.needs, check.body, check.place
    for repair in card.repairs:
        yield repair.needs, repair.body, repair.place
    yield card.proof.needs, card.proof.body, card.proof.place


def blocks_of(card: Card) -> Iterator[Block]:
    """All cautions and prose of a card, from top to bottom."""
    yield from card.opening
    for _, body, _ in parts_of(card):
        yield from body


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
