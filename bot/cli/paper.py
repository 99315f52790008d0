"""`chock card` and `chock print`: pages as a person reads them, on screen and paper."""

import json
from argparse import Namespace
from collections.abc import Sequence
from pathlib import Path

from bot.desk.upkeep import read
from bot.model.card import Card
from bot.model.place import BotError
from bot.model.rule import StopRule
from bot.paper import sheet
from bot.paper.html import set_html
from bot.paper.sheet import Piece
from bot.paper.text import set_text
from bot.store.folders import kb_folder
from bot.store.pages import Page, PageKind, pages, text_of
from bot.talk.clean import clean

ALL = "all"


def card(asked: Namespace) -> int:
    """Print a page as a person reads it; with --json its own text."""
    found = [page for page in _pages(asked) if page.id == asked.id]
    if not found:
        raise BotError(f"there is no page '{asked.id}'; 'chock cards' lists them")
    text = text_of(found[0])
    if not isinstance(text, str):
        raise BotError(str(text))
    if asked.json:
        print(json.dumps({"id": asked.id, "path": found[0].shown, "text": text}))
        return 0
    held = _held(found[0])
    pieces = sheet.page(held) if isinstance(held, Card) else sheet.rule(held)
    print(_safe(set_text(pieces)), end="")
    return 0


def paper(asked: Namespace) -> int:
    """Print pages, or the whole book, as text or as one HTML file."""
    found = _pages(asked)
    rules = [held for p in found if isinstance(held := _kept(p), StopRule)]
    cards = [held for p in found if isinstance(held := _kept(p), Card)]
    whole = asked.ids == [ALL]
    chosen = cards if whole else _chosen(asked.ids, cards, rules)
    if not chosen:
        raise BotError("there is no page here to print; 'chock lint' tells why")
    pieces: list[Piece] = []
    if whole:
        pieces = list(sheet.book(cards, rules))
    for held in () if whole else chosen:
        told = sheet.page(held, rules) if isinstance(held, Card) else sheet.rule(held)
        pieces += told
    title = "Fault pages" if len(chosen) > 1 else chosen[0].title
    text = set_html(pieces, title) if asked.html else _safe(set_text(pieces))
    if not asked.out:
        print(text, end="")
        return 0
    try:
        Path(asked.out).write_text(text, encoding="utf-8")
    except OSError as error:
        why = error.strerror
        raise BotError(f"'{asked.out}' cannot be written ({why})") from error
    print(f"{len(chosen)} {'page' if len(chosen) == 1 else 'pages'} in {asked.out}")
    return 0


def _chosen(
    ids: Sequence[str], cards: Sequence[Card], rules: Sequence[StopRule]
) -> list[Card | StopRule]:
    """The pages named by id, or all of a system that is named."""
    chosen: list[Card | StopRule] = []
    for name in ids:
        found = [c for c in cards if name in (c.id, c.system)]
        stops = [r for r in rules if r.id == name]
        if not found and not stops:
            raise BotError(
                f"there is no page or system '{name}'; 'chock cards' lists them, "
                f"'{ALL}' prints the whole book"
            )
        chosen += (*found, *stops)
    return chosen


def _pages(asked: Namespace) -> list[Page]:
    kinds = (PageKind.CARD, PageKind.RULE)
    return [p for p in pages(Path(kb_folder(asked.kb))) if p.kind in kinds]


def _kept(page: Page) -> Card | StopRule | None:
    """What a page holds, or None where it has mistakes; `chock lint` tells which."""
    text = text_of(page)
    held = read(text, page) if isinstance(text, str) else None
    return held if isinstance(held, Card | StopRule) else None


def _held(page: Page) -> Card | StopRule:
    held = _kept(page)
    if held is None:
        raise BotError(f"'{page.id}' has mistakes; 'chock lint' tells which")
    return held


def _safe(text: str) -> str:
    """Text for a terminal: no sign that would steer it."""
    return "\n".join(clean(line) for line in text.split("\n"))
