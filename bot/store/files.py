"""Files read only as far as they are ordinary and small; one's own written whole."""

import errno
import os
import stat
from pathlib import Path
from typing import BinaryIO

MOST_BYTES = 8_000_000
"""More is no page and no words: the longest file of the project has a third of it."""


def opened(path: str | Path) -> BinaryIO:
    """An ordinary file opened to be read; nothing else is waited for.

    Raises:
        OSError: it cannot be opened, or is a folder, a pipe, a device.
    """
    file = open(path, "rb", opener=_at_once)  # noqa: SIM115 - the caller closes it
    if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
        file.close()
        raise OSError(errno.EINVAL, "no ordinary file")
    return file


def _at_once(path: str, flags: int) -> int:
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def read_whole(path: str | Path, most: int = MOST_BYTES) -> bytes:
    """All of an ordinary file.

    Raises:
        OSError: it cannot be read, is no ordinary file, or has more bytes than `most`.
    """
    with opened(path) as file:
        if os.fstat(file.fileno()).st_size > most:
            raise OSError(errno.EFBIG, "too long")
        return file.read(most)


def write_whole(path: Path, text: str) -> None:
    """Replace a file's text in one step: a power cut leaves the old one or the new.

    Raises:
        OSError: nothing was changed.
    """
    beside = path.with_name(f".{path.name}.new")
    with beside.open("w", encoding="utf-8", newline="\n") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Have the names in a folder on the disk, where the system can be told to.

    Raises:
        OSError: the disk failed.
    """
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
