"""What a reader cannot see in one line: a card's sense, links and completeness.

Grammar is the reader's business. Here a card that reads well is held against its own
page, against the other pages, and against the calendar.
"""

from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from bot import units
from bot.cards.figures import lint_figures
from bot.cards.links import lint_links, lint_text
from bot.cards.prose import blocks_of, texts_of
from bot.cards.read import read_card
from bot.cards.template import TEMPLATE, fresh_card
from bot.cards.told import lint_caution, lint_cautions
from bot.model.card import Card, Check, Drive, Finding, Strength
from bot.model.place import Fault, Place, slug
from bot.model.rule import Shelf, StopRule

FEWEST_SIGNS, MOST_SIGNS = 12, 50
FEWEST_RULE_SIGNS, MOST_RULE_SIGNS = 10, 40
FOR = (Strength.SURE, Strength.LIKELY)
AGAINST = (Strength.NOT, Strength.HARDLY)


def lint_shelf(shelf: Shelf, pages: dict[str, str], today: date) -> tuple[Fault, ...]:
    """Every fault of sense in the cards and stop rules of a shelf, by line.

    Args:
        shelf: the cards and rules without faults of grammar.
        pages: every page that a link may lead to, path -> id, faulty ones too.
        today: the date that review dates are held against.
    """
    faults: list[Fault] = []
    for card in shelf.cards:
        faults += lint_card(card, pages, today)
    for rule in shelf.rules:
        faults += lint_rule(rule, pages, today)
    return tuple(sorted(set(faults)))


def lint_card(card: Card, pages: dict[str, str], today: date) -> Iterator[Fault]:
    """The faults of sense in one card.

    Args:
        card: a card without faults of grammar.
        pages: every page that a link may lead to, path -> id.
        today: the date that review dates are held against.
    """
    yield from _untouched(card)
    yield from _signs(card)
    yield from lint_links(card, pages)
    yield from _causes(card)
    yield from _reachable(card)
    for check in card.checks:
        yield from _check(check, card)
    yield from _facts(card)
    yield from _proof(card)
    yield from lint_cautions(card)
    yield from lint_figures(texts_of(card), card.sources)
    yield from _review(card.check_by, card.place, today)


def lint_rule(rule: StopRule, pages: dict[str, str], today: date) -> Iterator[Fault]:
    """The faults of sense in one stop rule; arguments as for `lint_card`."""
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


def _untouched(card: Card) -> Iterator[Fault]:
    """What still stands as the template has it."""
    fresh = read_card(fresh_card(), TEMPLATE)
    assert isinstance(fresh, Card)
    own = {text for text, _ in _filled_in(fresh)}
    for text, place in _filled_in(card):
        if text in own:
            says = f"'{text}' is still the template's; write your own, or drop the line"
            yield Fault(place, says)


def _filled_in(card: Card) -> Iterator[tuple[str, Place]]:
    """The texts of a page that every author writes anew."""
    yield card.title, card.place
    yield from ((author, card.place) for author in card.authors)
    yield from zip(card.signs, card.sign_places, strict=False)
    for block in blocks_of(card):
        yield block.text, block.place
    for cause in card.causes:
        yield cause.name, cause.place
    for check in card.checks:
        yield check.title, check.place
        yield from ((finding.answer, finding.place) for finding in check.findings)
    yield from ((repair.title, repair.place) for repair in card.repairs)
    for said in (card.proof.clean, card.proof.not_clean):
        yield said, card.proof.place


def _signs(card: Card) -> Iterator[Fault]:
    place = card.sign_places[0] if card.sign_places else card.place
    if not FEWEST_SIGNS <= len(card.signs) <= MOST_SIGNS:
        yield Fault(
            place,
            f"{len(card.signs)} signs; write {FEWEST_SIGNS} to {MOST_SIGNS}, each a "
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
        if not strengths & set(AGAINST):
            says = f"no finding tells against '{cause.name}'; add one"
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
            says = f"'{finding.answer}' bears on nothing and leads nowhere; say which"
            yield Fault(finding.place, says)
        if finding.drive is Drive.DO_NOT_MOVE and not (finding.stop or finding.until):
            yield Fault(finding.place, f"'{finding.answer}' {NOTHING_CLOSES}")
    for cause in card.causes:
        strengths = {finding.on(cause.id) for finding in check.findings}
        if strengths & set(FOR) and not strengths & set(AGAINST):
            says = f"one finding tells for '{cause.name}', none against it; add that"
            yield Fault(check.place, says)
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
