"""The line that asks for measured values: reader and writer side by side."""

import re

from bot import units
from bot.calc.book import sheet
from bot.calc.sheet import SheetError
from bot.calc.typed import typed
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
    what, _, fixed = result.partition(" with ")
    found = _QUANTITY.fullmatch(what)
    wanted = next((s for s in Sum if found and s.value == found[1]), None)
    if any(result == known.value for known in Sum):
        says = f"say the unit of what is worked out: '{result} ({values[0].unit})'"
        return Fault(place, says)
    if found and found[2] not in units.SYMBOLS:
        return Fault(place, f"'{found[2]}' is no unit known; write bar/min, V, ...")
    if found and wanted is None and sheet(found[1]):
        given = tuple(_fixed(part) for part in fixed.split(", ")) if fixed else ()
        made = Readings(values, wait, None, found[2], found[1], given, place)
        return _by_sheet(made, place)
    if found is None or wanted is None or len(values) != 2:
        return Fault(place, _ADVICE)
    return Readings(values, wait, wanted, found[2], place=place)


def _fixed(text: str) -> tuple[str, str]:
    """``brakes applied`` -> the input and its value."""
    name, _, value = text.partition(" ")
    return name, value


def _by_sheet(readings: Readings, place: Place) -> Readings | Fault:
    """The readings, or what does not fit the worksheet they name."""
    found = sheet(readings.sheet)
    assert found is not None
    names = [value.name for value in readings.values]
    if readings.wait:
        names.append("time")
    names += [name for name, _ in readings.fixed]
    odd = next((name for name in names if found.input(name) is None), None)
    if odd is not None:
        asked = ", ".join(i.name for i in found.inputs)
        says = f"'{odd}' is no input of {found.name}; its inputs are {asked}"
        return Fault(place, says)
    needed = (i.name for i in found.inputs if i.usual is None and not i.optional)
    if readings.wait and len(readings.values) != 2:
        return Fault(place, "a wait stands between two values; name two")
    lacking = next((name for name in needed if name not in names), None)
    if lacking is not None:
        says = (
            f"{found.name} needs {lacking} too; name it, or write 'with {lacking} ...'"
        )
        return Fault(place, says)
    try:
        typed(found, [f"{name}={value}" for name, value in readings.fixed])
    except SheetError as error:
        return Fault(place, f"{error}")
    return readings


def write_readings(readings: Readings) -> str:
    """The line that `read_readings` takes."""
    out = [f"{value.name} ({value.unit})" for value in readings.values]
    if readings.wait:
        out.insert(1, f"wait {readings.wait}")
    what = readings.sum.value if readings.sum else readings.sheet
    tail = f"; work out {what} ({readings.unit})" if what else ""
    if readings.fixed:
        tail += (
            f" with {', '.join(f'{name} {value}' for name, value in readings.fixed)}"
        )
    return f"Readings: {', '.join(out)}{tail}."
