"""From measured values to the figure that a check's limits are set against."""

from collections.abc import Sequence
from types import MappingProxyType

from bot.model.card import Readings, Sum
from bot.model.place import BotError
from bot.units import SYMBOLS, Amount, Unit, convert


class ReadingError(BotError):
    """A reading that cannot be true or does not fit what was asked."""


def worked_out(readings: Readings, amounts: Sequence[Amount]) -> float:
    """The figure in `readings.unit` that the typed amounts give.

    One amount may stand for the result itself when its unit says so. Bare numbers are
    taken in the unit that the card asks for. A difference has no sign.

    Args:
        readings: what the check asks for.
        amounts: what was typed, in the order asked.

    Raises:
        ReadingError: too few or too many values, or a unit of another kind.

    Source:
        Definition of a rate: change over time; no source needed.
    """
    wanted = SYMBOLS[readings.unit]
    if readings.sum is None:
        if len(amounts) != 1:
            raise ReadingError(f"Give one value in {readings.unit}.")
        return _in(amounts[0], wanted, readings.values[0].name)
    result = amounts[0].unit if len(amounts) == 1 else None
    if result and result.kind == wanted.kind:
        return amounts[0].value * result.scale / wanted.scale  # a change has no offset
    if len(amounts) != len(readings.values):
        names = " and ".join(value.name for value in readings.values)
        raise ReadingError(f"Give {names}, or what you worked out in {readings.unit}.")
    first, second = (
        _in(amount, SYMBOLS[value.unit], value.name)
        for amount, value in zip(amounts, readings.values, strict=True)
    )
    return _sum(readings, first, second)


def _in(amount: Amount, unit: Unit, name: str) -> float:
    given = amount.unit or unit
    if given.kind != unit.kind:
        raise ReadingError(f"{name} is a {unit.kind}; {given.symbol} is {given.kind}.")
    value = convert(amount.value, given, unit)
    if abs(value) > MOST_TRUE.get(unit.symbol, abs(value)):
        typed = f"{amount.value:g} {given.symbol}"
        raise ReadingError(f"{typed} cannot be true here; type it with its own unit.")
    return value


MOST_TRUE = MappingProxyType({"bar": 16.0, "psi": 230.0, "kPa": 1600.0, "V": 60.0})
"""More than this no gauge on a truck shows; a unit is missing or wrong. Source: our
choice."""


def _sum(readings: Readings, first: float, second: float) -> float:
    """The sum asked for; `first` and `second` are in the units of the values."""
    unit = SYMBOLS[readings.values[0].unit]
    other = SYMBOLS[readings.values[1].unit]
    wanted = SYMBOLS[readings.unit]
    rise = (convert(second, other, unit) - first) * unit.scale
    if readings.sum in (Sum.FALL_PER_MINUTE, Sum.RISE_PER_MINUTE):
        if readings.wait is None:
            raise ReadingError("The card names no wait; work the rate out by hand.")
        rise /= readings.wait.minutes
    if readings.sum in (Sum.FALL, Sum.FALL_PER_MINUTE):
        rise = -rise
    if readings.sum is Sum.DIFFERENCE:
        rise = abs(rise)
    return rise / wanted.scale
