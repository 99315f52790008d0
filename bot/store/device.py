"""This device in a club: its secret, and the lines that it shared.

The secret is drawn here and lies in the person's own store, which is shared with
nobody; what the device is called in the club is made of it (`bot.club.tally`). Beside
it is kept which job each line was of, so that no job is shared twice: first the line
is put there, then into the knowledge base, and what a power cut left out between the
two is put in later, letter for letter.
"""

import os
import secrets
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from errno import EFBIG, EINVAL
from io import FileIO
from pathlib import Path
from typing import NamedTuple

from bot.club import lines
from bot.club.outcomes import MOST_BYTES, MOST_LINES, lines_of, read_line
from bot.club.tally import device_id, paper, secret_of
from bot.model.place import BotError
from bot.store.files import read_whole, sync_folder
from bot.store.lock import alone

CLUB = "club"
OUTCOMES, FORGOTTEN = "outcomes", "forgotten"
"""The folder of a knowledge base, and of a store, that is the club's; two within it."""

PATIENCE_S = 5.0
"""So long another window may be sharing. Our choice."""


class ShareError(BotError):
    """Something cannot be shared, or not be taken back, here and now."""


class Device(NamedTuple):
    """Who this device is in a club: its id there, and the secret that proves it."""

    id: str
    secret: str
    club: str


def outcomes_file(kb: Path, device: str) -> Path:
    """Where a device's lines lie in a knowledge base."""
    return kb / CLUB / OUTCOMES / f"{device}.txt"


def forgotten_file(kb: Path, device: str) -> Path:
    """Where the paper lies that has a device forgotten."""
    return kb / CLUB / FORGOTTEN / f"{device}.txt"


def known(home: Path, club: str) -> Device | None:
    """This device in that club; None while it never shared there.

    Raises:
        ShareError: its secret is damaged.
    """
    path = _secret_file(home, club)
    try:
        data = read_whole(path, lines.MOST_BYTES)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise _unreadable(path) from error
    with suppress(OSError):
        path.chmod(0o600)  # put back from somewhere, it may be open to others
    found = _device(path, data)
    if found.club != club:
        raise _unreadable(path)
    return found


def made(home: Path, club: str) -> Device:
    """This device in that club, its secret drawn now where there is none.

    Raises:
        ShareError: it is damaged, or cannot be kept.
    """
    with _locked(home):
        found = known(home, club)
        if found:
            return found
        secret = secrets.token_hex(32)
        data = paper(secret, club)
        path = _secret_file(home, club)
        beside = path.with_name(f".{path.name}.new")
        try:
            beside.unlink(missing_ok=True)
            file = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(file, "wb") as kept:
                kept.write(data)
                kept.flush()
                os.fsync(kept.fileno())
            beside.replace(path)
            sync_folder(path.parent)
        except OSError as error:
            raise _unwritable(path, error) from error
        return Device(device_id(secret, club), secret, club)


def own_ids(home: Path) -> frozenset[str]:
    """What this device is called, in all clubs."""
    found = set()
    for path in (home / CLUB).glob("device-*.txt"):
        with suppress(OSError, BotError):
            found.add(_device(path, read_whole(path, lines.MOST_BYTES)).id)
    return frozenset(found)


def _secret_file(home: Path, club: str) -> Path:
    return home / CLUB / f"device-{club[:12]}.txt"


def _shared_file(home: Path, club: str) -> Path:
    return home / CLUB / f"shared-{club[:12]}.txt"


def _device(path: Path, data: bytes) -> Device:
    try:
        secret, club = secret_of(data)
    except BotError:
        raise _unreadable(path) from None
    return Device(device_id(secret, club), secret, club)


def _unreadable(path: Path) -> ShareError:
    return ShareError(
        f"this device's secret in '{path}' is damaged; put it back from a copy, or "
        "delete it: then nothing that was shared so far can be taken back"
    )


def _unwritable(path: Path, error: OSError) -> ShareError:
    says = f"cannot write '{path}' ({error.strerror or error}); nothing was shared"
    return ShareError(f"{says}: make room there, or make it writable")


@contextmanager
def _locked(home: Path) -> Iterator[None]:
    """Alone among this person's windows."""
    folder = home / CLUB
    try:
        folder.mkdir(0o700, parents=True, exist_ok=True)
        with alone(folder / "sharing.lock", PATIENCE_S) as mine:
            if not mine:
                raise ShareError("another window is sharing just now; try again")
            yield
    except OSError as error:
        raise _unwritable(folder, error) from error


def shared(kb: Path, home: Path, club: str) -> dict[str, str]:
    """What was shared: the line by the key of its job. One still to be put in is not.

    Raises:
        ShareError: it cannot be read.
    """
    device = known(home, club)
    there = _whole_lines(outcomes_file(kb, device.id)) if device else []
    held = set(there)
    return {key: text for key, text in _kept(home, club).items() if text in held}


def waiting(kb: Path, home: Path, club: str) -> dict[str, str]:
    """Lines that are not in the knowledge base yet, by key: a power cut was between."""
    done = shared(kb, home, club)
    return {key: text for key, text in _kept(home, club).items() if key not in done}


def next_number(kb: Path, home: Path, club: str) -> int:
    """The number of the next line of this device."""
    device = known(home, club)
    texts = [*_kept(home, club).values()]
    texts += _whole_lines(outcomes_file(kb, device.id)) if device else []
    told = (read_line(text) for text in texts)
    return 1 + max((one.number for one in told if one), default=0)


def _kept(home: Path, club: str) -> Mapping[str, str]:
    """The lines by the keys of their jobs, as the store has them."""
    kept = (text.partition(" ") for text in _whole_lines(_shared_file(home, club)))
    return {key: text for key, _, text in kept}


def _whole_lines(path: Path) -> list[str]:
    try:
        data = read_whole(path, 2 * MOST_BYTES)
    except FileNotFoundError:
        return []
    except OSError as error:
        raise ShareError(
            f"cannot read '{path}' ({error.strerror or error}); look what lies there"
        ) from error
    return list(lines_of(data.decode("utf-8", "replace")))


def append(kb: Path, home: Path, device: Device, key: str, text: str) -> bool:
    """Share one line: it is on the disk, whole, or nothing of it; once for a key.

    Args:
        kb: the knowledge base.
        home: the person's own store.
        device: who shares.
        key: names the job, and what of it; without blanks.
        text: the line, numbered from `next_number` on; some may be left out.

    Returns:
        False where that key was shared before, whatever the line.

    Raises:
        ShareError: nothing was shared.
    """
    told = read_line(text)
    if told is None or not key or len(key.split()) != 1:
        raise ShareError("that is no line to be shared; have it made anew")
    if forgotten_file(kb, device.id).exists():
        raise ShareError("this device is being forgotten; say forget again, to the end")
    with _locked(home):
        kept = _kept(home, device.club)
        there = set(_whole_lines(outcomes_file(kb, device.id)))
        if kept.get(key) in there:
            return False
        if key not in kept:
            if told.number < next_number(kb, home, device.club):
                raise ShareError(
                    "another window shared something meanwhile; look at the lines anew"
                )
            _put(_shared_file(home, device.club), f"{key} {text}")
        _put(outcomes_file(kb, device.id), kept.get(key, text))
        return True


def _put(path: Path, text: str) -> None:
    """Add a line to a file, synced; what a power cut left of another is cut off first.

    Raises:
        ShareError: the file is as it was.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        is_new = not path.exists()
        if path.is_symlink() or not (is_new or path.is_file()):
            raise OSError(EINVAL, "no ordinary file")
        with path.open("a+b", buffering=0) as file:
            _append(file, f"{text}\n".encode())
        if is_new:
            sync_folder(path.parent)
    except OSError as error:
        raise _unwritable(path, error) from error


def _append(file: FileIO, data: bytes) -> None:
    file.seek(0)
    whole = file.read(2 * MOST_BYTES)
    end = whole.rfind(b"\n") + 1
    if end + len(data) > MOST_BYTES or whole.count(b"\n") >= MOST_LINES:
        raise OSError(EFBIG, "it is full")
    try:
        file.truncate(end)
        left = data
        while left:
            left = left[file.write(left) :]
        os.fsync(file.fileno())
    except OSError:
        with suppress(OSError):
            file.truncate(end)
        raise


def forget(kb: Path, home: Path, club: str) -> Device | None:
    """Publish this device's secret, drop its lines here, and be nobody from now on.

    In an order that may be broken off anywhere and begun again.

    Returns:
        Who is forgotten; None where nothing was ever shared.

    Raises:
        ShareError: it could not be published.
    """
    device = known(home, club)
    if device is None:
        return None
    with _locked(home):
        path = forgotten_file(kb, device.id)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            beside = path.with_name(f".{path.name}.new")
            with beside.open("wb") as file:
                file.write(paper(device.secret, club))
                file.flush()
                os.fsync(file.fileno())
            beside.replace(path)
            sync_folder(path.parent)
            outcomes_file(kb, device.id).unlink(missing_ok=True)
            _shared_file(home, club).unlink(missing_ok=True)
            _secret_file(home, club).unlink(missing_ok=True)
        except OSError as error:
            raise _unwritable(path, error) from error
    return device
