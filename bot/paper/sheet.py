"""A page, or a whole book of them, cut into pieces to be set on paper in turn.

Pieces hold Markdown of a line or a few; `bot.paper.text` and `bot.paper.html` set them.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from types import MappingProxyType

from bot.cards.evidence import (
    Labels,
    labels_of,
    write_cause,
    write_finding,
    write_link,
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
from bot.cards.sources import Record, told
from bot.diagnose.proof import enough_cycles
from bot.model.card import (
    Block,
    Card,
    Caution,
    Check,
    Finding,
    Needs,
    Proof,
    Share,
)
from bot.model.pages import Note, Procedure
from bot.model.pictures import picture_of
from bot.model.place import slug
from bot.model.rule import Shelf, StopRule
from bot.model.sources import Source
from bot.paper.pieces import (
    TICK,
    Box,
    Drawing,
    Heading,
    Para,
    Photo,
    Piece,
    Row,
    Table,
    Verdict,
)

Records = Mapping[str, Record]
"""Documents by key."""


def page(
    card: Card,
    rules: Iterable[StopRule] = (),
    records: Records = MappingProxyType({}),
    notes: Iterable[Note] = (),
) -> Iterator[Piece]:
    """One page from title to sources, and in full each stop rule it leads to.

    Args:
        card: the page.
        rules: all stop rules.
        records: the documents that its sources name.
        notes: what members saw of this fault.
    """
    labels = labels_of(card)
    yield Heading(1, card.title, card.id)
    yield Verdict(card.drive)
    if card.is_stub:
        yield Para("There is no page for this yet.")
    yield from _blocks(card.opening)
    yield from _signs(card)
    if not card.is_stub:
        yield from _steps_of(card, labels, records)
    yield from _notes(notes)
    led = led_to(card)
    for each in rules:
        if each.id in led:
            yield from rule(each, level=2)


def _steps_of(card: Card, labels: Labels, records: Records) -> Iterator[Piece]:
    """A fault page from its causes to its sources."""
    yield Heading(2, "Causes")
    yield Para(HOW_TO_STRIKE)
    yield from (Row(TICK, write_cause(cause, labels)) for cause in card.causes)
    yield Heading(2, "Checks")
    for number, check in enumerate(card.checks, 1):
        yield from _check(card, number, check)
    yield Heading(2, "Repairs")
    for number, repair in enumerate(card.repairs, 1):
        yield _step(number, repair.title, repair.id)
        yield _needs(repair.needs)
        yield from _blocks(repair.body)
    yield from _proof(card.proof)
    for name, blocks in (
        (NOTHING_FOUND, card.nothing),
        (HEARSAY, card.hearsay),
        (REMARKS, card.remarks),
    ):
        if blocks:
            yield Heading(2, name)
            yield from _blocks(blocks)
    yield from _sources(card.sources, records)
    yield _hands(card)


def procedure(
    held: Procedure, records: Records = MappingProxyType({})
) -> Iterator[Piece]:
    """A procedure from its title to its sources."""
    yield Heading(1, held.title, held.id)
    yield Verdict(held.drive)
    yield from _blocks(held.opening)
    yield Heading(2, WHEN)
    yield from (Row("-", sign) for sign in held.signs)
    yield Heading(2, STEPS)
    for number, step in enumerate(held.steps, 1):
        yield _step(number, step.title, step.id)
        yield _needs(step.needs)
        yield from _blocks(step.body)
    yield Heading(2, DONE)
    yield from _blocks(held.done)
    yield from _sources(held.sources, records)
    yield _hands(held)


def _sources(sources: Iterable[Source], records: Records) -> Iterator[Piece]:
    """Where figures come from, by name; a key whose record is not at hand stays."""
    yield Heading(2, "Sources")
    yield from (Para(told(source, records), small=True) for source in sources)


def _notes(notes: Iterable[Note]) -> Iterator[Piece]:
    """What members saw: apart, with their names, as hearsay."""
    seen = tuple(notes)
    if seen:
        yield Heading(2, "What members saw (hearsay, not vetted)")
    for each in seen:
        yield from note(each, level=3)


def note(held: Note, level: int = 1) -> Iterator[Piece]:
    """A field note with its author's name."""
    yield Heading(level, held.title, held.id)
    yield Para(f"{', '.join(held.authors)}, {held.seen}. Hearsay.", small=True)
    yield from _blocks(held.body)


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
    yield _needs(check.needs)
    yield from _blocks(check.body)
    yield from _readings(check)
    for finding in check.findings:
        told = write_finding(replace(finding, until=()), letters, labels)
        rest = told[len(finding.answer) : -1]
        said = f"**{finding.answer}**{rest}{_until(finding, card, labels)}."
        yield Row(TICK, said)


def _until(finding: Finding, card: Card, labels: Labels) -> str:
    """Until when a verdict holds, in full: on paper nobody keeps count."""
    closes: dict[str, list[str]] = {}
    for link in finding.until:
        repair = card.repair(link.target.removeprefix("#"))
        how = "is made and proved" if repair else "finds it in order"
        if repair and repair.needs.home:
            how = f"is made (then {repair.needs.home.value}, home only)"
        closes.setdefault(how, []).append(write_link(link, labels))
    told = (f"{_either(links)} {how}" for how, links in closes.items())
    return f" until {', or '.join(told)}" if closes else ""


def _either(names: Sequence[str]) -> str:
    """Some names of which one will do."""
    *first, last = names
    return f"{', '.join(first)} or {last}" if first else last


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
    if level == 1:
        yield _hands(held)


def _hands(held: Card | Procedure | StopRule) -> Para:
    """Who wrote a page, how long it holds, and who may be given it."""
    by = ", ".join(held.authors) or "nobody who is named"
    told = f"Written by {by}. To be read through again by {held.check_by}."
    return Para(f"{told} {FOR[held.share]}", small=True)


FOR = MappingProxyType(
    {
        Share.OPEN: "For anybody.",
        Share.CLUB: "For members of the club only.",
        Share.PRIVATE: "For its author alone.",
    }
)
"""Who may be given a page, as paper says it."""


def book(shelf: Shelf, records: Records = MappingProxyType({})) -> Iterator[Piece]:
    """Contents by complaint, stop rules, procedures, pages, an index of signs."""
    held = sorted(shelf.cards, key=lambda card: (card.system, card.title))
    stops = tuple(sorted(shelf.rules, key=lambda each: each.title))
    jobs = tuple(sorted(shelf.procedures, key=lambda each: each.title))
    yield Heading(1, "What is wrong?")
    for system, group in groupby(held, key=lambda card: card.system):
        yield Heading(2, system.replace("-", " ").capitalize())
        yield from (Row("-", f"[{card.title}](#{card.id})") for card in group)
    yield Heading(2, "How it is done")
    yield from (Row("-", f"[{each.title}](#{each.id})") for each in jobs)
    yield Heading(2, "Stop at once")
    yield from (Row("-", f"[{each.title}](#{each.id})") for each in stops)
    for each in stops:
        yield from rule(each)
    for each_job in jobs:
        yield from procedure(each_job, records)
    for card in held:
        notes = (note for note in shelf.notes if note.about == card.id)
        if not card.is_stub:
            yield from page(card, records=records, notes=notes)
    yield from _stubs(card for card in held if card.is_stub)
    yield Heading(1, "What people notice")
    told = {(sign, card.title, card.id) for card in held for sign in card.signs}
    for sign, title, card_id in sorted(told, key=lambda row: slug(row[0])):
        yield Row("-", f"{sign}: [{title}](#{card_id})")


def _stubs(stubs: Iterable[Card]) -> Iterator[Piece]:
    """Faults that are known and have no page yet, one below the other."""
    yield Heading(1, "Known, and no page yet")
    for stub in stubs:
        yield Heading(3, stub.title, stub.id)
        yield Para(f"**May it move:** {stub.drive.value}.")
        yield from _blocks(stub.opening)


def _needs(needs: Needs) -> Para:
    """What a step takes; what it does that can hurt, its caution says."""
    return Para(f"*{write_needs(replace(needs, does=(), is_harmless=False))}*")


def _step(number: int, title: str, part: str) -> Heading:
    return Heading(3, f"{number}. {title}", f"{number}-{part}")


def _blocks(blocks: Iterable[Block]) -> Iterator[Piece]:
    for block in blocks:
        photo = None if isinstance(block, Caution) else picture_of(block.text)
        if isinstance(block, Caution):
            act = f", {block.act.value}" if block.act else ""
            yield Box(f"{block.signal.value}{act}", block.text)
        elif photo:
            yield Photo(photo.words, beside(block.place.path, photo.file))
        elif block.text.startswith("```"):
            yield Drawing(tuple(block.text.split("\n")[1:-1]))
        else:
            yield Para(block.text)


def beside(path: str, file: str) -> str:
    """The path of a file that lies beside the one at `path`."""
    return "/".join((*path.split("/")[:-1], file))


def _readings(check: Check) -> Iterator[Piece]:
    if check.readings:
        yield Para(write_readings(check.readings))
        values = check.readings.values
        names = [f"{v.name} ({v.unit})" for v in values]
        names += ["time"] if len(values) > 1 else []
        yield Table(tuple(names), (("",) * len(names),))


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
    yield _needs(proof.needs)
    yield from _blocks(proof.body)
    yield Row(TICK, f"Clean: {proof.clean}")
    yield Row(TICK, f"Not clean: {proof.not_clean}")
    rows = tuple(
        (often, str(enough_cycles(LIKELY_CURE, showed)), "") for often, showed in SHOWED
    )
    yield Table(("It showed before", "clean trials that are enough", "made"), rows)
