"""`chock new`: a fresh page of each kind, or one drafted from a job, in its place."""

import re
import sys
from argparse import Namespace
from collections.abc import Iterator, Mapping, Sequence
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
from bot.cli.progress import reading
from bot.desk.drafted import Likened, like, telling
from bot.desk.drafting import Asked, Desk, draft
from bot.desk.library import KbLibrary
from bot.desk.shelf import open_index
from bot.model.place import BotError
from bot.store.clock import today
from bot.store.folders import home_folder, kb_folder
from bot.store.journal import Journal
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
    """Write a fresh page, or a draft; nothing that is there is ever written over."""
    if asked.job:
        return _from_a_job(asked)
    if asked.page:
        raise BotError("--page goes with --from; write chock new --from JOB --page")
    kb = Path(kb_folder(asked.kb))
    if asked.kind not in KINDS:
        names = ", ".join(KINDS)
        raise BotError(f"'{asked.kind}' is no kind of page; write one of {names}")
    ids = _ids(kb)
    _free(asked.id, ids)
    path, text = _fresh(KINDS[asked.kind], asked.id, asked.of, kb, sorted(ids))
    alike = tuple(_alike(asked, kb))
    _write(path, text)
    print(f"{shown(path)} is begun. Fill it, then: chock lint {shown(path)}")
    print(*alike, sep="\n", end="\n" if alike else "")
    return 0


def _ids(kb: Path) -> dict[str, str]:
    """The ids that there are, each with its path."""
    return {page.id: page.shown for page in pages(kb)}


def _free(page_id: str, ids: Mapping[str, str]) -> None:
    """Raises BotError where an id is none, or is among those that there are."""
    if not _ID.fullmatch(page_id):
        raise BotError(f"'{page_id}' is no id; use small letters, digits, hyphens")
    if page_id in ids:
        taken = f"'{page_id}' is taken by {ids[page_id]}"
        raise BotError(f"{taken}; give yours another name")


def _write(path: Path, text: str) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except OSError as error:
        raise BotError(f"'{path}' cannot be written ({error.strerror})") from error


def _alike(asked: Namespace, kb: Path) -> Iterator[str]:
    """What a fresh page is like, by the words of its id; its text is the template's."""
    try:
        home = home_folder(asked.home)
        library = KbLibrary(str(kb), home, Journal(Path(home)))
    except BotError as error:  # without a store pages can be begun all the same
        yield f"What is like it was not looked for: {error}."
        return
    shelf = open_index(str(kb), home, reading)
    likened = Likened((asked.id.replace("-", " "),))
    yield from _much_like(like(likened, shelf, library.page, {asked.of}))


def _much_like(found: Sequence[tuple[str, float]]) -> Iterator[str]:
    for page, how in found:
        instead = f"consider adding a field note there: chock new note ID {page}"
        yield f"much like '{page}' ({how:.2f}): {instead}"


def _from_a_job(asked: Namespace) -> int:
    """Draft what a job tells; say what was written, what is like it, and what next."""
    kb, home = kb_folder(asked.kb), home_folder(asked.home)
    ids = _ids(Path(kb))
    wanted = _wanted(asked, ids)
    journal = Journal(Path(home))
    library = KbLibrary(kb, home, journal, "", reading)
    desk = Desk(journal, library, home, open_index(kb, home, reading))
    made = draft(int(asked.job), wanted, desk, ids)
    alike = like(made.likened, desk.shelf, library.page, {made.about})
    told = tuple(telling(made.text, made.said, desk.shelf))
    path = Path(kb, made.path)
    _write(path, made.text)
    at = shown(path)
    print(f"{at} is drafted from job {asked.job}: {made.what}.")
    lines = (f"line {line}: {says}" for line, says in told)
    for says in (*made.remarks, *lines, *_much_like(alike)):
        print(says)
    print(NEXT.format(at))
    return 0


NEXT = (
    "Fill in what says 'fill in', and take out what tells of people or places; then: "
    "chock lint {}\nIt is private, and leaves only when you change its 'share'."
)


def _wanted(asked: Namespace, ids: Mapping[str, str]) -> Asked:
    """What the command line asks of a draft: an id and a system, if any.

    Raises:
        BotError: it names something else.
    """
    if not re.fullmatch("[0-9]{1,9}", asked.job):
        raise BotError(f"'{asked.job}' is no job; write its number, as in --from 12")
    if asked.of or (asked.id and asked.kind in KINDS):
        form = f"chock new --from {asked.job} ID SYSTEM"
        raise BotError(f"a draft has no kind to name; write {form}, or --page for one")
    if asked.kind:
        _free(asked.kind, ids)
    if asked.id:
        _known(asked.id, SYSTEMS)
    return Asked(asked.kind, asked.id, asked.page)


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
