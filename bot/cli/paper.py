"""`chock card` and `chock print`: pages as a person reads them, on screen and paper."""

import json
from argparse import Namespace
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from bot.cards.sources import Record
from bot.cli.report import give
from bot.club.standing import Standing
from bot.desk.lint import records as records_of
from bot.desk.standing import Standings
from bot.desk.upkeep import read
from bot.model.card import Card
from bot.model.pages import Note, Procedure
from bot.model.place import BotError
from bot.model.rule import Shelf, StopRule
from bot.paper import sheet
from bot.paper.html import set_html
from bot.paper.pieces import Box, Heading, Photo, Piece, Plain, Verdict
from bot.paper.text import set_text
from bot.store.files import read_whole
from bot.store.folders import home_folder, kb_folder
from bot.store.pages import Page, PageKind, pages, text_of
from bot.talk.clean import clean_lines

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
        said = {"id": asked.id, "path": found[0].shown, "text": text}
        print(json.dumps(said | {"standing": str(_stands(asked, found[0]))}))
        return 0
    shelf, held = _shelf(asked), _held(found[0])
    pieces = _pieces(held, shelf, _records(asked), rules=())
    print(clean_lines(set_text(_standing(pieces, asked))), end="")
    return 0


NOT_BY_IT = "The club took this page back: do not work by it. Ask a reviewer."


def _stands(asked: Namespace, found: Page) -> Standing:
    """How a page stands with the club."""
    kb = kb_folder(asked.kb, asked.home)
    page = found.path.relative_to(kb).as_posix()
    return Standings(kb, home_folder(asked.home)).of(page)


def _standing(pieces: Iterable[Piece], asked: Namespace) -> Iterator[Piece]:
    """Pages with how they stand, below their title and verdict."""
    by_id = {page.id: page for page in _pages(asked)}
    said = ""
    for piece in pieces:
        if said and not isinstance(piece, Verdict):
            yield Plain((f"{said[0].upper()}{said[1:]}.",))
            said = ""
        yield piece
        if isinstance(piece, Heading) and piece.level == 1 and piece.anchor in by_id:
            stands = _stands(asked, by_id[piece.anchor])
            said = str(stands) if stands.may_lead else ""
            if not said:
                yield Box(
                    "WITHDRAWN", f"{stands.why or 'no reason given'}. {NOT_BY_IT}"
                )


def paper(asked: Namespace) -> int:
    """Print pages, or the whole book, as text or as one HTML file."""
    whole = asked.ids == [ALL]
    if not whole:
        _refuse_unknown(asked)
    shelf, records = _shelf(asked), _records(asked)
    every: list[Held] = [*shelf.cards, *shelf.procedures]
    chosen = every if whole else _chosen(asked.ids, shelf)
    if not chosen:
        raise BotError("there is no page here to print; 'chock lint' tells why")
    pieces: list[Piece] = list(sheet.book(shelf, records)) if whole else []
    for held in () if whole else chosen:
        pieces += _pieces(held, shelf, records, shelf.rules)
    pieces = [*_standing(pieces, asked)]
    title = "Fault pages" if len(chosen) > 1 else chosen[0].title
    photos = _photos(pieces) if asked.html else {}
    text = set_html(pieces, title, photos) if asked.html else set_text(pieces)
    many = "1 page" if len(chosen) == 1 else f"{len(chosen)} pages"
    give(clean_lines(text), asked.out, many)
    return 0


MOST_PICTURE_BYTES = 4_000_000
"""Of a larger one the words are printed; the linter asks for far less."""

Held = Card | Procedure | Note | StopRule


def _pieces(
    held: Held, shelf: Shelf, records: sheet.Records, rules: Sequence[StopRule]
) -> Iterator[Piece]:
    """One page set, with what members saw of it."""
    if isinstance(held, Card):
        notes = (note for note in shelf.notes if note.about == held.id)
        yield from sheet.page(held, rules, records, notes)
    elif isinstance(held, Procedure):
        yield from sheet.procedure(held, records)
    elif isinstance(held, Note):
        yield from sheet.note(held)
    else:
        yield from sheet.rule(held)


def _photos(pieces: Sequence[Piece]) -> dict[str, bytes]:
    """The files of the pictures that can be read."""
    photos: dict[str, bytes] = {}
    for piece in pieces:
        if isinstance(piece, Photo):
            with suppress(OSError):
                photos[piece.path] = read_whole(piece.path, MOST_PICTURE_BYTES)
    return photos


def _shelf(asked: Namespace) -> Shelf:
    held = [kept for page in _pages(asked) if (kept := _kept(page))]
    return Shelf(
        tuple(each for each in held if isinstance(each, Card)),
        tuple(each for each in held if isinstance(each, StopRule)),
        tuple(each for each in held if isinstance(each, Procedure)),
        tuple(each for each in held if isinstance(each, Note)),
    )


def _records(asked: Namespace) -> dict[str, Record]:
    found = records_of(Path(kb_folder(asked.kb, asked.home)))
    return {record.key: record for record in found if isinstance(record, Record)}


def _chosen(ids: Sequence[str], shelf: Shelf) -> list[Held]:
    """The pages named by id, or all of a system that is named, but its stubs."""
    chosen: list[Held] = []
    for name in ids:
        found: list[Held] = [
            card
            for card in shelf.cards
            if name == card.id or (name == card.system and not card.is_stub)
        ]
        found += (p for p in shelf.procedures if name in (p.id, p.system))
        found += (rule for rule in shelf.rules if rule.id == name)
        found += (note for note in shelf.notes if note.id == name)
        if not found:
            raise BotError(
                f"there is nothing to print of '{name}' yet; 'chock lint' tells which "
                "pages have mistakes, 'chock cards' which are not written"
            )
        chosen += found
    return chosen


def _refuse_unknown(asked: Namespace) -> None:
    """Refuse a name that no file or folder bears, before all pages are read."""
    found = _pages(asked)
    names = {page.id for page in found}
    names |= {p.path.parent.name for p in found if p.kind is PageKind.CARD}
    for name in asked.ids:
        if name not in names:
            raise BotError(
                f"there is no page or system '{name}'; 'chock cards' lists them, "
                f"'{ALL}' prints the whole book"
            )


KINDS = (PageKind.CARD, PageKind.PROCEDURE, PageKind.NOTE, PageKind.RULE)


def _pages(asked: Namespace) -> list[Page]:
    return [p for p in pages(Path(kb_folder(asked.kb, asked.home))) if p.kind in KINDS]


def _kept(page: Page) -> Held | None:
    """What a page holds, or None where it has mistakes; `chock lint` tells which."""
    text = text_of(page)
    held = read(text, page) if isinstance(text, str) else None
    return held if isinstance(held, Held) else None


def _held(page: Page) -> Held:
    held = _kept(page)
    if held is None:
        raise BotError(f"'{page.id}' has mistakes; 'chock lint' tells which")
    return held
