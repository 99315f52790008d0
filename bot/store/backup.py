"""Backups of the jobs: one ZIP file of their plain files, proved when it is written."""

import re
import zlib
from collections.abc import Iterator
from pathlib import Path
from zipfile import ZIP_DEFLATED, BadZipFile, ZipFile

from bot.store.chain import best
from bot.store.copies import Copies
from bot.store.errors import JournalError
from bot.store.files import opened

NAME = "chock-jobs-{}.zip"
_OURS = re.compile(r"chock-jobs-[0-9]{8}T[0-9]{6}\.zip")
_JOB = re.compile(r"jobs/([1-9][0-9]{0,8})\.txt")
KEPT = 5
"""So many backups stay in a folder, the newest. Our choice."""

MOST_BYTES = 64 * 1024 * 1024
"""No job is longer; what says it is may be a bomb."""


def back_up(copies: Copies, folder: Path, at: str) -> Path:
    """Write a backup into a folder, prove it, and take off the oldest of its kind.

    Args:
        copies: the jobs.
        folder: made if it is missing.
        at: the moment, ISO 8601, which names the file.

    Raises:
        JournalError: it cannot be written, or is not what was written.
    """
    moment = re.sub(r"[^0-9T]", "", at[:19])
    path = folder / NAME.format(moment)
    beside = folder / f".{path.name}.new"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with ZipFile(beside, "w", ZIP_DEFLATED) as archive:
            for number in copies.numbers():
                found = copies.look_at(number)
                if found:
                    text = "".join(f"{line}\n" for line in found.texts)
                    archive.writestr(f"jobs/{number}.txt", text)
        with ZipFile(beside) as archive:
            if archive.testzip():
                raise JournalError("the backup is not what was written; try again")
        beside.replace(path)
        for old in sorted(p for p in folder.iterdir() if _OURS.fullmatch(p.name))[
            :-KEPT
        ]:
            old.unlink()
    except OSError as error:
        says = f"no backup in '{folder}' ({error.strerror}); choose another folder"
        raise JournalError(says) from error
    return path


NO_ARCHIVE = (BadZipFile, EOFError, NotImplementedError, RuntimeError, zlib.error)
"""What comes of an archive that is damaged, locked, or packed in another way."""


def restore(copies: Copies, path: Path) -> Iterator[str]:
    """Take jobs of a backup over that are missing here or shorter; say what was done.

    A job that went on here stays as it is; of one that went on otherwise the backup's
    is kept beside it, and said.

    Raises:
        JournalError: it is no backup, or nothing can be written here.
    """
    try:
        with opened(path) as file, ZipFile(file) as archive:
            for info in archive.infolist():
                found = _JOB.fullmatch(info.filename)
                if found is None or info.file_size > MOST_BYTES:
                    raise JournalError(f"'{path}' is no backup of jobs; choose another")
                text = archive.read(info).decode("ascii", "replace")
                yield from _restored(copies, int(found[1]), text.split("\n"))
    except (OSError, *NO_ARCHIVE) as error:
        raise JournalError(f"cannot read the backup '{path}' ({error})") from error


def _restored(copies: Copies, job: int, lines: list[str]) -> Iterator[str]:
    held = best(job, lines, lines)
    if held is None:
        yield f"Job {job} of the backup is damaged and was left out."
        return
    here = copies.look_at(job)
    mine = here.texts if here else ()
    if mine == held.texts[: len(mine)]:
        if len(mine) < len(held.texts):
            copies.put_back(job, held.texts)
            yield f"Job {job} was put back."
    elif held.texts != mine[: len(held.texts)]:
        other = copies.files.keep_beside(job, held.texts)
        yield f"Job {job} went on otherwise here; the backup's is kept as {other}."
