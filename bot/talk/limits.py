"""Which finding a measured value falls under, and how near a bound it lies."""

from bot.calc.readings import Measured, measured
from bot.language.bounds import bounds
from bot.language.counts import speaks_of_change
from bot.language.line import Line
from bot.language.quantities import Quantity
from bot.model.card import Check, Drive, Finding
from bot.units import Amount


def picked(check: Check, value: float) -> Finding | None:
    """The finding whose limit holds a value in the unit of the readings, or None."""
    held = (f for f in check.findings if f.limit is not None and f.limit.holds(value))
    return next(held, None)


def strictest(check: Check, got: Measured) -> Finding:
    """Of the findings that the error reaches, the one that lets the truck do least."""
    sides = (got.value, got.value - got.error, got.value + got.error)
    found = [finding for finding in (picked(check, v) for v in sides) if finding]
    order = list(Drive)

    def severity(finding: Finding) -> tuple[bool, int]:
        drive = order.index(finding.drive) if finding.drive else len(order)
        return finding.stop is None, drive

    return min(found, key=severity)


def doubtful(check: Check, got: Measured) -> bool:
    """Whether the error of the reading reaches into another answer."""
    sides = (got.value - got.error, got.value + got.error)
    return any(picked(check, value) != picked(check, got.value) for value in sides)


def is_reading_too(check: Check, digit: str, answer: str) -> bool:
    """Whether the number of an answer may as well be a value that means another one."""
    readings = check.readings
    if (
        readings is None
        or readings.wait
        or readings.sum_or_sheet
        or digit not in DIGITS
    ):
        return False
    limits = [f.limit for f in check.findings if f.limit]
    ends = [end for one in limits for end in (one.low, one.high) if end is not None]
    value = measured(readings, [Amount(float(digit), None)]).value
    if not ends or not min(ends) / 2 <= value <= 2 * max(ends):
        return False
    finding = picked(check, value)
    return finding is not None and finding.answer != answer


DIGITS = "123456789"


CHANGED = frozenset(("it_fell_by", "it_rose_by"))
"""Beside these a bare number is a change, in the page's unit."""


def held(line: Line, clean: str, not_clean: str) -> str | None:
    """How a figure typed of a trial stands to the one on the page; None if neither.

    Where the page speaks of a change, two values are its ends.
    """
    wanted = bounds(clean)
    if wanted is None or wanted.unit is None:
        return None
    told = [v for q in line.quantities if (v := q.value_in(wanted.unit)) is not None]
    bare = any(q.unit is None for q in line.quantities)
    if not told or (bare and not line.marks & CHANGED):
        return None
    if speaks_of_change(clean) and len(told) == 2:
        told = [abs(told[0] - told[1])]
    fits = {wanted.holds(Quantity(v, wanted.unit, "", 0, 0)) for v in told}
    if len(fits) > 1:
        return None
    return clean if True in fits else not_clean
