"""Remarks on pages under review: one more line on the disk, and all that were made."""

import os
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import NamedTuple

from bot.club.names import stem
from bot.club.outcomes import revision
from bot.club.remarks import (
    MOST_BYTES,
    Remark,
    RemarkError,
    line,
    one_line,
    path_of,
    place_in,
    places_of,
    read,
)
from bot.desk.upkeep import read as read_page
from bot.model.card import Card
from bot.model.pages import Note, Procedure
from bot.model.rule import StopRule
from bot.store.files import read_whole, sync_folder
from bot.store.pages import page as page_at
from bot.store.pages import text_of
from bot.talk.clean import clean

MOST_DEVICES = 400
"""Files that are looked at for one page."""


class Made(NamedTuple):
    """A remark, the device it came from, and whether it is of the page as it is now."""

    remark: Remark
    device: str
    is_current: bool


class Remarks(NamedTuple):
    """All remarks on a page by date, and how many lines could not be read."""

    made: tuple[Made, ...]
    skipped: int


def remark(  # noqa: PLR0913 - a line has so many parts
    kb: str, device: str, pen: str, page: str, place: str, words: str, today: date
) -> Remark:
    """Add a remark on a page as it is now; it is on the disk when this returns.

    Args:
        kb: the knowledge base.
        device: the device's name, 32 hexadecimal digits.
        pen: whose remark it is.
        page: the page's path in the knowledge base.
        place: where on the page: "page", "check 3", "repair 2", "cause A".
        words: at most 500 letters; what is no plain text in them is left out.
        today: the day.

    Raises:
        RemarkError: there is no such page or place, the words are no remark, or it
            cannot be saved.
    """
    path = Path(kb, path_of(page, device))
    try:
        data = read_whole(Path(kb, page))
    except OSError as error:
        says = f"'{page}' cannot be read ({error.strerror})"
        raise RemarkError(f"{says}; name a page by its path") from error
    where = place_in(place, places_of(_held(Path(kb, page))))
    said = Remark(today, _plain(pen), revision(data), where, _plain(words, len(words)))
    text = line(said)
    try:
        _append(Path(kb), path, text)
    except OSError as error:
        says = f"the remark cannot be saved in '{path}' ({error.strerror or error})"
        raise RemarkError(f"{says}; free that place, then write it again") from error
    return said


def _plain(words: str, most: int = 200) -> str:
    return one_line(clean(words, most))


def _held(path: Path) -> Card | Procedure | Note | StopRule | None:
    """The page, or None where it has mistakes: then it has no places but the whole."""
    found = page_at(path)
    text = text_of(found)
    held = read_page(text, found) if isinstance(text, str) else None
    return held if isinstance(held, Card | Procedure | Note | StopRule) else None


def _append(kb: Path, path: Path, text: str) -> None:
    """One more line in a file of the knowledge base, on the disk.

    A line that was cut short before stays by itself. What a link leads to is not
    written to: a file of that name may have come from anybody.

    Raises:
        OSError: nothing was added.
    """
    if not path.parent.resolve().is_relative_to(kb.resolve()):
        raise OSError(None, "it leads out of the knowledge base")
    path.parent.mkdir(parents=True, exist_ok=True)
    flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0)
    handle = os.open(path, flags | getattr(os, "O_NOFOLLOW", 0), 0o644)
    with os.fdopen(handle, "rb+") as file:
        size = file.seek(0, os.SEEK_END)
        file.seek(max(0, size - 1))
        is_cut = bool(size) and file.read(1) != b"\n"
        data = f"{chr(10) if is_cut else ''}{text}\n".encode()
        if size + len(data) > MOST_BYTES:
            raise OSError(None, f"it would have more than {MOST_BYTES} bytes")
        try:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        except OSError:
            file.truncate(size)
            raise
    sync_folder(path.parent)


def remarks(kb: str, page: str) -> Remarks:
    """All remarks on a page, the oldest first.

    Args:
        kb: the knowledge base.
        page: the page's path in it; it may be gone.
    """
    try:
        now = revision(read_whole(Path(kb, page)))
    except OSError:
        now = ""
    made: list[Made] = []
    skipped = 0
    for device, text in _files(kb, page):
        found = read(text)
        made += (Made(each, device, each.at == now) for each in found.remarks)
        skipped += found.skipped
    return Remarks(tuple(sorted(made, key=lambda one: one.remark.day)), skipped)


def _files(kb: str, page: str) -> Iterator[tuple[str, str]]:
    """By device what its file says; of one that cannot be read nothing."""
    folder = Path(kb, "club", "remarks", stem(page))
    for path in sorted(folder.glob("*.txt"))[:MOST_DEVICES]:
        try:
            path_of(page, path.stem)
            data = read_whole(path, MOST_BYTES)
        except (OSError, RemarkError):
            continue
        yield path.stem, data.decode("utf-8", "replace")
