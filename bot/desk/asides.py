"""Texts set aside: what somebody wrote that did not become the page, to be used."""

from pathlib import Path
from typing import NamedTuple

from bot.club.clashes import Clash
from bot.club.merge import merge
from bot.club.names import ASIDE, wordings_of
from bot.desk.club import Club, ClubError
from bot.desk.deciding import aside_path
from bot.store.changes import change
from bot.store.files import read_whole

FOLDER = "club/aside"


class Set(NamedTuple):
    """A text that was set aside: its file, and the file whose text it would be."""

    path: str
    page: str


def asides(kb: str, page: str = "") -> tuple[Set, ...]:
    """What is set aside of a page, or of all, by path."""
    root = Path(kb)
    found = (p.relative_to(root).as_posix() for p in root.glob(f"{FOLDER}/**/*"))
    rows = (
        Set(path, _page_of(path)) for path in sorted(found) if ASIDE.fullmatch(path)
    )
    return tuple(row for row in rows if not page or page in (row.page, _own(row.page)))


def _page_of(path: str) -> str:
    """The file whose text one set aside would be."""
    name, ending = path.removeprefix(f"{FOLDER}/").rsplit(".", 1)
    page = f"{name.rsplit('.', 1)[0]}.md"
    return page if ending == "md" else wordings_of(page)


def _own(path: str) -> str:
    return path.replace(".wordings.txt", ".md")


def differences(kb: str, one: Set) -> tuple[Clash, ...]:
    """Where a text set aside differs from the page as it is, in the page's terms."""
    ours, theirs = _text(kb, one.page), _text(kb, one.path)
    return merge("", ours, theirs, path=one.page).conflicts


def use(club: Club, one: Set) -> None:
    """Put a text that was set aside in its page's place; what stood there goes aside.

    Raises:
        BotError: it is not there any more, or cannot be written.
    """
    theirs = _bytes(club.kb, one.path)
    if theirs is None:
        raise ClubError(f"{one.path} is not there any more; see: chock club aside")
    files: dict[str, bytes | None] = {one.page: theirs, one.path: None}
    ours = _bytes(club.kb, one.page)
    if ours is not None:
        files[aside_path(one.page, ours)] = ours
    change(club.home, club.kb, f"{one.page} from what was set aside", files)


def _bytes(kb: str, path: str) -> bytes | None:
    try:
        return read_whole(Path(kb, path))
    except FileNotFoundError:
        return None


def _text(kb: str, path: str) -> str:
    return (_bytes(kb, path) or b"").decode("utf-8", "replace")
