"""`chock cards`: the pages listed."""

import json
import sys
from argparse import Namespace
from pathlib import Path

from bot.cards.front import FAULT, PROCEDURE, STUB
from bot.cli.main import Exit
from bot.club.standing import Standing
from bot.desk.standing import Standings
from bot.desk.upkeep import read
from bot.model.card import Card
from bot.model.pages import Procedure
from bot.store.clock import today
from bot.store.folders import home_folder, kb_folder
from bot.store.pages import Page, PageKind, pages, text_of


def cards(asked: Namespace) -> int:
    """List the pages: id, title, how they stand, review date; wrong ones beside."""
    kb = Path(kb_folder(asked.kb, asked.home))
    found = [p for p in pages(kb) if p.kind in KINDS]
    stands = Standings(str(kb), home_folder(asked.home))
    rows = [
        (held, stands.of(page.path.relative_to(kb).as_posix()))
        for page in found
        if (held := _card(page))
    ]
    status = Exit.OK if len(rows) == len(found) else Exit.NOT_WHOLE
    if asked.json:
        print(json.dumps({"cards": [_row(*row) for row in rows]}))
        return status
    for held, standing in rows:
        due = "" if held.check_by >= today() else "  review overdue"
        stub = "  no page yet" if kind_of(held) == STUB else ""
        state = f"  {standing.state.value}, review by {held.check_by}"
        print(f"{held.id:28} {held.title}{state}{due}{stub}")
    return status


KINDS = (PageKind.CARD, PageKind.PROCEDURE)


def _card(page: Page) -> Card | Procedure | None:
    text = text_of(page)
    held = read(text, page) if isinstance(text, str) else (text,)
    if isinstance(held, Card | Procedure):
        return held
    for fault in held if isinstance(held, tuple) else ():
        print(f"left out: {fault}", file=sys.stderr)
    return None


def kind_of(held: Card | Procedure) -> str:
    """What a page is, as its front matter says."""
    if isinstance(held, Procedure):
        return PROCEDURE
    return STUB if held.is_stub else FAULT


def _row(held: Card | Procedure, standing: Standing) -> dict[str, object]:
    return {
        "id": held.id,
        "kind": kind_of(held),
        "title": held.title,
        "system": held.system,
        "share": held.share.value,
        "check_by": held.check_by.isoformat(),
        "overdue": held.check_by < today(),
        "standing": standing.state.value,
        "why": standing.why,
    }
