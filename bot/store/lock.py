"""Locks between the windows of one person: a locked file, let go by any death."""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

if sys.platform == "win32":
    import msvcrt

    def _try(file: int) -> None:
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _try(file: int) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


PAUSE_S = 0.002
"""Between two tries; a write takes about as long."""


class Held:
    """A lock that is held until it is let go, or the process ends however it ends."""

    def __init__(self, file: int) -> None:
        self._file = file

    def let_go(self) -> None:
        """Free it; once is enough."""
        if self._file >= 0:
            os.close(self._file)
            self._file = -1


def hold(path: Path) -> Held | None:
    """The lock of a file, which is made if it is missing; None while another has it.

    Raises:
        OSError: the file cannot be made or opened.
    """
    file = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        _try(file)
    except OSError:
        os.close(file)
        return None
    return Held(file)


@contextmanager
def alone(path: Path, patience_s: float) -> Iterator[bool]:
    """Whether this window alone writes now; False when another did for all the time.

    Raises:
        OSError: the file cannot be made or opened.
    """
    until = time.monotonic() + patience_s
    held = hold(path)
    while held is None and time.monotonic() < until:
        time.sleep(PAUSE_S)
        held = hold(path)
    try:
        yield held is not None
    finally:
        if held:
            held.let_go()


_OURS: dict[Path, Held] = {}


def take(path: Path) -> bool:
    """Hold a lock for as long as this process lives, or until `leave`.

    False while another process has it. Where no lock can be made nobody is told.
    """
    if path in _OURS:
        return True
    try:
        held = hold(path)
    except OSError:
        return True
    if held:
        _OURS[path] = held
    return held is not None


def leave(path: Path) -> None:
    """Let a lock go that `take` held, and its file with it."""
    held = _OURS.pop(path, None)
    if held:
        path.unlink(missing_ok=True)
        held.let_go()
