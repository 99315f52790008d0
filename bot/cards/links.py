"""Links: where they lead, and what to write when they lead nowhere."""

import re
from collections.abc import Iterator
from difflib import get_close_matches

from bot.cards.evidence import LINK, Labels, bare, labels_of
from bot.cards.prose import prose_of
from bot.model.card import Card, Finding, Link
from bot.model.place import Fault, Place

_LINK = re.compile(rf"(?<!!){LINK}")
"""A link, and no picture."""
RULES, STEPS = ("stop-rules",), ("cards", "procedures")
ANY = (*STEPS, *RULES)
"""The folders of the pages that a link may lead to."""


def lint_links(card: Card, pages: dict[str, str]) -> Iterator[Fault]:
    """Every link of a card that leads nowhere, or to the wrong kind of place.

    Args:
        card: the card.
        pages: every page that a link may lead to, path -> id.
    """
    labels = labels_of(card)
    repairs = {r.id: labels[r.id] for r in card.repairs}
    yield from _look_alikes(card, pages)
    for cause in card.causes:
        for link in cause.repairs:
            yield from _to_part(link, cause.place, repairs)
    for check in card.checks:
        for finding in check.findings:
            yield from _finding(finding, labels, pages)
    for text, place in prose_of(card):
        yield from lint_text(text, place, labels, pages)


def lint_text(
    text: str, place: Place, here: Labels, pages: dict[str, str]
) -> Iterator[Fault]:
    """Every broken link in a piece of prose; `here` is how links call its parts."""
    if text.startswith("```"):
        return
    for label, target in _LINK.findall(text):
        if target.startswith("#"):
            yield from _to_part(Link(label, target), place, here)
        elif not target.startswith("https:") and (
            resolve(place.path, target) not in pages
        ):
            says = f"broken link '{target}': no such page"
            yield Fault(place, says + _right_path(target, place.path, pages))


def _look_alikes(card: Card, pages: dict[str, str]) -> Iterator[Fault]:
    for look_alike in card.look_alikes:
        yield from _to_page(look_alike.link, look_alike.place, pages, ANY)
        if look_alike.card == card.id:
            yield Fault(look_alike.place, "leads to this very page; name another one")


def _finding(finding: Finding, here: Labels, pages: dict[str, str]) -> Iterator[Fault]:
    for link in (*((finding.next,) if finding.next else ()), *finding.until):
        yield from _to_part(link, finding.place, here)
    if finding.go_to:
        yield from _to_page(finding.go_to, finding.place, pages, STEPS)
    if finding.stop:
        yield from _to_page(finding.stop, finding.place, pages, RULES)


def _to_part(link: Link, place: Place, here: Labels) -> Iterator[Fault]:
    """A link within the page: to a heading that is there, and by its number."""
    target = bare(link.target).removeprefix("#")
    label = here.get(target)
    if label is None:
        says = f"broken link '{link.target}': no heading here is called so"
        nearest = get_close_matches(target, sorted(here), n=1, cutoff=0.6)
        if nearest:
            right = here[nearest[0]]
            says += f"; write '[{right}](#{right.split()[1]}-{nearest[0]})'"
        yield Fault(place, says)
    elif not f"{link.label},".startswith(f"{label},"):
        right = f"[{label}](#{label.split()[1]}-{target})"
        yield Fault(place, f"'{link.label}' is now {label}; write '{right}'")


def _to_page(
    link: Link, place: Place, pages: dict[str, str], folders: tuple[str, ...]
) -> Iterator[Fault]:
    path = resolve(place.path, link.target)
    if path not in pages or not any(f"/{name}/" in f"/{path}" for name in folders):
        what = "stop rule" if folders == RULES else "page"
        says = f"broken link '{link.target}': no such {what}"
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
    by_id = {name: page for page, name in pages.items() if page.endswith(".md")}
    nearest = get_close_matches(stem, by_id, n=1, cutoff=0.7)
    if not nearest:
        return "; write the path from this page to an existing one"
    there, here = by_id[nearest[0]].split("/"), path.split("/")
    while len(there) > 1 and there[:1] == here[:1]:
        there, here = there[1:], here[1:]
    return f"; write '{'../' * (len(here) - 1)}{'/'.join(there)}'"
