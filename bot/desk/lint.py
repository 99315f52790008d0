"""The linter's desk: every page of a knowledge base read, all faults in one list."""

from datetime import date
from pathlib import Path

from bot.cards.lint import lint_shelf
from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cards.write import untidy_line, write_card, write_rule
from bot.model import Card, Fault, Place, Shelf, StopRule
from bot.store.pages import Page, PageKind, pages, strays, text_of


def lint(kb: Path, today: date) -> tuple[Fault, ...]:
    """Every fault in the knowledge base at `kb`, by path and line."""
    if not kb.is_dir():
        return (Fault(Place(str(kb), 1), "no such folder; write the path to a kb"),)
    faults = strays(kb)
    cards: list[Card] = []
    rules: list[StopRule] = []
    found_pages = pages(kb)
    for page in found_pages:
        found = read_page(page)
        if isinstance(found, Card):
            cards.append(found)
            faults += _folder(found, page)
        elif isinstance(found, StopRule):
            rules.append(found)
        elif found is not None:
            faults += found
            continue
        faults += _tidy(page, found)
    links = {page.shown: page.id for page in found_pages}
    faults += lint_shelf(Shelf(tuple(cards), tuple(rules)), links, today)
    return tuple(sorted(set(faults)))


def read_page(page: Page) -> Card | StopRule | tuple[Fault, ...] | None:
    """What a page holds, or its faults; None for the thesaurus."""
    text = text_of(page)
    if isinstance(text, Fault):
        return (text,)
    if page.kind is PageKind.CARD:
        return read_card(text, page.shown)
    if page.kind is PageKind.RULE:
        return read_rule(text, page.shown)
    return None


def _folder(card: Card, page: Page) -> list[Fault]:
    folder = page.path.parent.name
    if card.system == folder:
        return []
    says = f"system '{card.system}' in the folder '{folder}'; move it or change one"
    return [Fault(Place(page.shown, 1), says)]


def _tidy(page: Page, found: Card | StopRule | None) -> list[Fault]:
    """A page laid out otherwise than the writer would: its first such line."""
    if found is None:
        return []
    text = text_of(page)
    tidy = write_card(found) if isinstance(found, Card) else write_rule(found)
    odd = untidy_line(text, tidy) if isinstance(text, str) else None
    if odd is None:
        return []
    line, wanted = odd
    says = f"untidy; write {wanted!r}" if wanted else "untidy; leave one line empty"
    return [Fault(Place(page.shown, line), says)]
