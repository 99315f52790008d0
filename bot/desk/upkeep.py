"""Changed files read anew into the index; a wrong card is noted and left out."""

import hashlib
import sqlite3
from collections.abc import Callable, Collection, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

from bot.cards.contents import Contents, read_contents
from bot.cards.lesser import read_note, read_procedure
from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cards.wordings import COMPLAINT, Ear, Wordings, read_ear, read_wordings
from bot.cards.words import read_words
from bot.desk.beside import told_beside
from bot.desk.floor import floored
from bot.language.compile import compiled
from bot.language.lexicon import Lexicon
from bot.match.danger import stop_record
from bot.match.records import Record, record, record_of_procedure
from bot.model.card import Card
from bot.model.pages import Note, Procedure
from bot.model.place import Fault
from bot.model.rule import StopRule
from bot.model.words import Words
from bot.store.index import CardIndex, Source
from bot.store.pages import Page, PageKind, page, shown, text_of
from bot.store.scan import CONTENTS, EAR, RULES, WORDS, least, scan


def bring_up(
    index: CardIndex, kb: str, told: Callable[[int, int], None] = lambda *_: None
) -> None:
    """Make the index say what the files say now; all of it or, on an error, nothing.

    `told` hears how many files are read, and of how many.
    """
    with index:
        files = scan(kb)
        for path in least().values():
            index.remove(path)
        index.remove(kb)
        stale = index.stale(files)
        for path in stale.gone:
            index.remove(path)
        if any(_holds_words(path) for path in (*stale.gone, *stale.changed)):
            _put_words(
                index, [page(Path(p), *files[p]) for p in files if _holds_words(p)]
            )
        changed = index.stale(files).changed
        for done, path in enumerate(changed):
            told(done, len(changed))
            if not _holds_words(path):
                _put_page(index, page(Path(path), *files[path]))
        told(len(changed), len(changed))
        for path in stale.gone:
            _put_beside(index, page(Path(path)))
        _stand_in(index, kb, files)


def _stand_in(index: CardIndex, kb: str, files: Mapping[str, object]) -> None:
    """Put the built-in stop rules in for those that the knowledge base has not.

    That one is missing, and that nothing was learnt of how dangers are told, is noted
    as a fault of the knowledge base.
    """
    held = {rule.id for rule in index.rules()}
    missing = {rule: path for rule, path in least().items() if rule not in held}
    for path in missing.values():
        _put_page(index, page(Path(path)))
    wrong = [MISSING.format(", ".join(missing))] if missing else []
    if str(Path(kb, RULES, EAR)) not in files:
        wrong.append(DEAF)
    unread = [name for name in WORDS if str(Path(kb, name)) not in files]
    if unread:
        wrong.append(UNREAD.format(", ".join(unread)))
    gone = missing_of(Path(kb), files)
    if gone:
        wrong.append(GONE.format(", ".join(gone)))
    if wrong:
        index.put_wrong(
            Source(kb, 0, 0, ""), [f"{shown(Path(kb))}: {w}" for w in wrong]
        )


def missing_of(kb: Path, files: Collection[str]) -> tuple[str, ...]:
    """What the contents list and is not among the files; nothing without a list."""
    path = kb / CONTENTS
    text = text_of(page(path)) if str(path) in files else ""
    listed = read_contents(text, shown(path)) if isinstance(text, str) else ()
    if not isinstance(listed, Contents):
        return ()
    return tuple(name for name in listed.paths if str(kb / name) not in files)


GONE = (
    "these files belong here and are gone: {}; copy them again, or, if they were taken "
    "out on purpose, run: chock lint --mend KB"
)
MISSING = (
    "stop rules are missing or have mistakes, and the built-in ones stand in: {}; put "
    "their pages back into stop-rules/"
)
UNREAD = "{} missing, and words are understood the worse for it; put it back"
DEAF = (
    "stop-rules/ear.txt is missing, and dangers are heard by the signs of the stop "
    "rules alone; put it back"
)


def _holds_words(path: str) -> bool:
    return Path(path).name in WORDS


def _put_words(index: CardIndex, found: Sequence[Page]) -> None:
    """One lexicon of all words files; one with mistakes is noted and left out.

    Where the files say what they said before (a comment is another), all else stays.
    """
    words = Words()
    kept: list[tuple[Source, Sequence[str]]] = []
    for each in found:
        text = text_of(each)
        held = (text,) if isinstance(text, Fault) else read(text, each)
        faults: Sequence[str] = ()
        if isinstance(held, Words):
            words += held
        elif isinstance(held, tuple):
            faults = [str(fault) for fault in held]
        kept.append((_source(each, text), faults))
    digest = hashlib.sha256(repr(words).encode()).hexdigest()
    if index.words() == digest:
        index.look_at_words(kept)
    else:
        index.put_words(kept, compiled(words), digest)


def _put_page(index: CardIndex, found: Page) -> None:
    text = text_of(found)
    told = told_beside(found.path) if found.kind in HEARD_BY_SIGNS else ()
    source = _source(found, "\n".join((str(text), *told)))
    if not index.same(source):
        held = (text,) if isinstance(text, Fault) else read(text, found)
        _keep(index, source, held, told)
    _put_beside(index, found)


def _put_beside(index: CardIndex, side: Page) -> None:
    """The page beside a side file that changed: its complaint may be said anew."""
    path = side.path.with_name(f"{side.id}.md")
    if side.kind is PageKind.SIDE and path.is_file():
        look = path.stat()
        _put_page(index, page(path, look.st_mtime_ns, look.st_size))


def _source(found: Page, text: str | Fault) -> Source:
    """A file as it was read."""
    digest = hashlib.sha256(str(text).encode()).hexdigest()
    return Source(str(found.path), found.mtime_ns, found.size, digest)


HEARD_BY_SIGNS = (PageKind.CARD, PageKind.PROCEDURE)

Held = (
    Card
    | Procedure
    | Note
    | StopRule
    | Words
    | Ear
    | Wordings
    | Contents
    | tuple[Fault, ...]
)

_READERS: MappingProxyType[PageKind, Callable[[str, str], Held]] = MappingProxyType(
    {
        PageKind.CARD: read_card,
        PageKind.PROCEDURE: read_procedure,
        PageKind.NOTE: read_note,
        PageKind.RULE: read_rule,
        PageKind.WORDS: read_words,
        PageKind.EAR: read_ear,
        PageKind.SIDE: read_wordings,
        PageKind.CONTENTS: read_contents,
    }
)


def read(text: str, found: Page) -> Held:
    """What the text of a page holds, or its faults."""
    return _READERS[found.kind](text, found.shown)


def _keep(
    index: CardIndex, source: Source, held: Held, told: Sequence[str] = ()
) -> None:
    """Put what a file holds into the index, with what is told beside a page."""
    match held:
        case Ear():
            index.put_ear(source, held.weights)
        case Mapping():
            card = page(Path(source.path)).id
            answers = ((at, said) for at, said in held.items() if at != COMPLAINT)
            rows = ((*at, "\n".join(said)) for at, said in answers)
            index.put_wordings(source, card, rows)
        case Note():
            index.put_note(source, held.id, held.about)
        case Card() | Procedure():
            try:
                index.put_card(source, _record(held, index.lexicon, told))
            except sqlite3.IntegrityError:
                fault = Fault(held.place, f"another file holds '{held.id}'; rename one")
                index.put_wrong(source, [str(fault)])
        case StopRule():
            index.put_rule(source, stop_record(floored(held), index.lexicon))
        case Words():
            raise TypeError("words files go in together")
        case _:
            faults = () if isinstance(held, Contents) else held
            index.put_wrong(source, [str(fault) for fault in faults])


def _record(held: Card | Procedure, lexicon: Lexicon, told: Sequence[str]) -> Record:
    if isinstance(held, Card):
        return record(held, lexicon, told)
    return record_of_procedure(held, lexicon, told)
