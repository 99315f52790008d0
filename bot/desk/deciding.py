"""What becomes of one page that comes in: taken, kept, merged, or set aside.

A page and the wordings beside it go together. What the club vetted comes before what
one member wrote; what one wrote here is never lost.
"""

from collections.abc import Iterable
from enum import Enum
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from bot.club.joined import aside_path
from bot.club.merge import merge
from bot.club.names import (
    wordings_of,
)
from bot.club.pack import Pack, PackError
from bot.club.signoff import NONE, Bytes, Signed, Text
from bot.club.standing import Standing, State
from bot.desk.club import Club
from bot.desk.upkeep import Held, read
from bot.store import clubs
from bot.store.files import read_whole
from bot.store.folders import installed
from bot.store.pages import Page
from bot.store.pages import page as page_at

VETTED = (State.VETTED, State.OVERDUE)


class What(Enum):
    """What a pack has for one page."""

    NEW = "new"
    SAME = "the same"
    CHANGED = "changed"
    OLDER = "older"
    KNOWN = "come before"
    MERGED = "both changed"
    CONFLICT = "conflicting"
    UNSIGNED = "not signed by enough"


class Row(NamedTuple):
    """One page of a pack: what it is, how it stands, what will happen to it."""

    page: str
    what: What
    standing: Standing
    happens: str
    clashes: tuple[str, ...] = ()


class Pair(NamedTuple):
    """A page and the wordings beside it; None for what is not there."""

    page: bytes | None
    wordings: bytes | None

    def bytes(self) -> Bytes:
        """Its digests."""
        beside = NONE if self.wordings is None else digest(self.wordings)
        return Bytes(digest(self.page or b""), beside)


def decide(
    club: Club, pack: Pack, page: str, signed: Iterable[Signed]
) -> tuple[Row, dict[str, bytes]]:
    """What becomes of a page, and the files that are written for it."""
    beside = wordings_of(page)
    ours = Pair(held_at(club.kb, page), held_at(club.kb, beside) if beside else None)
    theirs = Pair(
        pack.files.get(page, ours.page), pack.files.get(beside, ours.wordings)
    )
    if theirs.page is None:
        raise PackError(f"refused: {beside} has no page; ask for both")
    comes = club.standings.beside(Text(page, theirs.bytes()), signed)
    if ours.page is None:
        return _row(page, What.NEW, comes), _files(page, theirs)
    if ours == theirs:
        news = comes != club.standings.of(page)
        row = _row(page, What.SAME, comes)
        return row._replace(happens=NOW_SIGNED if news else row.happens), {}
    stands = club.standings.beside(Text(page, ours.bytes()), signed)
    base = Pair(_base(club, page), _base(club, beside) if beside else None)
    if comes.state in VETTED:
        edited = ours not in (base, theirs)
        aside = _aside(page, ours, theirs) if edited else {}
        what = What.CONFLICT if edited else What.CHANGED
        return _row(page, what, comes), _files(page, theirs) | aside
    if stands.state in VETTED or page.startswith("stop-rules/"):
        what = What.OLDER if comes.is_older else What.UNSIGNED
        aside = {} if what is What.OLDER else _aside(page, theirs, ours)
        return _row(page, what, comes), aside
    return _unvetted(page, (base, ours, theirs), comes)


def _unvetted(
    page: str, texts: tuple[Pair, Pair, Pair], comes: Standing
) -> tuple[Row, dict[str, bytes]]:
    """What becomes of a page of which neither text is vetted."""
    base, ours, theirs = texts
    if theirs == base or comes.is_older:
        what = What.OLDER if comes.is_older else What.KNOWN
        return _row(page, what, comes), {}
    if ours == base:
        return _row(page, What.CHANGED, comes), _files(page, theirs)
    merged, clashes = _merged(page, texts)
    if merged is None:
        row = _row(page, What.CONFLICT, comes)._replace(
            happens="yours stays, theirs is set aside", clashes=clashes
        )
        return row, _aside(page, theirs, ours)
    return _row(page, What.MERGED, comes), _files(page, merged)


STAYS = "stays"
NOW_SIGNED = "stays, and stands so now"
_HAPPENS = {
    What.NEW: "is added",
    What.SAME: STAYS,
    What.CHANGED: "takes the place of yours",
    What.OLDER: "yours stays",
    What.KNOWN: "yours stays",
    What.MERGED: "both changes are put together",
    What.CONFLICT: "the vetted text is taken, yours is set aside",
    What.UNSIGNED: "yours stays, theirs is set aside",
}


def _row(page: str, what: What, standing: Standing) -> Row:
    return Row(page, what, standing, _HAPPENS[what])


def _files(page: str, pair: Pair) -> dict[str, bytes]:
    held = ((page, pair.page), (wordings_of(page), pair.wordings))
    return {path: data for path, data in held if data is not None}


def _aside(page: str, pair: Pair, other: Pair) -> dict[str, bytes]:
    """What a pair has that the other has not, to be kept."""
    found = (
        (page, pair.page, other.page),
        (wordings_of(page), pair.wordings, other.wordings),
    )
    return {
        aside_path(path, data): data
        for path, data, stays in found
        if data is not None and data != stays
    }


def _merged(
    page: str, texts: tuple[Pair, Pair, Pair]
) -> tuple[Pair | None, tuple[str, ...]]:
    """Both changes put together; None and where they clash."""
    done: list[bytes | None] = []
    clashes: list[str] = []
    for path, (base, ours, theirs) in zip(
        (page, wordings_of(page)), zip(*texts, strict=True), strict=True
    ):
        if ours is None or theirs is None:
            done.append(ours if theirs is None else theirs)
            continue
        came = merge(
            base.decode("utf-8") if base else None,
            ours.decode("utf-8"),
            theirs.decode("utf-8"),
            path=path,
            reads=partial(_reads, path),
        )
        done.append(came.text.encode("utf-8"))
        clashes += map(str, came.conflicts)
    return (None if clashes else Pair(*done)), tuple(clashes)


def _reads(path: str, text: str) -> bool:
    try:
        read_page(path, text.encode("utf-8"))
    except PackError:
        return False
    return True


BASE = "came"


def _base(club: Club, path: str) -> bytes | None:
    """A file as it came last: by a pack, or with chock itself."""
    came = held_at(str(clubs.folder(club.home) / BASE), path)
    return held_at(installed(), path) if came is None else came


def read_page(path: str, data: bytes) -> Held:
    """A page, or the wordings beside one, as chock will read it.

    Raises:
        PackError: it has a mistake.
    """
    found: Page = page_at(Path(path))._replace(shown=path)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise PackError(f"refused: {path}: not UTF-8 text; ask its maker") from None
    if b"PRIVATE KEY" in data:
        raise PackError(f"refused: {path} holds somebody's private key; tell its maker")
    held = read(text.removeprefix("\ufeff").replace("\r\n", "\n"), found)
    if isinstance(held, tuple):
        raise PackError(f"refused: {held[0]}")
    return held


def held_at(kb: str, path: str) -> bytes | None:
    """What stands at a path of a knowledge base; None for nothing."""
    try:
        return read_whole(Path(kb, path))
    except (FileNotFoundError, NotADirectoryError):
        return None


def digest(data: bytes) -> str:
    """SHA-256, in hexadecimal digits."""
    return sha256(data).hexdigest()
