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
