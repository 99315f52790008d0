"""`chock new`: a fresh page of each kind, written where it belongs."""

import re
import sys
from argparse import Namespace
from collections.abc import Sequence
from pathlib import Path

from bot.cards.front import (
    FAULT,
    NOTE,
    PROCEDURE,
    STOP_RULE,
    STUB,
    SYSTEMS,
    WHOLE_TRUCK,
)
from bot.cards.template import (
    CHECK_BY,
    fresh_card,
    fresh_note,
    fresh_procedure,
    fresh_rule,
    fresh_stub,
)
from bot.model.place import BotError
from bot.store.clock import today
from bot.store.folders import kb_folder
from bot.store.pages import pages, shown
from bot.store.scan import CARDS, NOTES, PROCEDURES, RULES

_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
KINDS = {
    "fault": FAULT,
    "procedure": PROCEDURE,
    "note": NOTE,
    "stub": STUB,
    "rule": STOP_RULE,
}
"""What one may ask for, and what the page then says it is."""


def new(asked: Namespace) -> int:
    """Write a fresh page; nothing that is there is ever written over."""
    kb = Path(kb_folder(asked.kb))
    if asked.kind not in KINDS:
        names = ", ".join(KINDS)
        raise BotError(f"'{asked.kind}' is no kind of page; write one of {names}")
    if not _ID.fullmatch(asked.id):
        raise BotError(f"'{asked.id}' is no id; use small letters, digits, hyphens")
    ids = {page.id: page.shown for page in pages(kb)}
    if asked.id in ids:
        taken = f"'{asked.id}' is taken by {ids[asked.id]}"
        raise BotError(f"{taken}; give yours another name")
    path, text = _fresh(KINDS[asked.kind], asked.id, asked.of, kb, sorted(ids))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except OSError as error:
        raise BotError(f"'{path}' cannot be written ({error.strerror})") from error
    print(f"{shown(path)} is begun. Fill it, then: chock lint {shown(path)}")
    return 0


def _fresh(
    kind: str, page_id: str, of: str, kb: Path, ids: Sequence[str]
) -> tuple[Path, str]:
    """Where a page belongs, and its text."""
    name = f"{page_id}.md"
    if kind == NOTE:
        about = of or _ask("About which page (its id)? ", ids)
        return kb / NOTES / name, fresh_note(today(), _known(about, ids, "page"))
    if kind == STOP_RULE:
        return kb / RULES / name, fresh_rule(CHECK_BY)
    systems = (*SYSTEMS, WHOLE_TRUCK) if kind == PROCEDURE else SYSTEMS
    system = _known(of or _here(systems) or _ask("Which system? ", systems), systems)
    if kind == PROCEDURE:
        return kb / PROCEDURES / name, fresh_procedure(CHECK_BY, system)
    text = (fresh_stub if kind == STUB else fresh_card)(CHECK_BY, system)
    return kb / CARDS / system / name, text


def _here(systems: Sequence[str]) -> str:
    """The system whose folder one stands in, or nothing."""
    here = Path.cwd().name
    return here if here in systems else ""


def _ask(question: str, known: Sequence[str]) -> str:
    """What somebody at a terminal answers; elsewhere they are told what is missing."""
    if not sys.stdin.isatty():
        raise BotError(f"name it behind the id: {', '.join(known)}")
    print(f"{', '.join(known)}")
    return input(question).strip()


def _known(said: str, known: Sequence[str], what: str = "system") -> str:
    if said not in known:
        raise BotError(f"'{said}' is no {what}; write one of {', '.join(known)}")
    return said
