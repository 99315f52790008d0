"""From measured values to the figure that a check's limits are set against."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt
from types import MappingProxyType
from typing import TYPE_CHECKING

from bot.model.card import Limit, Readings, Sum
from bot.model.place import BotError
from bot.units import SYMBOLS, Amount, Unit, amounts, convert

if TYPE_CHECKING:
    from bot.calc.sheet import Sheet


class ReadingError(BotError):
    """A reading that cannot be true or does not fit what was asked."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What the readings give, in `unit`, how far it may be off, and how it was got."""

    value: float
    unit: str
    error: float
    working: str


MOST_TRUE = MappingProxyType({"pressure": 1600.0, "voltage": 60.0})
"""More than this, in the base unit of its kind, no gauge on a truck shows; a unit is
missing or wrong. Source: our choice."""

GAUGE_ERROR = MappingProxyType(
    {
        "pressure": 7.0,
        "voltage": 0.02,
        "temperature": 1.0,
        "length": 0.1,
    }
)
"""How far two readings of one common gauge may each be off beside one another, in the
base unit of their kind. Source: common practice, no source."""


def in_units(readings: Readings, symbols: Sequence[str]) -> Readings:
    """The same readings, each value asked for in the first unit that fits it.

    What is worked out stays in the card's unit, for the card's limits are in it.
    """
    kinds = {SYMBOLS[symbol].kind: symbol for symbol in reversed(symbols)}
    values = tuple(
        replace(value, unit=kinds.get(SYMBOLS[value.unit].kind, value.unit))
        for value in readings.values
    )
    return replace(readings, values=values)


def limit_in(limit: Limit, symbols: Sequence[str], *, is_change: bool = False) -> Limit:
    """The same span in a preferred unit; a change of temperature has no offset.

    >>> str(limit_in(Limit(0.2, 0.5, "bar"), ["psi"]))
    '2.9 to 7.25 psi'
    >>> str(limit_in(Limit(20, None, "degC"), ["degF"], is_change=True))
    '36 degF difference or more'
    """
    from bot.calc.sheet import Figure
    from bot.calc.shown import preferred

    given = limit.unit
    if is_change and SYMBOLS[given].kind == "temperature":
        given = "degF difference" if given == "degF" else "K"
    low, high = (
        preferred(Figure("", end, given), symbols) if end is not None else None
        for end in (limit.low, limit.high)
    )
    unit = next((end.unit for end in (low, high) if end), given)
    if unit in (given, limit.unit):
        return limit
    return Limit(low.value if low else None, high.value if high else None, unit)


def in_order(readings: Readings, words: str) -> tuple[Amount, ...]:
    """The amounts typed, in the order asked where each is named in the words.

    ``end 7.8 bar, start 8.2`` is start first.
    """
    names = [value.name.lower() for value in readings.values]
    text = words.lower()
    places = [place_of(name, text) for name in names]
    if None in places:
        places = [_own_place(name, names, text) for name in names]
    if len(names) < 2 or None in places:
        return amounts(words)
    cuts = sorted(place for place in places if place is not None)
    first = re.search(r"[0-9]", text)
    if first and first.start() < cuts[0]:  # 0.4 by this one, 0.1 by its mate
        pieces = zip(cuts, [0, *cuts[:-1]], cuts, strict=True)
    else:
        pieces = zip(cuts, cuts, [*cuts[1:], len(words)], strict=True)
    found = {at: amounts(words[start:end]) for at, start, end in pieces}
    if any(len(parts) != 1 for parts in found.values()):
        return amounts(words)
    units = [part.unit for part in amounts(words) if part.unit]
    ordered = [found[place][0] for place in places if place is not None]
    return tuple(Amount(a.value, a.unit or next(iter(units), None)) for a in ordered)


def place_of(name: str, text: str) -> int | None:
    """Where a name stands in small letters, or None."""
    found = re.search(rf"\b{re.escape(name.lower())}\b", text)
    return found.start() if found else None


_PLAIN = frozenset(("the", "at", "of", "its", "with", "in", "and"))


def _own_place(name: str, names: Sequence[str], text: str) -> int | None:
    """Where a word stands that belongs to this name and to none of the others."""
    others = {word for other in names if other != name for word in other.split()}
    own = [word for word in name.split() if word not in others | _PLAIN]
    places = [place for word in own if (place := place_of(word, text)) is not None]
    return min(places, default=None)


def worked_out(readings: Readings, typed: Sequence[Amount]) -> float:
    """The figure in `readings.unit` that the typed amounts give; see `measured`."""
    return measured(readings, typed).value


def measured(
    readings: Readings, typed: Sequence[Amount], minutes: float | None = None
) -> Measured:
    """What the typed amounts give.

    One amount may stand for the result itself when its unit says so. Bare numbers are
    taken in the unit that the card asks for. A difference has no sign.

    Args:
        readings: what the check asks for.
        typed: what was typed, in the order asked.
        minutes: the time that passed, if it is not the card's wait.

    Raises:
        ReadingError: too few or too many values, or a unit of another kind.

    Source:
        Definition of a rate: change over time; no source needed.
    """
    wanted = SYMBOLS[readings.unit]
    if readings.sheet:
        return _by_sheet(readings, typed, minutes)
    if readings.sum is None:
        if len(typed) != 1:
            raise ReadingError(f"Give one value in {readings.unit}.")
        return _alone(readings, typed[0])
    result = typed[0].unit if len(typed) == 1 else None
    if result and result.kind == wanted.kind:
        value = typed[0].value * result.scale / wanted.scale  # a change has no offset
        return _change(value, readings)
    if len(typed) != len(readings.values):
        names = " and ".join(value.name for value in readings.values)
        raise ReadingError(f"Give {names}, or what you worked out in {readings.unit}.")
    first, second = (
        _in(amount, SYMBOLS[value.unit], value.name)
        for amount, value in zip(typed, readings.values, strict=True)
    )
    return _sum(readings, first, second, minutes)


def _by_sheet(
    readings: Readings, given: Sequence[Amount], minutes: float | None
) -> Measured:
    """The first figure of the worksheet that the readings name."""
    from bot.calc.book import sheet  # all of the trade's sums: only when asked for
    from bot.calc.sheet import SheetError, work_out
    from bot.calc.shown import amount, preferred, verdicts

    found, wanted = sheet(readings.sheet), SYMBOLS[readings.unit]
    if found is None:
        raise ReadingError(f"This chock knows no sum '{readings.sheet}'; pick.")
    result = given[0].unit if len(given) == 1 else None
    if result and result.kind == wanted.kind and len(readings.values) > 1:
        return _change(given[0].value * result.scale / wanted.scale, readings)
    if len(given) != len(readings.values):
        names = " and ".join(value.name for value in readings.values)
        raise ReadingError(f"Give {names}, or what you worked out in {readings.unit}.")
    try:
        worked = work_out(found, _inputs(found, readings, given, minutes))
    except SheetError as error:
        raise ReadingError(f"{error}".rstrip("?") + ".") from error
    units = [*(value.unit for value in readings.values), readings.unit]
    first = preferred(worked.result, [readings.unit])
    told = (preferred(figure, units) for figure in worked.figures)
    said = "; ".join(f"{figure.name} {amount(figure)}" for figure in told)
    working = " ".join((f"{said[0].upper()}{said[1:]}.", *verdicts(worked, units)))
    return Measured(first.value, first.unit, first.error, working)


def _inputs(
    found: "Sheet", readings: Readings, given: Sequence[Amount], minutes: float | None
) -> dict[str, float]:
    """What was typed and what the card fixes, in the worksheet's units."""
    from bot.calc.typed import typed

    fixed = [f"{name}={text}" for name, text in readings.fixed]
    values, _ = typed(found, fixed)
    for value, asked in zip(given, readings.values, strict=True):
        unit, wanted = SYMBOLS[asked.unit], found.input(asked.name)
        here = _in(value, unit, asked.name)
        values[asked.name] = convert(here, unit, SYMBOLS[wanted.unit]) if wanted else 0
    if readings.wait:
        values["time"] = minutes if minutes is not None else readings.wait.minutes
    return values


def _alone(readings: Readings, typed: Amount) -> Measured:
    """One value, as it was read; its gauge's error leaves it in doubt at a bound."""
    asked, wanted = SYMBOLS[readings.values[0].unit], SYMBOLS[readings.unit]
    value = _in(typed, asked, readings.values[0].name)
    if value < 0 and asked.kind in MOST_TRUE:
        raise ReadingError(
            "Type it without the minus: that only says the leads are swapped."
            if asked.kind == "voltage"
            else "No gauge on a truck shows less than nought. Read it again."
        )
    error = GAUGE_ERROR.get(asked.kind, 0.0) / wanted.scale
    got = _as_it_is(convert(value, asked, wanted), readings)
    return replace(got, error=error)


def _change(value: float, readings: Readings) -> Measured:
    """A rate or difference that the person worked out."""
    if readings.sum is Sum.DIFFERENCE:
        value = abs(value)
    if value < 0 and readings.sum is not Sum.EXCESS:
        raise ReadingError("Type how much it changed as a plain number, without minus.")
    return _as_it_is(value, readings)


def _as_it_is(value: float, readings: Readings) -> Measured:
    unit = readings.unit
    return Measured(value, unit, 0.0, f"Taken as {value:.3g} {unit}.")


def _in(amount: Amount, unit: Unit, name: str) -> float:
    given = amount.unit or unit
    if given.kind != unit.kind:
        raise ReadingError(f"{name} is a {unit.kind}; {given.symbol} is {given.kind}.")
    value = convert(amount.value, given, unit)
    if abs(value * unit.scale) > MOST_TRUE.get(unit.kind, math.inf):
        typed = f"{amount.value:g} {given.symbol}"
        raise ReadingError(f"{typed} cannot be true here; type it with its own unit.")
    return value


def _sum(
    readings: Readings, first: float, second: float, minutes: float | None
) -> Measured:
    """The sum asked for; `first` and `second` are in the units of the values."""
    unit, other = (SYMBOLS[value.unit] for value in readings.values)
    wanted = SYMBOLS[readings.unit]
    rise = (convert(second, other, unit) - first) * unit.scale
    error = sqrt(2) * GAUGE_ERROR.get(unit.kind, 0.0)
    passed = _passed(readings, minutes)
    if passed is not None:
        rise, error = rise / passed, error / passed
    if readings.sum in (Sum.FALL, Sum.FALL_PER_MINUTE, Sum.EXCESS):
        rise = -rise
    if readings.sum not in (Sum.DIFFERENCE, Sum.EXCESS) and rise < -error:
        raise ReadingError("It went the other way than asked. Read both values again.")
    if readings.sum is Sum.DIFFERENCE:
        rise = abs(rise)
    value, error = rise / wanted.scale, error / wanted.scale
    one, two = readings.values
    time = f" in {passed:.3g} min" if passed is not None else ""
    what = readings.sum.value if readings.sum else ""
    working = (
        f"{one.name} {first:.4g} {unit.symbol}, {two.name} {second:.4g} "
        f"{other.symbol}{time}: {what} is {value:.3g} +- {error:.1g} {wanted.symbol}"
        f"{_also(value, wanted, unit)}."
    )
    return Measured(value, wanted.symbol, error, working[0].upper() + working[1:])


def _also(value: float, given: Unit, typed: Unit) -> str:
    """The result once more, in the unit in which the values were asked for."""
    from bot.calc.sheet import Figure
    from bot.calc.shown import amount, preferred

    here = Figure("", value, given.symbol)
    there = preferred(here, [typed.symbol])
    same = there.unit == given.symbol or given.kind == "temperature"
    return "" if same else f", which is {amount(there)}"


def _passed(readings: Readings, minutes: float | None) -> float | None:
    """The minutes that a rate is worked out over; None where it is no rate."""
    if readings.sum not in (Sum.FALL_PER_MINUTE, Sum.RISE_PER_MINUTE):
        return None
    if minutes is None and readings.wait is None:
        raise ReadingError("The card names no wait; work the rate out by hand.")
    passed = minutes if minutes is not None else readings.wait and readings.wait.minutes
    if not passed or passed <= 0:
        raise ReadingError("No time has passed between the two values.")
    return passed
