"""A worksheet: one of the trade's sums with all that is needed to trust its result.

A sheet names its inputs with their units and ranges, does the sum, and says by what
formula, within what limits and from what source. Gauges err, so every input carries its
error, and the result says its own: each error is carried through alone, and their
squares add up. A figure whose error reaches over a limit is too close to call.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from types import MappingProxyType

from bot.model.place import BotError
from bot.units import SYMBOLS, convert

Values = Mapping[str, float]
"""Inputs by name, each in its own unit; one that was not given is missing."""


class SheetError(BotError):
    """An input that is missing, out of range, or at odds with another."""


@dataclass(frozen=True, slots=True)
class Input:
    """One thing that is measured or known.

    `unit` is that of a bare number and of `least` and `most`; `usual` is taken when
    nothing is given, and the input may be left out when it is `optional`. `error` is
    how far a reading with common tools may be off; `choices` are words for numbers.
    """

    name: str
    unit: str
    least: float
    most: float
    says: str
    usual: float | None = None
    optional: bool = False
    error: float = 0.0
    choices: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True)
class Figure:
    """One number that comes out: its name, value and unit, and how it was got."""

    name: str
    value: float
    unit: str
    by: str = ""
    error: float = 0.0


class Side(Enum):
    """On which side of a limit all is well."""

    BELOW = "below"
    ABOVE = "above"


@dataclass(frozen=True, slots=True)
class Limit:
    """A published bound for a figure, in its unit.

    `says` names whose limit it is; `clears` is False where the source is too weak, or
    the test not as it asks, to call anything safe by: then only the wrong side counts,
    and `because` says why. `of` names the figure, the first unless said; `do` is what
    to do on the wrong side, `doubt` when the figure is too near. `error` is how far the
    two may be off beside one another, once that is worked out.
    """

    value: float
    side: Side
    says: str
    clears: bool = True
    of: str = ""
    doubt: str = "test longer, or measure more closely"
    because: str = ""
    do: str = ""
    error: float | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sum of the trade.

    `work` takes the inputs and gives the figures, the result first and then what led to
    it; it raises `SheetError` with one plain sentence when they cannot be true
    together. `limits` gives the bounds that hold for these inputs. `example` are inputs
    as one would type them. `reads` takes a word without a name, such as a tyre's
    marking, for several inputs: their values and errors.
    """

    name: str
    about: str
    inputs: tuple[Input, ...]
    work: Callable[[Values], Sequence[Figure]]
    formula: tuple[str, ...]
    holds: str
    sources: tuple[str, ...]
    example: tuple[str, ...]
    limits: Callable[[Values], Sequence[Limit]] = lambda _: ()
    cautions: tuple[str, ...] = ()
    reads: Callable[[str], tuple[Values, Values]] | None = None

    def input(self, name: str) -> Input | None:
        """The input with that name, or None."""
        return next((asked for asked in self.inputs if asked.name == name), None)


@dataclass(frozen=True, slots=True)
class Worked:
    """What a sheet gives: figures with their errors, a word on every limit, its inputs.

    All in the sheet's own units; `bot.calc.shown` tells it in others.
    """

    values: Values
    figures: tuple[Figure, ...]
    limits: tuple[Limit, ...]

    @property
    def result(self) -> Figure:
        """The first figure, which was asked for."""
        return self.figures[0]

    @property
    def verdicts(self) -> tuple[str, ...]:
        """On which side of every published limit the figures are."""
        return judged(self.figures, self.limits)


def work_out(
    sheet: Sheet, given: Values, errors: Values = MappingProxyType({})
) -> Worked:
    """Do the sum.

    Args:
        sheet: the sheet.
        given: inputs by name, each in the unit that its sheet asks for.
        errors: how far each may be off, where that is known better than by the sheet.

    Raises:
        SheetError: an input is missing, unknown, no number, or out of its range.
    """
    values = _complete(sheet, given)
    off = {i.name: errors.get(i.name, i.error) for i in sheet.inputs}
    if not all(map(math.isfinite, off.values())):
        raise SheetError("how far a reading is off must be a plain number")
    figures, limits = _figures(sheet, values), tuple(sheet.limits(values))
    spread = _spread(sheet, values, off)
    return Worked(
        values,
        tuple(replace(f, error=spread[f.name]) for f in figures),
        tuple(replace(limit, error=spread[_margin(limit)]) for limit in limits),
    )


def _of(figures: Sequence[Figure], limit: Limit) -> Figure:
    """The figure that a limit is for."""
    named = (figure for figure in figures if figure.name == limit.of)
    return next(named, figures[0])


def judged(figures: Sequence[Figure], limits: Sequence[Limit]) -> tuple[str, ...]:
    """A sentence on every limit, each in the unit of its figure, the worst first.

    What is beyond one limit is not called within another: a dead short is no less bad
    for being under the most, nor a loose wheel for not being past a laxer rule.
    """
    pairs = [(_of(figures, limit), limit) for limit in limits]
    beyond = {f.name for f, limit in pairs if _call(f, limit) is Call.BEYOND}
    bad = (Call.BEYOND, Call.TOO_CLOSE)
    told = [
        (f, limit)
        for f, limit in pairs
        if f.name not in beyond or _call(f, limit) in bad
    ]
    order = list(Call)
    told.sort(key=lambda pair: order.index(_call(*pair)))
    return tuple(verdict(figure, limit) for figure, limit in told)


class Call(Enum):
    """What can be called of a figure against a limit, the worst first."""

    BEYOND = "beyond"
    TOO_CLOSE = "too close to call"
    UNPROVEN = "not beyond"
    WITHIN = "within"


def _call(figure: Figure, limit: Limit) -> Call:
    error = figure.error if limit.error is None else limit.error
    over = figure.value - limit.value
    if error and abs(over) <= error:
        return Call.TOO_CLOSE
    if (over < 0.0) is not (limit.side is Side.BELOW):
        return Call.BEYOND
    return Call.WITHIN if limit.clears else Call.UNPROVEN


def _complete(sheet: Sheet, given: Values) -> dict[str, float]:
    """The inputs with usual ones filled in, all within their ranges."""
    names = [asked.name for asked in sheet.inputs]
    odd = next((name for name in given if name not in names), None)
    if odd is not None:
        raise SheetError(f"{sheet.name} asks no '{odd}'; it asks {', '.join(names)}")
    wanted = {asked.name: given.get(asked.name, asked.usual) for asked in sheet.inputs}
    missing = [
        f"{asked.name} ({asked.says})"
        for asked in sheet.inputs
        if wanted[asked.name] is None and not asked.optional
    ]
    if missing:
        raise SheetError(f"{sheet.name} needs {', and '.join(missing)}")
    inputs = {asked.name: asked for asked in sheet.inputs}
    return {
        name: in_range(inputs[name], value)
        for name, value in wanted.items()
        if value is not None
    }


def in_range(asked: Input, value: float) -> float:
    """A value of an input, in its unit.

    Raises:
        SheetError: it is none of its choices, or beyond its range.
    """
    if asked.choices and value not in asked.choices.values():
        raise SheetError(f"{asked.name} is one of: {', '.join(asked.choices)}")
    if not math.isfinite(value) or not asked.least <= value <= asked.most:
        span = f"{asked.least:g} to {asked.most:g} {asked.unit}".rstrip()
        raise SheetError(f"{asked.name} must be {span}; {value:g} cannot be right")
    return value


def _figures(sheet: Sheet, values: Values) -> tuple[Figure, ...]:
    """What the sum gives; what is too large or undefined is an error in plain words."""
    try:
        figures = tuple(sheet.work(values))
    except (ArithmeticError, ValueError) as error:
        raise SheetError(
            f"{sheet.name} cannot be worked out from these; check the readings"
        ) from error
    if not all(math.isfinite(figure.value) for figure in figures):
        raise SheetError(f"{sheet.name} has no finite answer for these readings")
    return figures


def _margin(limit: Limit) -> str:
    """A name for how far its figure is from a limit, apart from the figures' own."""
    return f"{limit.of}:{limit.side.value}:{limit.says}"


def _outcome(sheet: Sheet, values: Values) -> dict[str, float]:
    """All that comes out, by name: the figures, and how far each is from its limits.

    A limit may depend on the inputs too (the least volts on the temperature), so the
    two move together.
    """
    figures = sheet.work(values)
    found = {figure.name: figure.value for figure in figures}
    for limit in sheet.limits(values):
        found[_margin(limit)] = _of(figures, limit).value - limit.value
    return found


def _spread(sheet: Sheet, values: Values, errors: Values) -> dict[str, float]:
    """The error of all that comes out: what each input's own error does, in squares."""
    here = _outcome(sheet, values)
    squares = dict.fromkeys(here, 0.0)
    for asked in sheet.inputs:
        if asked.name in values and errors[asked.name] > 0.0:
            moved = _moved(sheet, values, asked, errors[asked.name], here)
            squares = {name: squares[name] + moved[name] ** 2 for name in squares}
    return {name: math.sqrt(square) for name, square in squares.items()}


def _moved(
    sheet: Sheet, values: Values, asked: Input, error: float, here: Values
) -> dict[str, float]:
    """How far all moves when one input is off by its error, the worse way.

    No step leaves the input's range, and a side on which the sum cannot be done (a fall
    that turns into a rise) is left out.
    """
    moved = dict.fromkeys(here, 0.0)
    for step in (-error, error):
        there = min(max(values[asked.name] + step, asked.least), asked.most)
        try:
            other = _outcome(sheet, {**values, asked.name: there})
        except (SheetError, ArithmeticError, ValueError):
            continue
        for name in moved.keys() & other.keys():
            moved[name] = max(moved[name], abs(other[name] - here[name]))
    return moved


def verdict(figure: Figure, limit: Limit) -> str:
    """One sentence on which side of a limit the figure is, if that can be told."""
    bound = f"{limit.value:.4g} {figure.unit}".rstrip()
    says = f"{limit.of}: {limit.says}" if limit.of else limit.says
    here = "under" if figure.value < limit.value else "over"
    match _call(figure, limit):
        case Call.TOO_CLOSE:
            return (
                f"Too close to call against {bound} ({says}). {_sentence(limit.doubt)}"
            )
        case Call.BEYOND:
            do = _sentence(limit.do)
            return f"NOT within the limit: {here} {bound} ({says}). {do}".rstrip()
        case Call.UNPROVEN:
            because = f": {limit.because}" if limit.because else " by itself"
            return f"No fault seen: {here} {bound} ({says}), but no pass{because}."
        case Call.WITHIN:
            alone = "It alone clears no truck"
            return f"Within the limit: {here} {bound} ({says}). {alone}."


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}." if words else ""


def in_unit(value: float, unit: str, wanted: str) -> float:
    """A value in another unit of its kind, both by symbol."""
    return convert(value, SYMBOLS[unit], SYMBOLS[wanted])
