"""How long ago a value was read off, by a clock that does not jump if there is one."""

from datetime import datetime, timedelta
from typing import NamedTuple

from bot.job.job import Taken
from bot.talk.library import Library
from bot.talk.wording import span

LEAST_JUMP, JUMP_SHARE = 1.0, 0.1
"""Minutes, and share of the time, by which two clocks may differ. Our choice."""


class Passed(NamedTuple):
    """The minutes that passed; what is to be said of the clocks, and whether to ask."""

    minutes: float
    says: str = ""
    asks: bool = False


def passed_since(taken: Taken, library: Library) -> Passed:
    """The time since a value was taken.

    Args:
        taken: the value.
        library: for the clocks now.

    Returns:
        By the steady clock, if it ran all the while. If it did not, because the machine
        was started anew, nobody knows whether its clock was set meanwhile: `asks`.
    """
    wall = _by_wall(taken.at, library.now())
    before, after = _read(taken.steady), _read(library.steady())
    if before and after and before[0] == after[0]:
        real = (after[1] - before[1]) / 60
        if abs(real - wall) > max(LEAST_JUMP, JUMP_SHARE * real):
            return Passed(real, JUMPED.format(span(real)))
        return Passed(real)
    if before and after and wall >= 0:
        return Passed(wall, ANEW.format(span(wall)), asks=True)
    return Passed(wall, CLOCK_WENT_BACK if wall < 0 else "", asks=wall < 0)


JUMPED = (
    "The clock of this machine was set, or jumped, since the first value. By one that "
    "does not jump {} passed: that counts."
)
ANEW = (
    "This machine was started anew since the first value; by its clock {} passed. Type "
    "the value with the time that really passed, such as 7.8 bar after 10 min."
)
CLOCK_WENT_BACK = (
    "The clock of this machine went back since the first value. Type the value with "
    "the time that passed, such as 7.8 bar after 10 min."
)


def _read(steady: str) -> tuple[str, float] | None:
    """The mark of a steady clock and its seconds; None for no such moment."""
    mark, _, seconds = steady.partition(" ")
    try:
        return (mark, float(seconds)) if mark else None
    except ValueError:
        return None


Instant = tuple[str, str]
"""A moment by the clock that can be set, ISO 8601, and by the steady one."""


def between(first: Taken, last: Taken) -> float:
    """The minutes between two values, by the steady clock where both have the same."""
    return apart((first.at, first.steady), (last.at, last.steady))


def apart(first: Instant, last: Instant) -> float:
    """The minutes between two moments, by the steady clock where both have the same."""
    before, after = _read(first[1]), _read(last[1])
    if before and after and before[0] == after[0]:
        return (after[1] - before[1]) / 60
    return _by_wall(first[0], last[0])


def _by_wall(first: str, last: str) -> float:
    passed = datetime.fromisoformat(last) - datetime.fromisoformat(first)
    return passed.total_seconds() / 60


def later(moment: str, minutes: float) -> str:
    """The moment so many minutes after another."""
    return (datetime.fromisoformat(moment) + timedelta(minutes=minutes)).isoformat()
