"""`chock cards` and `chock new`: pages listed and begun."""

import json
import re
import sys
from argparse import Namespace
from pathlib import Path

from bot.cards.front import SYSTEMS
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
    """Print a fresh page; the person puts it where it belongs."""
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", asked.id):
        raise BotError(f"'{asked.id}' is no id; use small letters, digits, hyphens")
    if asked.system not in SYSTEMS:
        names = ", ".join(SYSTEMS)
        raise BotError(f"'{asked.system}' is no system; write one of {names}")
    same = [p.shown for p in pages(Path(kb_folder(asked.kb))) if p.id == asked.id]
    if same:
        raise BotError(f"'{asked.id}' is taken by {same[0]}; give yours another name")
    print(fresh_card(system=asked.system), end="")
    where = f"kb/cards/{asked.system}/{asked.id}.md"
    print(f"Save it as {where}, fill it, then: chock lint kb", file=sys.stderr)
    return 0
