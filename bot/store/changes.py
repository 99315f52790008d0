"""Changes of many files of a knowledge base: all of them or none, and taken back.

What is to come is written beside first, in the person's own store; a marker then says
that it counts. From there on it is carried out, by whoever comes next if need be: a
death at any point leaves the old files, or the new ones once `recover` has run. What
stood there before is kept, so that the last changes can be taken back.
"""

from __future__ import annotations

import os
import shutil
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from bot.model.place import BotError
from bot.store.files import read_whole, sync_folder, write_whole
from bot.store.lock import alone

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

FOLDER, MARKER, PLAN = "changes", "changing", "plan.txt"
KEPT = 5
"""So many of the last changes can be taken back, the newest first. Our choice."""

PATIENCE_S = 10.0
NOTHING = "none"
"""Instead of a digest, where there is no file."""


class ChangeError(BotError):
    """Nothing was changed, and why."""


class Row(NamedTuple):
    """One file of a plan: its path, and the digests before and after."""

    path: str
    before: str
    after: str


class Undone(NamedTuple):
    """What was taken back, by path, and what was left for having changed since."""

    name: str
    back: tuple[str, ...]
    left: tuple[str, ...]


def change(home: str, kb: str, name: str, files: Mapping[str, bytes | None]) -> None:
    """Bring files of a knowledge base to other contents, all or none.

    Args:
        home: the person's own store.
        kb: the knowledge base.
        name: what it is, in a few words, for whoever takes it back.
        files: by path in the knowledge base what shall stand there, None for nothing.

    Raises:
        ChangeError: another window is at it, or the disk failed before it counted.
    """
    club, kb = Path(home, "club"), str(Path(kb).absolute())
    try:
        club.mkdir(mode=0o700, parents=True, exist_ok=True)
        with alone(club / "lock", PATIENCE_S) as ours:
            if not ours:
                raise ChangeError("another window is changing the pages; wait for it")
            _carry_on(club)
            for path in files:
                _make_way(Path(kb), path)
            folder = _stage(club, kb, name, files)
            write_whole(club / MARKER, f"{folder.name}\n")
            _carry_on(club)
            _let_old_ones_go(club)
    except OSError as error:
        raise ChangeError(
            f"the pages could not be changed ({error.strerror}); make room, and say "
            "the same again"
        ) from None


def recover(home: str) -> None:
    """Carry out what a death left half done; cheap where there is nothing."""
    club = Path(home, "club")
    if not (club / MARKER).exists():
        return
    try:
        with alone(club / "lock", PATIENCE_S) as ours:
            if ours:
                _carry_on(club)
    except OSError as error:
        raise ChangeError(
            f"pages are half changed, and cannot be brought to an end "
            f"({error.strerror}); make room on the disk"
        ) from None


def undo(home: str, kb: str) -> Undone:
    """Take the last change of that knowledge base back; what changed since stays.

    Raises:
        ChangeError: there is none, or the disk failed.
    """
    club, kb = Path(home, "club"), str(Path(kb).absolute())
    recover(home)
    for folder in sorted(_folders(club), reverse=True):
        of, name, rows = _read_plan(folder)
        if of != kb or (folder / "undone").exists():
            continue
        same = [row for row in rows if _digest(Path(kb, row.path)) == row.after]
        back = {row.path: _blob(folder, row.before) for row in same}
        change(home, kb, f"taken back: {name}", back)
        newest = max(_folders(club))
        for done in (folder, newest):  # neither is taken back again
            (done / "undone").touch()
        left = tuple(row.path for row in rows if row not in same)
        return Undone(name, tuple(back), left)
    raise ChangeError("there is nothing to take back; nothing was changed")


def _make_way(kb: Path, path: str) -> None:
    """Refuse, before anything counts, what could not be carried out.

    Raises:
        OSError: the file would lie outside, or cannot be written there.
    """
    parent = Path(kb, path).parent
    while not parent.exists() and parent != kb:
        parent = parent.parent
    if not parent.resolve().is_relative_to(kb.resolve()):
        raise OSError(None, f"'{path}' leads out of the knowledge base")
    if not (parent.is_dir() and os.access(parent, os.W_OK)):
        raise OSError(None, f"nothing can be written in '{parent}'")
    _beside(Path(kb, path)).unlink(missing_ok=True)


def _beside(path: Path) -> Path:
    """Where a file's new content lies until it takes its place."""
    return path.with_name(f".{path.name[:100]}.new")


def _stage(club: Path, kb: str, name: str, files: Mapping[str, bytes | None]) -> Path:
    """Write what is to come, and what was, into a folder of its own."""
    last = max((int(folder.name) for folder in _folders(club)), default=0)
    folder = club / FOLDER / f"{last + 1:06}"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    rows = []
    for path, after in sorted(files.items()):
        before = _held(Path(kb, path))
        rows.append(Row(path, _keep(folder, before), _keep(folder, after)))
    told = [f"kb {kb}", f"name {name}", *(" ".join(row) for row in rows)]
    write_whole(folder / PLAN, "\n".join(told) + "\n")
    sync_folder(folder.parent)
    return folder


def _keep(folder: Path, data: bytes | None) -> str:
    """Keep some bytes by their digest, which comes back."""
    if data is None:
        return NOTHING
    digest = sha256(data).hexdigest()
    path = folder / digest
    if not path.exists():
        _write(path, data)
    return digest


def _carry_on(club: Path) -> None:
    """Carry out the plan that counts, if there is one; it may have been begun."""
    marker = club / MARKER
    try:
        folder = club / FOLDER / read_whole(marker).decode("ascii").strip()
    except (FileNotFoundError, UnicodeDecodeError):
        return
    kb, _, rows = _read_plan(folder)
    for row in rows:
        target = Path(kb, row.path)
        now = _digest(target)
        if now == row.after:
            continue
        if now != row.before:  # somebody wrote it meanwhile: it is theirs
            continue
        data = _blob(folder, row.after)
        if data is None:
            target.unlink(missing_ok=True)
        else:
            target.parent.mkdir(parents=True, exist_ok=True)
            _write(target, data)
    for parent in {Path(kb, row.path).parent for row in rows}:
        if parent.is_dir():
            sync_folder(parent)
    marker.unlink()
    sync_folder(club)


def _write(path: Path, data: bytes) -> None:
    """Replace a file in one step; nothing else has that name meanwhile."""
    beside = _beside(path)
    beside.unlink(missing_ok=True)  # whatever lies there is not followed
    with beside.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)


def _held(path: Path) -> bytes | None:
    try:
        return read_whole(path)
    except FileNotFoundError:
        return None


def _digest(path: Path) -> str:
    data = _held(path)
    return NOTHING if data is None else sha256(data).hexdigest()


def _blob(folder: Path, digest: str) -> bytes | None:
    return None if digest == NOTHING else read_whole(folder / digest)


def _folders(club: Path) -> list[Path]:
    """The plans there are, whole ones alone."""
    found = (club / FOLDER).glob("[0-9]*") if (club / FOLDER).is_dir() else ()
    return [folder for folder in found if (folder / PLAN).exists()]


def _read_plan(folder: Path) -> tuple[str, str, Sequence[Row]]:
    """The knowledge base of a plan, what it is called, its rows."""
    first, second, *rows = read_whole(folder / PLAN).decode("utf-8").splitlines()
    return first[3:], second[5:], [Row(*row.split(" ")) for row in rows]


def _let_old_ones_go(club: Path) -> None:
    _remove(sorted(_folders(club))[:-KEPT])


def _remove(folders: Iterable[Path]) -> None:
    for folder in folders:
        (folder / PLAN).unlink(missing_ok=True)  # first: what is left is no plan
        shutil.rmtree(folder, ignore_errors=True)
