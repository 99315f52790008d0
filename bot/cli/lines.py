"""Messages as plain lines: whole sentences in order, no control codes, narrow."""

import shutil
import sys
import textwrap
from collections.abc import Iterable, Iterator

from bot.job.events import CardChosen, CardsDeclined, NothingFitted
from bot.model.card import Block, Caution
from bot.model.marked import items, plain
from bot.model.rule import StopRule
from bot.talk.clean import clean
from bot.talk.drawn import as_drawn
from bot.talk.messages import (
    Ask,
    Candidates,
    Chart,
    Choice,
    Done,
    Message,
    NotSaved,
    Say,
    ShowStep,
    Stop,
    Suspicions,
    Tell,
    Warn,
)
from bot.talk.wording import percent, takes

MOST_SUSPECTS = 3
MOST_MARKS = 4
"""More moves than this are told when asked for, by the word "keys"."""


WIDTH = 72
"""Letters a line of talk takes at most, for easy reading. Our choice."""


def columns(most: int) -> int:
    """Letters a line may take: `most`, or fewer where the terminal is narrower."""
    if not sys.stdout.isatty():
        return most
    return max(LEAST, min(most, shutil.get_terminal_size().columns))


LEAST = 20
"""Narrower than this nothing can be read; a terminal that says so is not believed."""


def lines(messages: Iterable[Message], width: int = WIDTH) -> Iterator[str]:
    """Messages as lines of at most `width` letters; the question ends them.

    Cards that may fit are told with the answers that choose them, not twice.
    """
    near: Candidates | None = None
    for message in messages:
        if isinstance(message, Candidates):
            near = message
        elif isinstance(message, Ask):
            yield from _ask(message, near, width)
        else:
            yield from _said(message, width)
            yield ""


Said = Say | Chart | Tell | NotSaved | Warn | Stop | Suspicions | ShowStep | Done


def _said(message: Said, width: int) -> Iterator[str]:
    match message:
        case Chart(rows):
            yield from rows
        case Say(text) | Done(text) | NotSaved(text):
            yield from wrapped(text, width)
        case Tell(block) | Warn(block):
            yield from block_lines(block, width)
        case Stop(rule, whole):
            yield from _stop(rule, width, whole=whole)
        case Suspicions():
            yield from _suspicions(message, width)
        case ShowStep():
            yield from _step(message, width)


def wrapped(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """A text broken into lines, letter for letter; never an empty list."""
    rows = textwrap.wrap(
        " ".join(clean(text).split()),
        width,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
    )
    return rows or [first.rstrip()]


def block_lines(block: Block, width: int) -> Iterator[str]:
    """A caution, or prose with its own list items kept apart."""
    if isinstance(block, Caution):
        yield from _caution(block, width)
        return
    drawn = as_drawn(block.text)
    if drawn:
        yield from map(clean, drawn)
        return
    for lead, text in items(block.text):
        mark = f"{lead} " if lead else ""
        yield from wrapped(plain(text), width, mark, " " * len(mark))


def _caution(caution: Caution, width: int) -> list[str]:
    said = plain(" ".join(caution.text.split()))
    return wrapped(f"! {caution.signal.value}: {said}", width, "", "  ")


def _stop(rule: StopRule, width: int, *, whole: bool) -> Iterator[str]:
    yield from wrapped(f"STOP. {rule.title}.", width)
    for caution in rule.cautions:
        yield from _caution(caution, width)
    yield "Do now:"
    for number, step in enumerate(rule.do_now, 1):
        yield from wrapped(f"{number}. {step}", width, "  ", "     ")
    yield from wrapped(f"Until then: {rule.drive.value}.", width)
    rest = (
        ("Call for help when", rule.call_for_help),
        ("Who decides", rule.who_decides),
    )
    for name, blocks in rest if whole else ():
        yield f"{name}:"
        for block in blocks:
            yield from block_lines(block, width)


def _suspicions(found: Suspicions, width: int) -> Iterator[str]:
    rows = [f"{name} {percent(p)}" for name, p in found.causes[:MOST_SUSPECTS]]
    rows.append(f"none of these {percent(found.none)}")
    yield from wrapped(f"Suspected: {'; '.join(rows)}.", width, "", "  ")
    yield f"Drive verdict: {found.drive.value}."
    for hazard in found.hazards:
        yield from wrapped(f"Open: {hazard}.", width, "  ", "    ")
    if found.unproved:
        yield from wrapped(f"Repaired, not proved: {found.unproved}.", width, "  ")


def _step(step: ShowStep, width: int) -> Iterator[str]:
    yield from wrapped(f"-- {step.called}: {step.title} --", width)
    yield from wrapped(takes(step.needs), width)
    for block in step.body:
        yield from block_lines(block, width)
    if step.note:
        yield from wrapped(step.note, width)


def _ask(question: Ask, near: Candidates | None, width: int) -> Iterator[str]:
    yield from wrapped(question.text, width)
    for choice in question.choices:
        label, reasons = _told(choice, near)
        yield from wrapped(f"{choice.key} = {label}", width, "  ", "      ")
        for reason in reasons:
            yield from wrapped(reason, width, "      ", "      ")
    if question.more:
        marks = [f"{c.key} {c.label}" for c in question.more[:MOST_MARKS]]
        if len(question.more) > MOST_MARKS:
            marks.append("keys")
        yield from wrapped(" | ".join(marks), width, "  ", "  ")


def _told(choice: Choice, near: Candidates | None) -> tuple[str, list[str]]:
    """An answer's words; for a card how likely it is, what tells it apart, and why."""
    if near is None:
        return choice.label, []
    if isinstance(choice.act, CardsDeclined | NothingFitted):
        return f"{choice.label}: {percent(near.none)}", []
    if isinstance(choice.act, CardChosen):
        for card in near.cards:
            if card.card == choice.act.card:
                reasons = [f"if {card.look}"] if card.look else []
                reasons += [f"because {why}" for why in card.why[:1]]
                stands = f", {card.standing}" if card.standing else ""
                return f"{card.title}: {percent(card.probability)}{stands}", reasons
    return choice.label, []
