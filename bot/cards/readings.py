"""The line that asks for measured values: reader and writer side by side."""

import re

from bot import units
from bot.cards.needs import read_duration
from bot.model.card import Duration, Quantity, Readings, Sum
from bot.model.place import Fault, Place

_QUANTITY = re.compile(r"([^,:;()]+) \(([^()]+)\)")
_ADVICE = (
    "not readings; write 'Readings: start (bar), wait 10 min, end (bar); work out the "
    "fall per minute (bar/min).' or 'Readings: battery voltage (V).'"
)


def read_readings(text: str, place: Place) -> Readings | Fault:
    """Values to measure, such as ``Readings: battery voltage (V).``."""
    said = text.removeprefix("Readings: ")
    if said == text or not said.endswith("."):
        return Fault(place, _ADVICE)
    asked, _, result = said[:-1].partition("; work out ")
    values: list[Quantity] = []
    wait: Duration | None = None
    for part in asked.split(", "):
        if part.startswith("wait ") and len(values) == 1 and wait is None:
            wait = read_duration(part.removeprefix("wait "))
            if wait is None:
                return Fault(place, f"'{part}' is no wait; write 'wait 10 min'")
            continue
        found = _QUANTITY.fullmatch(part)
        if found is None:
            return Fault(place, _ADVICE)
        values.append(Quantity(found[1], found[2]))
    return _readings(tuple(values), wait, result, place)


def _readings(
    values: tuple[Quantity, ...], wait: Duration | None, result: str, place: Place
) -> Readings | Fault:
    unknown = [value.unit for value in values if value.unit not in units.SYMBOLS]
    if unknown:
        return Fault(place, f"'{unknown[0]}' is no unit known; write bar, V, degC, ...")
    if not result and len(values) == 1 and wait is None:
        return Readings(values, unit=values[0].unit, place=place)
    found = _QUANTITY.fullmatch(result)
    wanted = next((s for s in Sum if found and s.value == found[1]), None)
    if any(result == known.value for known in Sum):
        says = f"say the unit of what is worked out: '{result} ({values[0].unit})'"
        return Fault(place, says)
    if found is None or wanted is None or len(values) != 2:
        return Fault(place, _ADVICE)
    if found[2] not in units.SYMBOLS:
        return Fault(place, f"'{found[2]}' is no unit known; write bar/min, V, ...")
    return Readings(values, wait, wanted, found[2], place)


def write_readings(readings: Readings) -> str:
    """The line that `read_readings` takes."""
    out = [f"{value.name} ({value.unit})" for value in readings.values]
    if readings.wait:
        out.insert(1, f"wait {readings.wait}")
    tail = f"; work out {readings.sum.value} ({readings.unit})" if readings.sum else ""
    return f"Readings: {', '.join(out)}{tail}."
