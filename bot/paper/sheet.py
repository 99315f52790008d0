"""A page, or a whole book of them, cut into pieces to be set on paper in turn.

Pieces hold Markdown of a line or a few; `bot.paper.text` and `bot.paper.html` set them.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby

from bot.cards.evidence import (
    Labels,
    labels_of,
    write_cause,
    write_finding,
    write_link,
)
from bot.cards.needs import write_needs
from bot.cards.read import HOW_TO_STRIKE, LOOK_ALIKES, SIGNS, TO_PROVOKE, TO_WATCH
from bot.cards.readings import write_readings
from bot.cards.sources import write_source
from bot.diagnose.proof import enough_cycles
from bot.model.card import Block, Card, Caution, Check, Drive, Finding, Proof
from bot.model.place import slug
from bot.model.rule import StopRule


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; `anchor` is where links to it lead."""

    level: int
    text: str
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """May it move, first thing on a page."""

    drive: Drive


@dataclass(frozen=True, slots=True)
class Box:
    """A caution with its signal word, or a STOP."""

    signal: str
    text: str


@dataclass(frozen=True, slots=True)
class Para:
    """Running text; `small` for what is looked up and not read."""

    text: str
    small: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """A line with a mark before it: a dash, a number, a box to tick or strike."""

    mark: str
    text: str


@dataclass(frozen=True, slots=True)
class Table:
    """A head and rows of cells, to be filled in by hand where they are empty."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


Piece = Heading | Verdict | Box | Para | Row | Table

TICK = "[ ]"
"""A box to tick or strike."""


def page(card: Card, rules: Iterable[StopRule] = ()) -> Iterator[Piece]:
    """One page from title to sources, and in full each stop rule it leads to."""
    labels = labels_of(card)
    yield Heading(1, card.title, card.id)
    yield Verdict(card.drive)
    yield from _blocks(card.opening)
    yield from _signs(card)
    yield Heading(2, "Causes")
    yield Para(HOW_TO_STRIKE)
    yield from (Row(TICK, write_cause(cause, labels)) for cause in card.causes)
    yield Heading(2, "Checks")
    for number, check in enumerate(card.checks, 1):
        yield from _check(card, number, check)
    yield Heading(2, "Repairs")
    for number, repair in enumerate(card.repairs, 1):
        yield _step(number, repair.title, repair.id)
        yield Para(f"*{write_needs(repair.needs)}*")
        yield from _blocks(repair.body)
    yield from _proof(card.proof)
    yield Heading(2, "Sources")
    yield from (Para(write_source(source), small=True) for source in card.sources)
    led = led_to(card)
    for each in rules:
        if each.id in led:
            yield from rule(each, level=2)


def _signs(card: Card) -> Iterator[Piece]:
    yield Heading(2, SIGNS)
    yield from (Row("-", sign) for sign in card.signs)
    if card.provoke:
        yield Para(f"{TO_PROVOKE}{card.provoke}")
    if card.watch:
        yield Para(f"{TO_WATCH}{card.watch}")
    if card.look_alikes:
        yield Heading(2, LOOK_ALIKES)
        for alike in card.look_alikes:
            yield Row("-", f"{alike.phrase}: {write_link(alike.link, {})}")


def _check(card: Card, number: int, check: Check) -> Iterator[Piece]:
    labels, letters = labels_of(card), {c.id: c.letter for c in card.causes}
    yield _step(number, check.title, check.id)
    yield Para(f"*{write_needs(check.needs)}*")
    yield from _blocks(check.body)
    yield from _readings(check)
    for finding in check.findings:
        told = write_finding(replace(finding, until=()), letters, labels)
        rest = told[len(finding.answer) : -1]
        said = f"**{finding.answer}**{rest}{_until(finding, labels)}."
        yield Row(TICK, said)


def _until(finding: Finding, labels: Labels) -> str:
    """Until when a verdict holds, in full: on paper nobody keeps count."""
    closes = []
    for link in finding.until:
        is_check = labels.get(link.target.removeprefix("#"), "").startswith("check")
        how = "finds it in order" if is_check else "is made and proved"
        closes.append(f"{write_link(link, labels)} {how}")
    return f" until {' or '.join(closes)}" if closes else ""


def led_to(card: Card) -> frozenset[str]:
    """The stop rules that the findings of a page lead to."""
    stops = (f.stop for check in card.checks for f in check.findings if f.stop)
    return frozenset(s.target.rsplit("/", 1)[-1].removesuffix(".md") for s in stops)


def rule(held: StopRule, level: int = 1) -> Iterator[Piece]:
    """A stop rule in full."""
    yield Heading(level, f"STOP: {held.title}", held.id)
    yield Verdict(held.drive)
    yield from _blocks(held.cautions)
    yield Heading(level + 1, "Do now")
    yield from (Row(f"{n}.", step) for n, step in enumerate(held.do_now, 1))
    for name, blocks in (
        ("Call for help when", held.call_for_help),
        ("Who decides", held.who_decides),
    ):
        yield Heading(level + 1, name)
        yield from _blocks(blocks)


def book(cards: Iterable[Card], rules: Iterable[StopRule]) -> Iterator[Piece]:
    """Contents by complaint, the stop rules, the pages, an index of signs."""
    held = sorted(cards, key=lambda card: (card.system, card.title))
    stops = tuple(sorted(rules, key=lambda each: each.title))
    yield Heading(1, "What is wrong?")
    for system, group in groupby(held, key=lambda card: card.system):
        yield Heading(2, system.replace("-", " ").capitalize())
        yield from (Row("-", f"[{card.title}](#{card.id})") for card in group)
    yield Heading(2, "Stop at once")
    yield from (Row("-", f"[{each.title}](#{each.id})") for each in stops)
    for each in stops:
        yield from rule(each)
    for card in held:
        yield from page(card)
    yield Heading(1, "What people notice")
    told = {(sign, card.title, card.id) for card in held for sign in card.signs}
    for sign, title, card_id in sorted(told, key=lambda row: slug(row[0])):
        yield Row("-", f"{sign}: [{title}](#{card_id})")


def _step(number: int, title: str, part: str) -> Heading:
    return Heading(3, f"{number}. {title}", f"{number}-{part}")


def _blocks(blocks: Iterable[Block]) -> Iterator[Piece]:
    for block in blocks:
        if isinstance(block, Caution):
            yield Box(block.signal.value, block.text)
        else:
            yield Para(block.text)


def _readings(check: Check) -> Iterator[Piece]:
    if check.readings:
        yield Para(write_readings(check.readings))
        names = tuple(f"{v.name} ({v.unit})" for v in check.readings.values)
        yield Table((*names, "time"), (("",) * (len(names) + 1),))


SHOWED = (
    ("every time", (1, 1)),
    ("every other time", (5, 10)),
    ("one time in five", (2, 10)),
    ("one time in ten", (1, 10)),
)
LIKELY_CURE = 0.7
"""How sure a repair is beforehand, for the count of trials on paper; the screen knows
it better. Our choice."""


def _proof(proof: Proof) -> Iterator[Piece]:
    yield Heading(2, "Proof")
    yield Para(f"*{write_needs(proof.needs)}*")
    yield from _blocks(proof.body)
    yield Row(TICK, f"Clean: {proof.clean}")
    yield Row(TICK, f"Not clean: {proof.not_clean}")
    rows = tuple(
        (often, str(enough_cycles(LIKELY_CURE, showed)), "") for often, showed in SHOWED
    )
    yield Table(("It showed before", "clean trials that are enough", "made"), rows)
