"""Small files of the person's own, written whole or not at all."""

import os
from pathlib import Path


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
