"""The files of the jobs: plain text, added to at the end, on the disk before it counts.

One file a job, `jobs/12.txt`; its lines are those of `bot.store.chain`.
"""

import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from shutil import copyfile
from typing import NamedTuple

from bot.store.files import opened, sync_folder

_NAME = re.compile(r"([1-9][0-9]{0,8})\.txt")
MOST_BYTES = 64 * 1024 * 1024
"""A longer file is none of ours; a job of a thousand answers takes under one."""


class Tail(NamedTuple):
    """Where a file ends, as far as a window knows: bytes, last line, its digest."""

    size: int
    seq: int
    digest: str


class MovedOnError(Exception):
    """The file goes on where this window does not know it."""


class JobFiles:
    """The folder of the files."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, job: int) -> Path:
        """The file of a job."""
        return self.folder / f"{job}.txt"

    def numbers(self) -> Iterator[int]:
        """The jobs that have a file, in no order."""
        try:
            with os.scandir(self.folder) as found:
                names = [entry.name for entry in found]
        except FileNotFoundError:
            return
        yield from (int(name[1]) for each in names if (name := _NAME.fullmatch(each)))

    def read(self, job: int) -> tuple[list[str], int]:
        """The lines of a file as they are, and its size in bytes; none without it.

        Raises:
            OSError: it is there and cannot be read.
        """
        try:
            with opened(self.path(job)) as file:
                raw = file.read(MOST_BYTES)
        except FileNotFoundError:
            return [], 0
        return raw.decode("ascii", "replace").split("\n"), len(raw)

    def size(self, job: int) -> int:
        """How long a file is, in bytes; 0 for none."""
        try:
            return self.path(job).stat().st_size
        except OSError:
            return 0

    def claim(self, job: int, head: str) -> Tail | None:
        """Make the file of a new job; None where there is one already.

        Raises:
            OSError: it cannot be made.
        """
        self.folder.mkdir(mode=0o700, exist_ok=True)
        try:
            file = os.open(self.path(job), _NEW, 0o600)
        except FileExistsError:
            return None
        try:
            size = _put(file, 0, [head])
        except OSError:
            self.path(job).unlink(missing_ok=True)
            raise
        finally:
            os.close(file)
        sync_folder(self.folder)
        return Tail(size, 0, head[-32:])

    def add(self, job: int, tail: Tail, texts: Sequence[str]) -> int:
        """Put lines behind the end that is known; its size afterwards.

        Raises:
            MovedOnError: it ends otherwise than this window knows.
            OSError: nothing was added.
        """
        file = os.open(self.path(job), os.O_RDWR | getattr(os, "O_BINARY", 0))
        try:
            end = max(0, tail.size - len(tail.digest) - 1)
            os.lseek(file, end, os.SEEK_SET)
            rest = os.read(file, len(tail.digest) + 2)
            if rest != f"{tail.digest}\n".encode():
                raise MovedOnError
            return _put(file, tail.size, texts)
        finally:
            os.close(file)

    def cut(self, job: int, size: int) -> None:
        """Take off what was written behind a size, which no answer stands on.

        Raises:
            OSError: it cannot be done.
        """
        with self.path(job).open("rb+") as file:
            file.truncate(size)
            os.fsync(file.fileno())

    def replace(self, job: int, texts: Sequence[str]) -> int:
        """Write the whole file anew, the old one kept beside it; its size.

        Raises:
            OSError: the file is as it was.
        """
        self.folder.mkdir(mode=0o700, exist_ok=True)
        beside = self.folder / f".{job}.new"
        beside.unlink(missing_ok=True)
        file = os.open(beside, _NEW, 0o600)
        try:
            size = _put(file, 0, texts)
        finally:
            os.close(file)
        path = self.path(job)
        if path.exists():
            copyfile(path, self._free(job, "damaged"))
        beside.replace(path)
        sync_folder(self.folder)
        return size

    def keep_beside(self, job: int, texts: Sequence[str]) -> str:
        """Write another state of a job beside its file; the name it has.

        Raises:
            OSError: it cannot be written.
        """
        path = self._free(job, "other")
        file = os.open(path, _NEW, 0o600)
        try:
            _put(file, 0, texts)
        finally:
            os.close(file)
        return path.name

    def _free(self, job: int, what: str) -> Path:
        """A free name beside a job's file."""
        number = 1
        while (path := self.folder / f"{job}.{what}-{number}").exists():
            number += 1
        return path


_NEW = os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)


def _put(file: int, at: int, texts: Sequence[str]) -> int:
    """Write lines at a place and have them on the disk; the size then.

    After a fault the file ends where it did: half a line is no answer.
    """
    data = "".join(f"{text}\n" for text in texts).encode("ascii")
    try:
        os.lseek(file, at, os.SEEK_SET)
        left = memoryview(data)
        while left:
            left = left[os.write(file, left) :]
        os.fsync(file)
    except OSError:
        os.ftruncate(file, at)
        raise
    return at + len(data)
