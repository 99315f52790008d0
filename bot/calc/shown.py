"""A worksheet's result as lines of text, in the units the person prefers."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from bot.calc.sheet import Figure, Input, Sheet, Worked, in_unit, judged
from bot.units import SYMBOLS

SIGNIFICANT = 3


def preferred(figure: Figure, symbols: Sequence[str]) -> Figure:
    """The figure in the first of some units that measures the same kind of thing.

    A preference for a pressure serves its rates and absolute pressures too.

    >>> preferred(Figure("leak", 6.894757, "kPa/min"), ["psi"]).unit
    'psi/min'
    """
    wanted = _unit_of_kind(figure.unit, symbols)
    if wanted == figure.unit:
        return figure
    scale = SYMBOLS[figure.unit].scale / SYMBOLS[wanted].scale
    value = in_unit(figure.value, figure.unit, wanted)
    return replace(figure, value=value, unit=wanted, error=figure.error * scale)


def _unit_of_kind(given: str, symbols: Sequence[str]) -> str:
    kind = SYMBOLS[given].kind
    stem, tail = given, ""
    for mark in ("/", " abs"):
        if mark in given:
            stem, tail = given.partition(mark)[0], mark + given.partition(mark)[2]
    derived = (s + tail for s in symbols if tail and _kind(s) == _kind(stem))
    if "degF" in symbols:
        symbols = (*symbols, "degF difference")
    for symbol in (*symbols, *derived):
        if _kind(symbol) == kind:
            return symbol
    return given


def _kind(symbol: str) -> str:
    return SYMBOLS[symbol].kind if symbol in SYMBOLS else ""


def number(value: float, error: float = 0.0) -> str:
    """A value with as many digits as mean anything.

    >>> number(0.123456), number(12345.6), number(6.894, 1.3), number(0.0)
    ('0.123', '12346', '6.9', '0')
    """
    if value == 0.0 or not math.isfinite(value):
        return f"{value:g}"
    size = math.floor(math.log10(abs(value)))
    decimals = SIGNIFICANT - 1 - size
    if error > 0.0:
        decimals = min(decimals, 1 - math.floor(math.log10(error)))
    decimals = min(6, max(0, decimals))
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text and not error else text


def amount(figure: Figure) -> str:
    """A figure's value with its error and unit.

    >>> amount(Figure("leak", 4.0, "kPa/min", error=1.98))
    '4.0 +- 2.0 kPa/min'
    >>> amount(Figure("leak", 0.0, "bar/min", error=0.02))
    '0.000 +- 0.020 bar/min'
    """
    if figure.error <= 0.0:
        return f"{number(figure.value)} {figure.unit}".rstrip()
    decimals = min(6, max(0, 1 - math.floor(math.log10(figure.error))))
    if figure.value:
        text = number(figure.value, figure.error)
        decimals = len(text.partition(".")[2])
    error = max(figure.error, 10.0**-decimals)
    text = f"{figure.value:.{decimals}f} +- {error:.{decimals}f}"
    return f"{text} {figure.unit}".rstrip()


def result(sheet: Sheet, worked: Worked, symbols: Sequence[str]) -> Iterator[str]:
    """What came out: the inputs as taken, the result, limits, the working, bounds."""
    values = worked.values
    known = (asked for asked in sheet.inputs if asked.name in values)
    taken = (_taken(asked, values[asked.name], symbols) for asked in known)
    yield f"From: {', '.join(taken)}."
    first, *rest = (preferred(figure, symbols) for figure in worked.figures)
    yield f"{first.name}: {amount(first)}{_by(first)}"
    yield from verdicts(worked, symbols)
    for figure in rest:
        yield f"  {figure.name}: {amount(figure)}{_by(figure)}"
    yield f"Holds: {sheet.holds}"


def verdicts(worked: Worked, symbols: Sequence[str]) -> tuple[str, ...]:
    """On which side of every published limit the figures are, in preferred units."""
    units = {figure.name: figure.unit for figure in worked.figures}
    limits = []
    for limit in worked.limits:
        unit = units.get(limit.of, worked.result.unit)
        told = Figure("", limit.value, unit, error=limit.error or 0.0)
        told = preferred(told, symbols)
        limits.append(replace(limit, value=told.value, error=told.error))
    return judged([preferred(figure, symbols) for figure in worked.figures], limits)


def _taken(asked: Input, value: float, symbols: Sequence[str]) -> str:
    if asked.choices:
        words = {number: word for word, number in asked.choices.items()}
        return f"{asked.name} {words[value]}"
    shown = preferred(Figure("", value, asked.unit), symbols)
    return f"{asked.name} {shown.value:.5g} {shown.unit}".rstrip()


def _by(figure: Figure) -> str:
    return f"  ({figure.by})" if figure.by else ""


def explained(
    sheet: Sheet,
    symbols: Sequence[str] = (),
    named: Callable[[str], str] = str,
) -> Iterator[str]:
    """All about a sheet: what it needs, by what formula, from where, an example.

    Args:
        sheet: the sum.
        symbols: the units wanted, the first that fits.
        named: how a source is told, its documents by name.
    """
    yield f"{sheet.name}: {sheet.about}"
    yield from sheet.cautions
    yield ""
    yield "Inputs:"
    for asked in sheet.inputs:
        yield f"  {asked.name}: {asked.says}{_terms(asked, symbols)}"
    yield ""
    for line in sheet.formula:
        yield f"Formula: {line}"
    yield f"Holds: {sheet.holds}"
    for source in sheet.sources:
        yield f"Source: {named(source)}"
    yield f"Example: chock sum {sheet.name} {' '.join(map(_quoted, sheet.example))}"


def _terms(asked: Input, symbols: Sequence[str]) -> str:
    """Unit, range, and what is taken when nothing is given."""
    if asked.choices:
        words = {value: word for word, value in asked.choices.items()}
        usual = f"; {words[asked.usual]} unless said" if asked.usual is not None else ""
        return f" ({' or '.join(asked.choices)}{usual})"

    def told(value: float) -> Figure:
        return preferred(Figure("", value, asked.unit), symbols)

    low, high = told(asked.least), told(asked.most)
    terms = f"{low.value:.4g} to {high.value:.4g} {low.unit}".rstrip()
    if asked.usual is not None:
        terms += f"; {told(asked.usual).value:.4g} unless said"
    elif asked.optional:
        terms += "; may be left out"
    return f" ({terms})"


def _quoted(word: str) -> str:
    return f'"{word}"' if " " in word else word
