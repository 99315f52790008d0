"""What on a page still stands as template or draft has it, which is a mistake."""

from collections.abc import Callable, Iterator
from functools import cache

from bot.cards.draft import unfilled_at
from bot.cards.lesser import read_note, read_procedure
from bot.cards.prose import blocks_of
from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cards.template import (
    TEMPLATE,
    fresh_card,
    fresh_note,
    fresh_procedure,
    fresh_rule,
    fresh_stub,
)
from bot.model.card import Card, Caution
from bot.model.pages import Note, Procedure
from bot.model.place import Fault, Place
from bot.model.rule import StopRule

Held = Card | Procedure | Note | StopRule


def untouched(held: Held) -> Iterator[Fault]:
    """What still stands as the template has it, or is to be filled in by a draft."""
    own = _texts_of(*_template(held))
    for text, place in _filled_in(held):
        line = unfilled_at(text)
        if line is not None:
            first = text.split("\n")[line][:60]
            says = f"'{first}' is not filled in yet; write it, or drop the line"
            yield Fault(Place(place.path, place.line + line), says)
        elif text in own:
            name = "authors: " if text in held.authors else ""
            says = f"{name}'{text}' is still the template's; write your own"
            says += "" if name else ", or drop the line"
            yield Fault(place, says)


Reader = Callable[[str, str], Held | tuple[Fault, ...]]


def _template(held: Held) -> tuple[Reader, str]:
    """What reads such a page, and the template that it was begun from."""
    if isinstance(held, StopRule):
        return read_rule, fresh_rule()
    if isinstance(held, Note):
        return read_note, fresh_note()
    if isinstance(held, Procedure):
        return read_procedure, fresh_procedure()
    return read_card, fresh_stub() if held.is_stub else fresh_card()


@cache
def _texts_of(read: Reader, template: str) -> frozenset[str]:
    """The texts of a template that every author writes anew."""
    fresh = read(template, TEMPLATE)
    assert not isinstance(fresh, tuple), fresh
    return frozenset(text for text, _ in _filled_in(fresh))


def _filled_in(held: Held) -> Iterator[tuple[str, Place]]:
    """The texts of a page that every author writes anew."""
    yield held.title, held.place
    yield from ((author, held.place) for author in held.authors)
    if isinstance(held, StopRule):
        yield from _of_a_rule(held)
        return
    for block in blocks_of(held):
        if not (isinstance(block, Caution) and block.act):
            yield block.text, block.place
    if not isinstance(held, Note):
        yield from zip(held.signs, held.sign_places, strict=False)
    if isinstance(held, Procedure):
        yield from ((step.title, step.place) for step in held.steps)
    if isinstance(held, Card) and not held.is_stub:
        yield from _of_a_fault(held)


def _of_a_rule(rule: StopRule) -> Iterator[tuple[str, Place]]:
    """What a stop rule has of its author's own."""
    for said in (rule.question, *rule.signs, *rule.do_now):
        yield said, rule.place
    for block in (*rule.cautions, *rule.call_for_help, *rule.who_decides):
        yield block.text, block.place


def _of_a_fault(card: Card) -> Iterator[tuple[str, Place]]:
    """What only a fault page has of its author's own."""
    for cause in card.causes:
        yield cause.name, cause.place
    for check in card.checks:
        yield check.title, check.place
        yield from ((finding.answer, finding.place) for finding in check.findings)
    yield from ((repair.title, repair.place) for repair in card.repairs)
    for said in (card.proof.clean, card.proof.not_clean):
        yield said, card.proof.place
