"""Changed files read anew into the index; a wrong card is noted and left out."""

import hashlib
import sqlite3
from pathlib import Path

from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cards.words import read_words
from bot.language.thesaurus import compiled
from bot.match.records import record
from bot.match.stops import stop_record
from bot.model.card import Card
from bot.model.place import Fault
from bot.model.rule import StopRule
from bot.model.words import Words
from bot.store.index import CardIndex, Source
from bot.store.pages import Page, PageKind, page, text_of
from bot.store.scan import WORDS, scan


def bring_up(index: CardIndex, kb: str) -> None:
    """Make the index say what the files say now; all of it or, on an error, nothing."""
    with index:
        files = scan(kb)
        for path in index.stale(files).gone:
            index.remove(path)
        words = [path for path in files if Path(path).name == WORDS]
        changed = set(index.stale(files).changed)
        for path in words:
            if path in changed:
                _put_page(index, page(Path(path), *files[path]))
        for path in index.stale(files).changed:
            if path not in words:
                _put_page(index, page(Path(path), *files[path]))


def _put_page(index: CardIndex, found: Page) -> None:
    text = text_of(found)
    body = text if isinstance(text, str) else str(text)
    digest = hashlib.sha256(body.encode()).hexdigest()
    source = Source(str(found.path), found.mtime_ns, found.size, digest)
    if not index.same(source):
        _keep(index, source, (text,) if isinstance(text, Fault) else read(text, found))


def read(text: str, found: Page) -> Card | StopRule | Words | tuple[Fault, ...]:
    """What the text of a page holds, or its faults."""
    if found.kind is PageKind.CARD:
        return read_card(text, found.shown)
    if found.kind is PageKind.RULE:
        return read_rule(text, found.shown)
    return read_words(text, found.shown)


def _keep(
    index: CardIndex, source: Source, held: Card | StopRule | Words | tuple[Fault, ...]
) -> None:
    match held:
        case Card():
            try:
                index.put_card(source, record(held, index.thesaurus))
            except sqlite3.IntegrityError:
                fault = Fault(held.place, f"another file holds '{held.id}'; rename one")
                index.put_wrong(source, [str(fault)])
        case StopRule():
            index.put_rule(source, stop_record(held, index.thesaurus))
        case Words():
            index.put_words(source, compiled(held))
        case faults:
            index.put_wrong(source, [str(fault) for fault in faults])
