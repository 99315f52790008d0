"""The linter's desk: every page of a knowledge base read, all faults in one list."""

from datetime import date
from pathlib import Path

from bot.cards.lint import lint_shelf
from bot.cards.wordings import Ear
from bot.cards.write import untidy_line, write_card, write_rule
from bot.desk.acts import Guard
from bot.desk.beside import whole
from bot.desk.likeness import like_signs
from bot.desk.upkeep import read
from bot.language.compile import compiled
from bot.model.card import Card
from bot.model.place import Fault, Place
from bot.model.rule import Shelf, StopRule
from bot.model.words import Words
from bot.store.pages import Page, pages, strays, text_of


def lint(kb: Path, today: date) -> tuple[Fault, ...]:
    """Every fault in the knowledge base at `kb`, by path and line."""
    if not kb.is_dir():
        return (Fault(Place(str(kb), 1), "no such folder; write the path to a kb"),)
    faults = strays(kb)
    cards: list[Card] = []
    told: list[Card] = []
    rules: list[StopRule] = []
    words = Words()
    found_pages = pages(kb)
    for page in found_pages:
        text = text_of(page)
        found = (text,) if isinstance(text, Fault) else read(text, page)
        match found:
            case Card():
                cards.append(found)
                told.append(whole(found, page.path))
                faults += _folder(found, page) + _tidy(page, text, write_card(found))
            case StopRule():
                rules.append(found)
                faults += _tidy(page, text, write_rule(found))
            case Words():
                words += found
            case tuple() if not isinstance(found, Ear):
                faults += found
            case _:
                pass
    links = {page.shown: page.id for page in found_pages}
    faults += lint_shelf(Shelf(tuple(cards), tuple(rules)), links, today)
    lexicon = compiled(words)
    faults += like_signs(told, lexicon)
    if cards:
        guard = Guard(kb)
        faults += guard.faults
        faults += (fault for card in cards for fault in guard.lint(card, lexicon))
    return tuple(sorted(set(faults)))


def _folder(card: Card, page: Page) -> list[Fault]:
    folder = page.path.parent.name
    if card.system == folder:
        return []
    says = f"system '{card.system}' in the folder '{folder}'; move it or change one"
    return [Fault(Place(page.shown, 1), says)]


def _tidy(page: Page, text: str | Fault, tidy: str) -> list[Fault]:
    """A page laid out otherwise than the writer would: its first such line."""
    odd = untidy_line(text, tidy) if isinstance(text, str) else None
    if odd is None:
        return []
    line, wanted = odd
    says = f"untidy; write {wanted!r}" if wanted else "untidy; leave one line empty"
    return [Fault(Place(page.shown, line), says)]
