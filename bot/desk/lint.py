"""The linter's desk: every page of a knowledge base read, all faults in one list."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cache, partial
from pathlib import Path

from bot.cards.contents import Contents, read_contents
from bot.cards.lint import lint_shelf
from bot.cards.prose import blocks_of
from bot.cards.sources import Record, read_sources
from bot.cards.wordings import Ear, lint_beside
from bot.cards.write import (
    EXTRA,
    untidy_line,
    write_card,
    write_note,
    write_procedure,
    write_rule,
)
from bot.desk.acts import Guard
from bot.desk.beside import whole
from bot.desk.likeness import like_signs
from bot.desk.pictures import lint_pictures
from bot.desk.spares import weights_or_faults
from bot.desk.upkeep import Held, missing_of, read
from bot.language.compile import compiled
from bot.match.records import telling
from bot.model.card import Card
from bot.model.pages import Note, Procedure
from bot.model.place import Fault, Place
from bot.model.rule import Shelf, StopRule
from bot.model.words import Words
from bot.store.memo import NOTHING_KEPT, Memo, digest
from bot.store.pages import Page, contents_of, page, pages, shown, strays, text_of
from bot.store.scan import CONTENTS, SIDE, SOURCES, WORDS, scan


@dataclass(slots=True)
class _Found:
    """What the files of a knowledge base hold, and their faults."""

    faults: list[Fault]
    untidy: list[Fault] = field(default_factory=list)
    cards: list[Card] = field(default_factory=list)
    told: list[Card] = field(default_factory=list)
    procedures: list[Procedure] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    rules: list[StopRule] = field(default_factory=list)
    words: Words = field(default_factory=Words)
    texts: dict[str, str] = field(default_factory=dict)

    def take_page(self, each: Page, text: str | Fault) -> None:
        """Read a page, and note what is wrong with it by itself."""
        held = (text,) if isinstance(text, Fault) else read(text, each)
        self.texts[each.shown] = str(text)
        if isinstance(held, tuple) and not isinstance(held, Ear):
            self.faults += held
        tidy = self.take(held, each)
        self.untidy += _tidy(each, text, tidy) if tidy else ()
        if isinstance(held, Card | Procedure | Note):
            self.faults += lint_pictures(blocks_of(held), each.path)

    def take(self, held: Held, found: Page) -> str:
        """Put a page where it belongs; its text as the writer would have it, or ""."""
        if isinstance(held, Card):
            self.cards.append(held)
            self.told.append(whole(held, found.path))
            self.faults += _folder(held, found)
            return write_card(held)
        if isinstance(held, Procedure):
            self.procedures.append(held)
            return write_procedure(held)
        if isinstance(held, Note):
            self.notes.append(held)
            return write_note(held)
        if isinstance(held, StopRule):
            self.rules.append(held)
            return write_rule(held)
        if isinstance(held, Words):
            self.words += held
        return ""

    def by_path(self) -> Iterator[tuple[str, Card | Procedure | Note | StopRule]]:
        """All pages without faults of grammar, each with its path."""
        for kind in (self.cards, self.procedures, self.notes, self.rules):
            yield from ((held.place.path, held) for held in kind)

    @property
    def shelf(self) -> Shelf:
        """All pages without faults of grammar."""
        rules, procedures = tuple(self.rules), tuple(self.procedures)
        return Shelf(tuple(self.cards), rules, procedures, tuple(self.notes))


def lint(
    kb: Path, today: date, at: Path | None = None, memo: Memo = NOTHING_KEPT
) -> tuple[Fault, ...]:
    """Every fault in the knowledge base at `kb`, by path and line.

    Args:
        kb: the knowledge base.
        today: the date that review dates are held against.
        at: the page or folder whose sentences are listened to for dangerous acts,
            which takes the most time; all where it is None.
        memo: what was worked out of pages before.
    """
    if not kb.is_dir():
        return (Fault(Place(str(kb), 1), "no such folder; write the path to a kb"),)
    found = _Found(strays(kb))
    files = pages(kb)
    for each in files:
        found.take_page(each, text_of(each))
    links = {each.shown: each.id for each in files}
    documents = records(kb)
    keys = {record.key for record in documents if isinstance(record, Record)}
    faults = found.faults + [f for f in documents if isinstance(f, Fault)]
    faults += _listed(kb)
    heavy = weights_or_faults(kb)
    faults += heavy if isinstance(heavy, tuple) else ()
    faults += lint_shelf(found.shelf, links, today, keys)
    faults += _beside(found)
    faults += _heard(kb, found, shown(at) if at else "", memo)
    wrong = {fault.place.path for fault in faults}
    faults += (f for f in found.untidy if f.place.path not in wrong)  # these first
    return tuple(sorted(set(faults)))


def _heard(kb: Path, found: _Found, below: str, memo: Memo) -> Iterator[Fault]:
    """Signs that say the same, and acts that no caution guards, on pages below a path.

    Of a page that is as it was, and of words that are, both are known already.
    """
    lexicon = cache(lambda: compiled(found.words))
    words = digest(t for name, t in found.texts.items() if _holds_words(name))

    def telling_of(card: Card) -> Sequence[frozenset[str]]:
        def make() -> str:
            return "\n".join(
                " ".join(sorted(telling(sign, lexicon()))) for sign in card.signs
            )

        kept = memo.of(("signs", words, *card.signs), make)
        return [frozenset(line.split()) for line in kept.split("\n")]

    yield from like_signs(found.told, telling_of)
    if not found.cards:
        return
    guard = Guard(kb)
    yield from guard.faults
    heard_by = digest((*guard.texts, words))

    def acts_in(held: Card | Procedure | Note | StopRule) -> str:
        faults = guard.lint(held, lexicon())
        return json.dumps([(f.place.line, f.says) for f in faults])

    for path, held in found.by_path():
        if path.startswith(below):
            parts = ("acts", path, found.texts[path], heard_by)
            kept = memo.of(parts, partial(acts_in, held))
            yield from (Fault(Place(path, at), says) for at, says in json.loads(kept))


def _beside(found: _Found) -> Iterator[Fault]:
    """Headings of side files that their pages do not have."""
    for card in found.cards:
        side = card.place.path.removesuffix(".md") + SIDE
        yield from lint_beside(found.texts.get(side, ""), side, card)


def _holds_words(path: str) -> bool:
    return Path(path).name in WORDS


def _listed(kb: Path) -> Iterator[Fault]:
    """Files that are gone though the contents list them, and the other way round."""
    path = kb / CONTENTS
    text = text_of(page(path)) if path.is_file() else ""
    listed = read_contents(text, shown(path)) if isinstance(text, str) else ()
    if not text or not isinstance(listed, Contents):
        return  # without a list nothing is missed; its own mistakes are told already
    here = contents_of(kb)
    for name in missing_of(kb, scan(str(kb))):
        yield Fault(Place(shown(path), 1), f"'{name}' is gone; put it back, or {MEND}")
    for name in sorted(here - set(listed.paths)):
        yield Fault(Place(shown(kb / name), 1), f"is not in {CONTENTS}; {MEND}")


MEND = "run: chock lint --mend KB"


def records(kb: Path) -> tuple[Record, ...] | tuple[Fault, ...]:
    """The documents that figures come from; none where there is no such file."""
    path = kb / SOURCES
    text = text_of(page(path)) if path.is_file() else ""
    if isinstance(text, Fault):
        return (text,)
    return read_sources(text, shown(path)) if text else ()


def _folder(card: Card, found: Page) -> list[Fault]:
    folder = found.path.parent.name
    if card.system == folder:
        return []
    says = f"system '{card.system}' in the folder '{folder}'; move it or change one"
    return [Fault(Place(found.shown, 1), says)]


def _tidy(found: Page, text: str | Fault, tidy: str) -> list[Fault]:
    """A page laid out otherwise than the writer would: its first such line."""
    odd = untidy_line(text, tidy) if isinstance(text, str) else None
    if odd is None:
        return []
    line, wanted = odd
    says = f"untidy; write {wanted!r}" if wanted else "untidy; leave one line empty"
    says = "untidy; take this empty line out" if wanted == EXTRA else says
    return [Fault(Place(found.shown, line), says)]
