"""What a reader cannot see in one line: a card's sense, links and completeness.

Grammar is the reader's business. Here a card that reads well is held against its own
page, against the other pages, and against the calendar.
"""

from collections.abc import Collection, Iterable, Iterator
from datetime import date
from difflib import get_close_matches
from itertools import pairwise

from bot import units
from bot.cards.figures import lint_figures
from bot.cards.leaks import lint_leaks
from bot.cards.links import lint_links, lint_text
from bot.cards.meant import meant_limit
from bot.cards.prose import blocks_of, texts_of
from bot.cards.sources import NO_DOCUMENT
from bot.cards.told import lint_caution, lint_cautions
from bot.cards.untouched import untouched
from bot.model.card import Block, Card, Check, Finding, Strength
from bot.model.pages import Note, Procedure
from bot.model.place import Fault, Place, slug
from bot.model.rule import Shelf, StopRule
from bot.model.sources import Source

FEWEST_SIGNS, MOST_SIGNS = 5, 12
FEWEST_ASKED = 3
"""How few ways to ask for a procedure, or to say a stub, there may be."""
FEWEST_RULE_SIGNS, MOST_RULE_SIGNS = 10, 40
FOR = (Strength.SURE, Strength.LIKELY)


def lint_shelf(
    shelf: Shelf, pages: dict[str, str], today: date, keys: Collection[str]
) -> tuple[Fault, ...]:
    """Every fault of sense in the pages of a shelf, by line.

    Args:
        shelf: the pages without faults of grammar.
        pages: every page that a link may lead to, path -> id, faulty ones too.
        today: the date that review dates are held against.
        keys: those of the documents that figures may come from.
    """
    faults: list[Fault] = []
    for card in shelf.cards:
        faults += lint_stub(card, pages, today) if card.is_stub else ()
        faults += () if card.is_stub else lint_card(card, pages, today)
    for held in shelf.procedures:
        faults += lint_procedure(held, pages, today)
    for note in shelf.notes:
        faults += _note(note, pages)
    for rule in shelf.rules:
        faults += lint_rule(rule, pages, today)
    cited = [card.sources for card in shelf.cards]
    cited += [held.sources for held in shelf.procedures]
    cited += [rule.sources for rule in shelf.rules]
    for sources in cited:
        faults += _keys(sources, keys)
    return tuple(sorted(set(faults)))


def lint_card(card: Card, pages: dict[str, str], today: date) -> Iterator[Fault]:
    """The faults of sense in one card.

    Args:
        card: a card without faults of grammar.
        pages: every page that a link may lead to, path -> id.
        today: the date that review dates are held against.
    """
    yield from untouched(card)
    yield from _signs(card)
    yield from lint_links(card, pages)
    yield from _causes(card)
    yield from _reachable(card)
    yield from _order(card)
    for check in card.checks:
        yield from _check(check, card)
    yield from _debts(card)
    yield from _facts(card)
    yield from _proof(card)
    yield from lint_leaks(card)
    if not card.nothing:
        says = "say under '## If nothing was found' what then, and whom to call"
        yield Fault(card.place, says)
    yield from lint_cautions(blocks_of(card))
    yield from _diagrams(blocks_of(card))
    yield from lint_figures(texts_of(card), card.sources)
    yield from _review(card.check_by, card.place, today)


def lint_stub(card: Card, pages: dict[str, str], today: date) -> Iterator[Fault]:
    """The faults of sense in a stub; arguments as for `lint_card`."""
    yield from untouched(card)
    yield from _signs(card, FEWEST_ASKED)
    if not card.opening:
        says = "say under the verdict what to do until there is a page"
        yield Fault(card.place, says)
    for block in card.opening:
        yield from lint_text(block.text, block.place, {}, pages)
    yield from lint_cautions(card.opening)
    yield from lint_figures([(b.text, b.place) for b in card.opening], ())
    yield from _review(card.check_by, card.place, today)


def lint_procedure(
    held: Procedure, pages: dict[str, str], today: date
) -> Iterator[Fault]:
    """The faults of sense in a procedure; arguments as for `lint_card`."""
    yield from untouched(held)
    yield from _signs(held, FEWEST_ASKED)
    if not held.done:
        says = "say under '## Done when' what shows that it is done right"
        yield Fault(held.place, says)
    here = {step.id: f"step {n}" for n, step in enumerate(held.steps, 1)}
    texts = [(block.text, block.place) for block in blocks_of(held)]
    for text, place in texts:
        yield from lint_text(text, place, here, pages)
    yield from lint_cautions(blocks_of(held))
    yield from _diagrams(blocks_of(held))
    yield from lint_figures(texts, held.sources)
    yield from _review(held.check_by, held.place, today)


def _note(note: Note, pages: dict[str, str]) -> Iterator[Fault]:
    """A field note about a page that is not there."""
    yield from untouched(note)
    if note.about not in pages.values():
        says = f"about: there is no page '{note.about}'; write the id of one"
        yield Fault(note.place, says)
    for block in note.body:
        yield from lint_text(block.text, block.place, {}, pages)


def _keys(sources: tuple[Source, ...], keys: Collection[str]) -> Iterator[Fault]:
    """Keys that no record has."""
    for source in sources:
        for citation in source.citations:
            if citation.key not in keys and citation.key not in NO_DOCUMENT:
                near = get_close_matches(citation.key, sorted(keys), n=1, cutoff=0.6)
                says = f"no source has the key '{citation.key}'; "
                says += f"write '{near[0]}', or " if near else ""
                yield Fault(source.place, f"{says}add it to sources.yaml")


def _order(card: Card) -> Iterator[Fault]:
    """Steps that wait for a check that is not there, or that never comes."""
    numbered = [(check.needs, n) for n, check in enumerate(card.checks, 1)]
    numbered += [(repair.needs, 0) for repair in card.repairs]
    for needs, number in numbered:
        for earlier in needs.not_before:
            if earlier > len(card.checks):
                says = f"not before: there is no check {earlier}"
                yield Fault(needs.place, f"{says}; they go to {len(card.checks)}")
            elif number and earlier >= number:
                says = f"not before: check {earlier} does not stand before this one"
                yield Fault(needs.place, f"{says}; move it up")


def _diagrams(blocks: Iterable[Block]) -> Iterator[Fault]:
    """Diagrams in letters that are too wide for the smallest screen."""
    for block in blocks:
        lines = block.text.split("\n")
        if lines[0].startswith("```"):
            wide = next((n for n, line in enumerate(lines) if len(line) > WIDEST), None)
            if wide is not None:
                place = Place(block.place.path, block.place.line + wide)
                yield Fault(place, f"over {WIDEST} columns; draw it narrower")


WIDEST = 60
"""Columns that a diagram may have; a small terminal shows no more. Our choice."""


def lint_rule(rule: StopRule, pages: dict[str, str], today: date) -> Iterator[Fault]:
    """The faults of sense in one stop rule; arguments as for `lint_card`."""
    yield from untouched(rule)
    if not FEWEST_RULE_SIGNS <= len(rule.signs) <= MOST_RULE_SIGNS:
        yield Fault(
            rule.place,
            f"{len(rule.signs)} signs; write {FEWEST_RULE_SIGNS} to {MOST_RULE_SIGNS}, "
            "each a different way to say it",
        )
    blocks = (*rule.cautions, *rule.call_for_help, *rule.who_decides)
    for name, under in (
        ("Do now", rule.do_now),
        ("Call for help when", rule.call_for_help),
        ("Who decides", rule.who_decides),
    ):
        if not under:
            yield Fault(rule.place, f"section '{name}' is empty; fill it")
    texts = [(block.text, block.place) for block in blocks]
    texts += [(step, rule.place) for step in rule.do_now]
    for text, place in texts:
        yield from lint_text(text, place, {}, pages)
    for caution in rule.cautions:
        yield from lint_caution(caution)
    yield from lint_figures(texts, rule.sources)
    yield from _review(rule.check_by, rule.place, today)


def _signs(card: Card | Procedure, fewest: int = FEWEST_SIGNS) -> Iterator[Fault]:
    place = card.sign_places[0] if card.sign_places else card.place
    if not fewest <= len(card.signs) <= MOST_SIGNS:
        yield Fault(
            place,
            f"{len(card.signs)} signs; write {fewest} to {MOST_SIGNS}, each a "
            "different way to say it; more of them go into the file beside the page",
        )
    seen: dict[str, str] = {}
    for sign, at in zip(card.signs, card.sign_places, strict=False):
        bare = " ".join(sorted(slug(sign).split("-")))
        if bare in seen:
            yield Fault(at, f"says the same as '{seen[bare]}'; say it another way")
        seen[bare] = sign


def _review(check_by: date, place: Place, today: date) -> Iterator[Fault]:
    if check_by < today:
        yield Fault(
            place, f"review was due by {check_by}; look it through, set a new date"
        )


def _causes(card: Card) -> Iterator[Fault]:
    linked = {link.target for cause in card.causes for link in cause.repairs}
    for repair in card.repairs:
        if f"#{repair.id}" not in linked:
            says = f"no cause leads to the repair '{repair.title}'; link it or drop it"
            yield Fault(repair.place, says)
    for cause in card.causes:
        strengths = {
            finding.on(cause.id) for c in card.checks for finding in c.findings
        }
        if not strengths & set(FOR):
            says = f"no finding tells for '{cause.name}'; add one"
            yield Fault(cause.place, says)


def _reachable(card: Card) -> Iterator[Fault]:
    """Checks that a reader on paper never comes to."""
    order = [check.id for check in card.checks]
    waiting, reached = order[:1], set(order[:1])
    while waiting:
        check = card.checks[order.index(waiting.pop())]
        for finding in check.findings:
            after = _next_on_paper(check, finding, order)
            if after and after not in reached:
                reached.add(after)
                waiting.append(after)
    for check in card.checks:
        if check.id not in reached:
            yield Fault(
                check.place,
                f"nobody reaches the check '{check.title}': every finding before it "
                "leads elsewhere; add a 'Then' to it or take one away",
            )


def _debts(card: Card) -> Iterator[Fault]:
    """Debts that name another check which has no answer that could close them."""
    for check in card.checks:
        for finding in check.findings:
            ids = {link.target.removeprefix("#") for link in finding.until}
            for other in (c for c in card.checks if c.id in ids and c is not check):
                if not any(f.is_in_order for f in other.findings):
                    says = f"'{finding.answer}' waits for '{other.title}', {NO_WAY_OUT}"
                    yield Fault(finding.place, says)


NO_WAY_OUT = (
    "which closes it by an answer without a verdict or with 'No limit', and has none; "
    "take the verdict away where all is found in order, or name another way"
)


def _next_on_paper(check: Check, finding: Finding, order: list[str]) -> str | None:
    if finding.next:
        target = finding.next.target.removeprefix("#")
        return target if target in order else None
    if finding.go_to or finding.stop:
        return None
    here = order.index(check.id)
    return order[here + 1] if here + 1 < len(order) else None


def _check(check: Check, card: Card) -> Iterator[Fault]:
    if len(check.findings) < 2:
        yield Fault(check.place, "only one finding; write what else may be found")
    for finding in check.findings:
        leads = finding.next or finding.go_to or finding.stop or finding.drive
        if not finding.bearings and not leads and not check.needs.first:
            says = (
                f"'{finding.answer}' tells nothing and leads nowhere; say which causes "
                "it speaks for or against, or where to go: 'Then [check 2](#2-...)'"
            )
            yield Fault(finding.place, says)
        stays = finding.drive is not None and finding.drive.stays
        if stays and not (finding.stop or finding.until):
            yield Fault(finding.place, f"'{finding.answer}' {NOTHING_CLOSES}")
    yield from _limits(check)


NOTHING_CLOSES = (
    "says do not move, and not until when; write after it 'until [the repair](#its-"
    "heading) or [the check](#its-heading)', with what makes it fit to move"
)


def _limits(check: Check) -> Iterator[Fault]:
    """Limits that leave a gap, overlap, or have another kind of unit.

    Beside limits there may be answers for one who could not read anything.
    """
    readings = check.readings
    for finding in check.findings:
        meant = "" if finding.limit else meant_limit(finding.answer)
        if readings and meant:
            says = f"write the limit '{finding.answer}' as '{meant}'"
            yield Fault(finding.place, says)
            return
    has_limits = any(f.limit for f in check.findings)
    bare = next((f for f in check.findings if has_limits is not bool(readings)), None)
    if bare is not None:
        says = (
            f"'{bare.answer}' is not a limit; write 'N unit or more', 'A to B unit' or "
            "'under N unit'"
            if readings
            else f"'{bare.answer}' needs a line 'Readings: ...' above the findings"
        )
        yield Fault(bare.place, says)
        return
    if readings is None:
        return
    limits = sorted(
        (f.limit for f in check.findings if f.limit),
        key=lambda limit: float("-inf") if limit.low is None else limit.low,
    )
    kinds = {units.SYMBOLS[limit.unit].kind for limit in limits}
    if len({limit.unit for limit in limits}) > 1 or kinds != {
        units.SYMBOLS[readings.unit].kind
    }:
        says = f"limits are not all in {readings.unit}; use one unit throughout"
        yield Fault(check.place, says)
        return
    ends = [(a.high, b.low) for a, b in pairwise(limits)]
    whole = limits[0].low is None and limits[-1].high is None
    if not whole or any(high != low for high, low in ends):
        says = (
            "the limits leave a gap or overlap; begin with 'under', end with 'or more'"
        )
        yield Fault(check.place, says)


def _facts(card: Card) -> Iterator[Fault]:
    facts = [check.needs.fact for check in card.checks if check.needs.fact]
    for check in card.checks:
        if check.needs.fact and facts.count(check.needs.fact) == 1:
            says = (
                f"no other check has 'fact: {check.needs.fact}'; it joins checks that "
                "read the same thing, so name it alike there or drop it"
            )
            yield Fault(check.needs.place, says)


def _proof(card: Card) -> Iterator[Fault]:
    if not card.proof.body or not card.proof.needs.time.minutes:
        says = "repairs without proof: say under '## Proof' what to try and how long"
        yield Fault(card.proof.place, says)
