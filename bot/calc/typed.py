"""Inputs as people type them, such as ``start=8.2bar`` or ``brakes=applied``."""

import math
import re
from collections.abc import Iterable

from bot.calc.sheet import Input, Sheet, SheetError
from bot.units import SYMBOLS, Unit, amount, convert

_OFF_BY = re.compile(r"\s*(?:\+-|\+/-|\u00b1)\s*")


def typed(
    sheet: Sheet, words: Iterable[str]
) -> tuple[dict[str, float], dict[str, float]]:
    """Values and errors by name, in the sheet's units.

    ``8.2bar+-0.1bar`` says how far a reading may be off.

    Raises:
        SheetError: a word that is no ``name=value``, or a value that is no amount.
    """
    values: dict[str, float] = {}
    errors: dict[str, float] = {}
    for word in words:
        name, is_set, text = word.partition("=")
        asked = sheet.input(name.strip())
        if not is_set or asked is None:
            names = ", ".join(i.name for i in sheet.inputs)
            raise SheetError(
                f"'{word[:40]}' is no input of {sheet.name}; write name=value, "
                f"the names are {names}"
            )
        value, *off = _OFF_BY.split(text.strip(), maxsplit=1)
        values[asked.name] = _value(asked, value)
        if off:
            errors[asked.name] = _error(asked, off[0])
    return values, errors


def _value(asked: Input, text: str) -> float:
    """An amount in the input's unit; a word where it has choices."""
    if asked.choices:
        if text not in asked.choices:
            raise SheetError(f"{asked.name} is one of: {', '.join(asked.choices)}")
        return asked.choices[text]
    value, given = _amount(asked, text)
    return convert(value, given, SYMBOLS[asked.unit])


def _error(asked: Input, text: str) -> float:
    """How far off: a difference, so that degrees have no zero point."""
    value, given = _amount(asked, text)
    return abs(value) * given.scale / SYMBOLS[asked.unit].scale


def _amount(asked: Input, text: str) -> tuple[float, Unit]:
    wanted = SYMBOLS[asked.unit]
    found = amount(text)
    given = (found.unit or wanted) if found else None
    if found is None or given is None or not math.isfinite(found.value):
        example = f"{asked.least:g}{asked.unit}"
        raise SheetError(f"'{text[:40]}' is no amount; write e.g. {example}")
    if given.kind != wanted.kind:
        raise SheetError(
            f"{asked.name} is a {wanted.kind}; {given.symbol} is a {given.kind}"
        )
    return found.value, given
