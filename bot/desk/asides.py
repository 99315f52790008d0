"""Texts set aside: what somebody wrote that did not become the page, to be used."""

from pathlib import Path
from typing import NamedTuple

from bot.club.clashes import Clash
from bot.club.joined import aside_path, page_of_aside
from bot.club.merge import merge
from bot.club.names import ASIDE, ASIDE_WHOLE
from bot.desk.deciding import held_at
from bot.model.place import BotError
from bot.store.changes import change

FOLDER = "club/aside"


class Aside(NamedTuple):
    """A text that was set aside: its file, and the file whose text it would be."""

    path: str
    page: str


def asides(kb: str, page: str = "") -> tuple[Aside, ...]:
    """What is set aside of a page and its wordings, or of all files, by path."""
    root = Path(kb)
    found = sorted(p.relative_to(root).as_posix() for p in root.glob(f"{FOLDER}/**/*"))
    rows = (
        Aside(path, page_of_aside(path))
        for path in found
        if ASIDE.fullmatch(path) or ASIDE_WHOLE.fullmatch(path)
    )
    return tuple(row for row in rows if not page or page in (row.page, _own(row.page)))


def _own(path: str) -> str:
    return path.replace(".wordings.txt", ".md")


def named(kb: str, name: str) -> Aside:
    """The one text set aside that is meant by its file, or by its page.

    Raises:
        BotError: there is none, or there are several.
    """
    found = [
        one
        for one in asides(kb)
        if name in (one.path, one.page, Path(one.page).name.split(".")[0])
    ]
    if len(found) != 1:
        which = ", ".join(one.path for one in found or asides(kb)) or "nothing"
        raise BotError(f"say which file it is, not '{name}'; there is: {which}")
    return found[0]


def differences(kb: str, one: Aside) -> tuple[Clash, ...]:
    """Where a text set aside differs from the page as it is, in the page's terms."""
    page, aside = held_at(kb, one.page), held_at(kb, one.path)
    texts = [(data or b"").decode("utf-8", "replace") for data in (page, aside)]
    found = merge("", *texts, path=one.page).conflicts
    return tuple(_as_aside(clash) for clash in found)


def _as_aside(clash: Clash) -> Clash:
    """The same of a page and a text that is set aside, whoever's it was."""
    says = clash.says.removeprefix("both added here: ")
    for was, now in (("yours says", "the page says"), ("theirs says", "set aside is")):
        says = says.replace(was, now, 1)
    return clash._replace(says=says)


def use(kb: str, home: str, one: Aside) -> None:
    """Put a text that was set aside in its page's place; what stood there goes aside.

    Raises:
        BotError: it is not there any more, or cannot be written.
    """
    text, ours = held_at(kb, one.path), held_at(kb, one.page)
    if text is None:
        raise BotError(f"{one.path} is not there any more; see: chock club aside")
    files: dict[str, bytes | None] = {one.page: text, one.path: None}
    if ours not in (None, text):
        files[aside_path(one.page, ours or b"")] = ours
    change(home, kb, f"{one.page} from what was set aside", files)


def drop(kb: str, home: str, one: Aside) -> None:
    """Let a text go that was set aside; the change before can be taken back.

    Raises:
        BotError: it cannot be written.
    """
    change(home, kb, f"{one.path} let go", {one.path: None})
