"""Inputs as people type them, such as ``start=8.2bar`` or ``brakes=applied``."""

import math
import re
from collections.abc import Iterable, Sequence
from contextlib import suppress
from difflib import get_close_matches

from bot.calc.sheet import Input, Sheet, SheetError, Values, in_range
from bot.units import SYMBOLS, Amount, Unit, amount, convert

_OFF_BY = re.compile(r"\s*(?:\+-|\+/-|±)\s*")

MOST_LETTERS = 2_000
"""Of all that is typed for one sum. Our choice."""

BY_PREFIX = frozenset(("voltage", "current", "resistance", "time"))
"""Kinds whose units differ by a prefix alone: no input lends its unit to another."""

OPEN_CIRCUIT = ("OL", "0L", "O.L", "OPEN")
"""What a meter shows where no current can flow."""

_SETTING = re.compile(r"(?:^|(?<=\s))([^\s=]+)\s*=\s*")
"""A name and the sign after it: a shell may have cut ``start = 8.2 bar`` in four."""

_METRIC = re.compile(r"^[Mm](?=[0-9])")
"""The letter before the size of a metric thread."""

NEVER_BARE = frozenset(("pressure", "absolute pressure"))
"""Kinds of which a bare number is in doubt: 8 bar and 8 psi are both a reading."""


def typed(
    sheet: Sheet, words: Iterable[str], preferred: Sequence[str] = ()
) -> tuple[dict[str, float], dict[str, float]]:
    """Values and errors by name, in the sheet's units.

    ``8.2+-0.1bar`` says how far a reading may be off. A bare pressure is in the unit of
    another one, if that was typed, or else in the preferred one, or refused. Other bare
    numbers are in the preferred unit or the sheet's, and refused beside one of their
    kind in a strange unit; where units differ by a prefix alone (mA, kohm) they are
    always in the sheet's, and no preference makes an M12 bolt twelve inches.

    Args:
        sheet: whose inputs they are.
        words: each ``name=value``, or a word that the sheet reads.
        preferred: symbols of units, the first that fits.

    Raises:
        SheetError: a word that is no ``name=value``, or a value that is no amount.
    """
    marks, said = _parted(sheet, words)
    names = [asked.name for asked, _ in said]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise SheetError(f"{twice} is given twice; give it once")
    units = [unit for _, text in said for unit in _units(text)]
    liked = [u for u in map(SYMBOLS.__getitem__, preferred) if u.kind != "length"]
    values: dict[str, float] = {}
    errors: dict[str, float] = {}
    for mark in marks:
        found, off_by = _mark(sheet, mark)
        if found.keys() & (values.keys() | set(names)):
            raise SheetError(f"'{mark[:20]}' says what is given already; give it once")
        values.update(found)
        errors.update(off_by)
    for asked, text in said:
        found, off_by = _by_mark(sheet, asked, text)
        if found:
            values.update(found)
            errors.update(off_by)
            continue
        value, *off = _OFF_BY.split(text, maxsplit=1)
        own = _units(text) or _lent(asked, value, units, liked)
        values[asked.name] = _value(asked, value, own)
        if off and not asked.choices:
            number, given = _amount(asked, off[0], own)
            if number < 0:
                raise SheetError(f"write how far {asked.name} is off without a sign")
            errors[asked.name] = number * given.scale / SYMBOLS[asked.unit].scale
    return values, errors


def named(sheet: Sheet, words: Iterable[str]) -> dict[str, str]:
    """The inputs that were named, with what was typed for each; "" for all without.

    Raises:
        SheetError: the sheet has no such input, or too much was typed.
    """
    marks, said = _parted(sheet, words)
    found = {"": " ".join(marks)} if marks else {}
    return found | {asked.name: text for asked, text in said}


def one_of(sheet: Sheet, asked: Input, text: str, liked: Sequence[str]) -> None:
    """Look whether a text can be the value of an input, the others not yet known.

    Raises:
        SheetError: it cannot, in one sentence.
    """
    values, _ = typed(sheet, [f"{asked.name}={text}"], liked)
    if asked.name in values:
        in_range(asked, values[asked.name])


def units_typed(words: Iterable[str]) -> tuple[str, ...]:
    """The units in which somebody typed the inputs, in order.

    >>> units_typed(["start=8.2bar", "time", "=", "5", "min", "vehicle=single"])
    ('bar', 'min')
    """
    texts = _SETTING.split(" ".join(words)[:MOST_LETTERS])[2::2]
    return tuple(dict.fromkeys(u.symbol for t in texts for u in _units(t)))


def _parted(
    sheet: Sheet, words: Iterable[str]
) -> tuple[list[str], list[tuple[Input, str]]]:
    """Words that have no name, and the inputs that were named with what was typed."""
    whole = " ".join(words)
    if len(whole) > MOST_LETTERS:
        raise SheetError(f"too long; write at most {MOST_LETTERS} letters")
    before, *rest = _SETTING.split(whole)
    marks, said = before.split(), []
    for name, text in zip(rest[::2], rest[1::2], strict=True):
        value = text.split()
        while sheet.reads and len(value) > 1 and amount(" ".join(value)) is None:
            marks.append(value.pop())
        said.append((_input(sheet, name), " ".join(value)))
    return marks, said


def _by_mark(sheet: Sheet, asked: Input, text: str) -> tuple[Values, Values]:
    """What a marking typed by its input's name says, such as size=M22x1.5."""
    if sheet.reads and amount(text) is None and _OFF_BY.search(text) is None:
        with suppress(SheetError):
            found, off_by = sheet.reads(text)
            if asked.name in found:
                return found, off_by
    return {}, {}


def _mark(sheet: Sheet, mark: str) -> tuple[Values, Values]:
    """What a word without a name says for several inputs: values and errors."""
    if sheet.reads is None:
        raise SheetError(f"what is '{mark[:40]}'? {_names(sheet)}")
    return sheet.reads(mark)


def _lent(
    asked: Input, text: str, units: Sequence[Unit], liked: Sequence[Unit]
) -> list[Unit]:
    """The units that a bare number may be in: those typed beside it, those liked.

    Pressures share one gauge. In other kinds a strange unit beside a bare number
    leaves that in doubt.
    """
    wanted = SYMBOLS[asked.unit]
    if asked.choices or wanted.kind in BY_PREFIX:
        return []
    alike = [unit for unit in units if unit.kind == wanted.kind]
    strange = next((unit for unit in alike if unit is not wanted), None)
    if strange and wanted.kind not in NEVER_BARE:
        raise SheetError(
            f"{asked.name}={text} of what? Write its unit, such as {wanted.symbol} or "
            f"{strange.symbol}"
        )
    return [*alike, *liked]


def _input(sheet: Sheet, name: str) -> Input:
    asked = sheet.input(name.lower())
    if asked is None:
        names = [one.name for one in sheet.inputs]
        near = get_close_matches(name.lower(), names, 1, cutoff=0.75)
        hint = f"did you mean {near[0]}?" if near else _names(sheet)
        raise SheetError(f"'{name[:40]}' is no input of {sheet.name}; {hint}")
    return asked


def _names(sheet: Sheet) -> str:
    names = ", ".join(one.name for one in sheet.inputs)
    return f"write name=value; the names are {names}"


def _units(text: str) -> list[Unit]:
    """The units typed in a value and its error."""
    found: Iterable[Amount | None] = map(amount, _OFF_BY.split(text, maxsplit=1))
    return [one.unit for one in found if one and one.unit]


def _value(asked: Input, text: str, units: Sequence[Unit]) -> float:
    """An amount in the input's unit; a word where it has choices."""
    if asked.choices:
        return _choice(asked, text)
    number, given = _amount(asked, text, units)
    value, wanted = convert(number, given, SYMBOLS[asked.unit]), SYMBOLS[asked.unit]
    if not asked.least <= value <= asked.most:
        low, high = (convert(end, wanted, given) for end in (asked.least, asked.most))
        span = f"{low:.4g} to {high:.4g} {given.symbol}".rstrip()
        raise SheetError(f"{asked.name} must be {span}; {number:g} cannot be right")
    return value


def _choice(asked: Input, text: str) -> float:
    """The number that a word stands for, or one typed with its unit, such as 24V."""
    word = next((w for w in asked.choices if w.lower() == text.lower()), None)
    if word is not None:
        return asked.choices[word]
    found = amount(text)
    if found and found.unit and found.unit.kind == SYMBOLS[asked.unit].kind:
        value = convert(found.value, found.unit, SYMBOLS[asked.unit])
        if value in asked.choices.values():
            return value
    raise SheetError(f"{asked.name} is one of: {', '.join(asked.choices)}")


def _amount(asked: Input, text: str, units: Sequence[Unit]) -> tuple[float, Unit]:
    """The number, and its own unit or the one that is meant."""
    electric = SYMBOLS[asked.unit].kind in ("resistance", "voltage", "current")
    if electric and text.strip().upper() in OPEN_CIRCUIT:
        raise SheetError(f"{asked.name} {text}: an open circuit; find the break first")
    if asked.unit == "mm":
        text = _METRIC.sub("", text)
    wanted, found = SYMBOLS[asked.unit], amount(text)
    if found is None:
        raise SheetError(f"'{text[:40]}' is no amount; {_advice(asked, text)}")
    alike = [u for u in units if u.kind == wanted.kind]
    given = found.unit or next(iter(alike), None)
    if given is None and wanted.kind in NEVER_BARE and found.value:
        raise SheetError(
            f"{asked.name}={text} of what? Write its unit: bar, psi or kPa"
        )
    if given is None and wanted.symbol == "%" and 0 < abs(found.value) <= 1:
        raise SheetError(
            f"{asked.name}={text} of what? Write {found.value:.0%} or {found.value:g}%"
        )
    given = given or wanted
    if given.kind != wanted.kind:
        raise SheetError(
            f"{asked.name}: {given.symbol} is {given.kind}, not {wanted.kind}; write "
            f"it in {_units_of(wanted)}"
        )
    return found.value, given


def _advice(asked: Input, text: str) -> str:
    """What to write in place of a text that is no amount."""
    if re.match(r"[0-9]{1,3}[, ][0-9]{3}(?![0-9])", text):
        return "write thousands without a comma or space, and decimals with a point"
    if SYMBOLS[asked.unit].kind == "time" and ":" in text:
        return "write 1.5min or 90s"
    low = max(asked.least, 0.0)
    middle = asked.usual or math.sqrt(low * asked.most) or asked.most / 2
    return f"write e.g. {asked.name}={float(f'{middle:.1g}'):g}{asked.unit}"


def _units_of(wanted: Unit) -> str:
    """The first few units of a kind."""
    kinds = [unit.symbol for unit in SYMBOLS.values() if unit.kind == wanted.kind]
    return " or ".join(filter(None, kinds[:3])) or "a plain number"
