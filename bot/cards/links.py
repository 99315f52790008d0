"""Links: where they lead, and what to write when they lead nowhere."""

import re
from collections.abc import Iterable, Iterator
from difflib import get_close_matches

from bot.cards.evidence import LINK
from bot.cards.prose import prose_of
from bot.model.card import Card, Finding, Link
from bot.model.place import Fault, Place

_LINK = re.compile(LINK)


def lint_links(card: Card, pages: dict[str, str]) -> Iterator[Fault]:
    """Every link of a card that leads nowhere, or to the wrong kind of place.

    Args:
        card: the card.
        pages: every page that a link may lead to, path -> id.
    """
    checks = {check.id for check in card.checks}
    repairs = {repair.id for repair in card.repairs}
    yield from _look_alikes(card, set(pages.values()))
    for cause in card.causes:
        for link in cause.repairs:
            yield from _to_part(link, cause.place, repairs, "repair")
    for check in card.checks:
        for finding in check.findings:
            yield from _finding(finding, checks | repairs, pages)
    for text, place in prose_of(card):
        yield from lint_text(text, place, checks | repairs, pages)


def lint_text(
    text: str, place: Place, here: set[str], pages: dict[str, str]
) -> Iterator[Fault]:
    """Every broken link in a piece of prose; `here` are the page's own anchors."""
    for label, target in _LINK.findall(text):
        yield from _link(Link(label, target), place, here, pages)


def _look_alikes(card: Card, cards: set[str]) -> Iterator[Fault]:
    for look_alike in card.look_alikes:
        if look_alike.card not in cards or look_alike.card == card.id:
            says = f"no other card is called '{look_alike.card}'"
            yield Fault(look_alike.place, says + _did_you_mean(look_alike.card, cards))


def _finding(
    finding: Finding, here: set[str], pages: dict[str, str]
) -> Iterator[Fault]:
    if finding.next:
        yield from _to_part(finding.next, finding.place, here, "check or repair")
    if finding.go_to:
        yield from _to_page(finding.go_to, finding.place, pages, "cards")
    for link in finding.until:
        yield from _to_part(link, finding.place, here, "check or repair")
    if finding.stop:
        yield from _to_page(finding.stop, finding.place, pages, "stop-rules")


def _to_part(link: Link, place: Place, here: set[str], what: str) -> Iterator[Fault]:
    target = link.target.removeprefix("#")
    if target == link.target or target not in here:
        says = f"broken link '{link.target}': no {what} on this page has that heading"
        yield Fault(place, says + _did_you_mean(target, here, "#"))


def _to_page(
    link: Link, place: Place, pages: dict[str, str], folder: str
) -> Iterator[Fault]:
    path = resolve(place.path, link.target)
    if path not in pages or f"/{folder}/" not in f"/{path}":
        what = "stop rule" if folder == "stop-rules" else "card"
        says = f"broken link '{link.target}': no such {what}"
        yield Fault(place, says + _right_path(link.target, place.path, pages))


def _link(
    link: Link, place: Place, here: set[str], pages: dict[str, str]
) -> Iterator[Fault]:
    if link.target.startswith("#"):
        yield from _to_part(link, place, here, "check or repair")
    elif not link.target.startswith("https:") and (
        resolve(place.path, link.target) not in pages
    ):
        says = f"broken link '{link.target}': no such page"
        yield Fault(place, says + _right_path(link.target, place.path, pages))


def resolve(path: str, target: str) -> str:
    """The path that a relative link on a page leads to.

    >>> resolve("kb/cards/brakes/a.md", "../air-supply/b.md")
    'kb/cards/air-supply/b.md'
    """
    parts = path.split("/")[:-1]
    for part in target.split("#")[0].split("/"):
        if part == ".." and parts:
            parts.pop()
        elif part not in ("", "."):
            parts.append(part)
    return "/".join(parts)


def _right_path(target: str, path: str, pages: dict[str, str]) -> str:
    """Advice: the link to the page of that name, or the nearest name."""
    stem = target.rsplit("/", 1)[-1].removesuffix(".md")
    by_id = {identity: page for page, identity in pages.items()}
    nearest = get_close_matches(stem, by_id, n=1, cutoff=0.7)
    if not nearest:
        return "; write the path from this page to an existing one"
    there, here = by_id[nearest[0]].split("/"), path.split("/")
    while len(there) > 1 and there[:1] == here[:1]:
        there, here = there[1:], here[1:]
    return f"; write '{'../' * (len(here) - 1)}{'/'.join(there)}'"


def _did_you_mean(word: str, known: Iterable[str], mark: str = "") -> str:
    nearest = get_close_matches(word, sorted(known), n=1, cutoff=0.6)
    return f"; did you mean '{mark}{nearest[0]}'?" if nearest else "; write one that is"
