"""`chock club`: packs made and taken in, taken back, and joining."""

import re
import shutil
import sys
from argparse import Namespace
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

from bot.cli.club import Act, Done, opened, own, phrase, words
from bot.cli.progress import reading
from bot.club.joined import counted
from bot.club.pack import MOST_BYTES, Pack, read_pack
from bot.club.rule import fingerprint
from bot.desk import packing, taking
from bot.desk.club import Club, ClubError, Waiting, founded, is_of, join, rules_at
from bot.desk.deciding import STAYS, What
from bot.desk.exchange import clone
from bot.desk.taking import Taking
from bot.store import clubs
from bot.store.changes import undo
from bot.store.files import read_whole
from bot.store.folders import OWN, home_folder, own_kb
from bot.store.keys import Key, has_key, installed, open_key

MOST_ROWS = 40


def _pack(asked: Namespace) -> Done:
    if len(asked.words) < 2:
        raise ClubError(
            "say where to and which: chock club pack FILE all, or ids, or systems"
        )
    file, *names = asked.words
    found = opened(asked)
    wanted = packing.Wanted(names, asked.open, asked.outcomes, asked.passed or "")
    packing.chosen_of(found.kb, wanted)  # before a pass-phrase is asked for
    try:
        made = packing.pack(found, wanted, _key(found))
    except packing.LeavingError as why:
        for one in why.asked:
            print(one, file=sys.stderr)
        raise
    path = Path(file)
    try:
        path.write_bytes(made.data)
    except OSError as error:
        raise ClubError(f"'{file}' cannot be written ({error.strerror})") from None
    what = "1 page" if len(made.pages) == 1 else f"{len(made.pages)} pages"
    return Done(
        (
            f"Pack {made.number} in {file}: {what}, {len(made.data) // 1024} KiB.",
            *made.left_out[:MOST_ROWS],
        ),
        "send it as an attachment or on a stick. A member says: chock club take "
        f"{path.name}; who is new: chock club join {path.name}",
        {"file": file, "number": made.number, "pages": list(made.pages)},
    )


def _key(found: Club) -> Key | None:
    """A reviewer's own key, to sign what he packs; None where there is none."""
    if found.rule is None or not (has_key(found.home) and installed()):
        return None
    return open_key(found.home, phrase("Pass-phrase of your key"))


def _read(file: str) -> Pack:
    try:
        return read_pack(read_whole(file, MOST_BYTES))
    except OSError as error:
        raise ClubError(
            f"'{file}' cannot be read ({error.strerror}); give the file of a pack"
        ) from None


def _take(asked: Namespace) -> Done:
    file = words(asked, "take FILE")
    found = own(asked)
    looked = taking.look(found, _read(file))
    told = tuple(_told(looked))
    data = {
        "rows": [
            {"page": r.page, "what": r.what.value, "state": r.standing.state.value}
            for r in looked.rows
        ]
    }
    if not looked.changes:
        taking.take(found, looked, reading)
        return Done(
            (*told, "Nothing in it is new here; nothing was changed."), "", data
        )
    if not _is_wanted(asked, told):
        return Done(("Nothing was changed.",), "", data)
    shown = told if asked.yes or asked.json else ()
    news = taking.take(found, looked, reading)
    return Done(
        (*shown, "Taken in.", *news),
        "ask as ever; to take all of it back: chock club undo",
        data,
    )


def _is_wanted(asked: Namespace, told: tuple[str, ...]) -> bool:
    """Show what would happen, and ask."""
    if asked.yes:
        return True
    if not sys.stdin.isatty():
        raise ClubError(
            "nothing was changed; look first (chock club look FILE), then add --yes"
        )
    for line in told:
        print(line)
    return input("Take it in? (yes/no) ").strip().lower() in ("y", "yes")


def _look(asked: Namespace) -> Done:
    file = words(asked, "look FILE")
    found = opened(asked)
    looked = taking.look(found, _read(file))
    return Done(
        (*_told(looked), "Nothing was changed."),
        f"to take it in: chock club take {file}",
    )


def _told(looked: Taking) -> Iterator[str]:
    """What a pack holds and what would happen, page by page."""
    yield from looked.remarks
    rows = [row for row in looked.rows if row.happens != STAYS]
    for row in rows[:MOST_ROWS]:
        what = "" if row.what is What.SAME else f"{row.what.value}, {row.happens}; "
        yield f"{row.page}: {what}{row.standing}."
        yield from (f"  {clash}" for clash in row.clashes)
    if len(rows) > MOST_ROWS:
        yield f"and {len(rows) - MOST_ROWS} more pages; --json lists all."
    if same := len(looked.rows) - len(rows):
        yield f"{same} pages are the same as yours." if same > 1 else SAME
    if looked.others:
        yield f"{looked.others} other papers of the club are new."


SAME = "1 page is the same as yours."


def _undo(asked: Namespace) -> Done:
    found = own(asked)
    done = undo(found.home, found.kb)
    left = [f"Left as it is, for it was changed since: {path}" for path in done.left]
    return Done(
        (f"Taken back: {done.name} ({len(done.back)} files).", *left),
        "see how things stand: chock club",
        {"back": list(done.back), "left": list(done.left)},
    )


def _join(asked: Namespace) -> Done:
    file = words(asked, "join FILE-OR-REMOTE")
    home = home_folder(asked.home)
    kept = clubs.memory(home)
    if kept:
        raise ClubError("this store belongs to a club already; see: chock club")
    if _is_remote(file):
        return _joined(*_from_remote(asked, home, file))
    kb = own_kb(asked.kb, home)
    pack = _read(file)
    first = _compared_with(asked, founded(pack.files))
    found = Club(kb, home)
    looked = taking.look(found, pack)
    taking.take(found, looked, reading)
    joined = join(kb, home, first, asked.pen or "")
    return _joined(joined, _told(taking.look(joined, pack)))


def _joined(joined: Club, told: Iterable[str]) -> Done:
    memory, rule = joined.known()
    return Done(
        (
            f"You are with {rule.club} now, by version {rule.version} of its rule.",
            *told,
        ),
        "see how things stand: chock club",
        {"club": memory.club, "version": rule.version},
    )


def _is_remote(said: str) -> bool:
    """Whether that is where git shares, and no pack."""
    return Path(said).is_dir() or "://" in said or bool(re.match(r"[^/\\:]{2,}:", said))


def _from_remote(
    asked: Namespace, home: str, remote: str
) -> tuple[Club, tuple[str, ...]]:
    """What the club shares by git, made one's own; all of it or nothing."""
    kb = Path(asked.kb or Path(home, OWN)).absolute()
    if kb.exists():
        raise ClubError(
            f"there is a knowledge base in '{kb}' already; join by a pack, or choose "
            "another store with --home DIR"
        )
    beside = kb.with_name(f".{kb.name}.joining")
    try:
        came = clone(remote, beside)
        first = _compared_with(asked, founded(rules_at(str(beside))))
        beside.rename(kb)
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    joined = join(str(kb), home, first, asked.pen or "")
    memory, _ = joined.known()
    clubs.remember(home, memory._replace(remote=remote))
    return joined, (f"Came in: {counted(change.path for change in came)}.",)


def _compared_with(asked: Namespace, first: Waiting) -> Waiting:
    """A club's first rule whose fingerprint was compared."""
    said = asked.fingerprint or _compared(first.rule.club, first.rule.digest)
    is_of(first, said)
    return first


def _compared(name: str, digest: str) -> str:
    if not sys.stdin.isatty():
        raise ClubError(
            f"compare the fingerprint of {name} with a member by voice: "
            f"{fingerprint(digest)}; then say --fingerprint and its last four letters"
        )
    print(f"This is a pack of: {name}")
    print(f"Its fingerprint: {fingerprint(digest)}")
    print("Ask a member by voice to read you his. If one letter differs, stop here.")
    return input("Type its last four letters: ")


ACTS: Mapping[str, Act] = MappingProxyType(
    {
        "pack": _pack,
        "look": _look,
        "take": _take,
        "undo": _undo,
        "join": _join,
    }
)
