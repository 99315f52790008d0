"""The only place that reads the clocks."""

import time
from collections.abc import Callable
from datetime import UTC, date, datetime
from functools import cache
from os import urandom
from pathlib import Path


def now() -> str:
    """The present moment in UTC, to the second, as ISO 8601."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def today() -> date:
    """Today's date by the local clock."""
    return datetime.now(UTC).astimezone().date()


def steady() -> str:
    """A moment of a clock that nobody can set: a mark of its own, and its seconds.

    Where the system has one, it is the clock since the machine was started, which runs
    on while it sleeps; another start has another mark. Elsewhere it is one of this
    process.
    """
    mark, since = _steady()
    return f"{mark} {since():.1f}"


_BOOT = Path("/proc/sys/kernel/random/boot_id")


@cache
def _steady() -> tuple[str, Callable[[], float]]:
    """What tells this start of the machine from another, and the seconds since."""
    try:
        mark = _BOOT.read_text(encoding="ascii").strip()[:13]
        clock = time.CLOCK_BOOTTIME
    except (OSError, ValueError, AttributeError):
        return urandom(6).hex(), time.monotonic
    return mark, lambda: time.clock_gettime(clock)
