"""`chock cards` and `chock new`: pages listed and begun."""

import json
import re
import sys
from argparse import Namespace
from pathlib import Path

from bot.cards.template import fresh_card
from bot.desk.upkeep import read
from bot.model.card import Card
from bot.model.place import BotError
from bot.store.clock import today
from bot.store.folders import kb_folder
from bot.store.pages import Page, PageKind, pages, text_of


def cards(asked: Namespace) -> int:
    """List the cards: id, title, system, review date; wrong ones on standard error."""
    rows = []
    for page in pages(Path(kb_folder(asked.kb))):
        held = _card(page) if page.kind is PageKind.CARD else None
        if held:
            rows.append(held)
    if asked.json:
        print(json.dumps({"cards": [_row(held) for held in rows]}))
        return 0
    for held in rows:
        due = "" if held.check_by >= today() else "  review overdue"
        print(f"{held.id:28} {held.title}  (review by {held.check_by}){due}")
    return 0


def _card(page: Page) -> Card | None:
    text = text_of(page)
    held = read(text, page) if isinstance(text, str) else (text,)
    if isinstance(held, Card):
        return held
    for fault in held if isinstance(held, tuple) else ():
        print(f"left out: {fault}", file=sys.stderr)
    return None


def _row(held: Card) -> dict[str, object]:
    return {
        "id": held.id,
        "title": held.title,
        "system": held.system,
        "share": held.share.value,
        "check_by": held.check_by.isoformat(),
        "overdue": held.check_by < today(),
    }


def new(asked: Namespace) -> int:
    """Print a fresh card; the person puts it where it belongs."""
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", asked.id):
        raise BotError(f"'{asked.id}' is no id; use small letters, digits, hyphens")
    print(fresh_card(), end="")
    return 0
