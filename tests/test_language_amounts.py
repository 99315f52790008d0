"""Amounts in running text, held against an open library that reads them too.

Source: quantulum3 (MIT licence, from the registry), without its trained classifier;
numbers in words by num2words (LGPL, from the registry). A thousand phrases are made by
chance from a fixed seed. Left out, for the library reads them as something else:
minutes, seconds and pounds in full ("minute of arc", "pound sterling"), "amps", "mbar",
a lone "A" after a blank (in small letters it is the article: "6 a side"), a decimal
comma, "half a volt", "three quarters of a volt", "a couple of", "point four" in words,
and two values with one unit between them (it gives their mean); for those there are
cases by hand in `test_language_line.py`.
"""

import random
import warnings

import pytest
from num2words import num2words  # type: ignore[import-untyped]

from bot.language.line import listen
from bot.units import SYMBOLS
from tests.fakes import real_lexicon

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it would like its classifier
    parser = pytest.importorskip("quantulum3.parser")

UNITS = {
    "kPa": ("kPa", "kilopascals"),
    "bar": ("bar",),
    "psi": ("psi",),
    "MPa": ("MPa", "megapascals"),
    "kgf/cm2": ("kgf/cm2",),
    "V": ("V", "volts"),
    "mV": ("mV", "millivolts"),
    "A": ("amperes",),
    "ohm": ("ohm", "ohms"),
    "mm": ("mm", "millimetres"),
    "cm": ("cm",),
    "in": ("inches",),
    "ft": ("feet",),
    "km": ("km",),
    "m": ("metres",),
    "mile": ("miles",),
    "L": ("litres",),
    "kg": ("kg", "kilos"),
    "g": ("grams",),
    "kW": ("kW",),
    "degC": ("degrees celsius", "°C"),
    "degF": ("degrees fahrenheit", "°F"),
    "h": ("hours",),
    "min": ("min",),
    "day": ("days",),
    "rpm": ("rpm",),
    "%": ("%", "percent"),
    "Ah": ("Ah",),
    "N m": ("Nm",),
    "km/h": ("km/h",),
}
THEIRS = {
    "kilopascal": "kPa",
    "bar": "bar",
    "pound per square inch": "psi",
    "megapascal": "MPa",
    "kilogram-force per square centimetre": "kgf/cm2",
    "volt": "V",
    "millivolt": "mV",
    "ampere": "A",
    "ohm": "ohm",
    "millimetre": "mm",
    "centimetre": "cm",
    "inch": "in",
    "foot": "ft",
    "kilometre": "km",
    "metre": "m",
    "mile": "mile",
    "litre": "L",
    "kilogram": "kg",
    "gram": "g",
    "kilowatt": "kW",
    "degree Celsius": "degC",
    "degree fahrenheit": "degF",
    "hour": "h",
    "minute": "min",
    "day": "day",
    "revolutions per minute": "rpm",
    "percentage": "%",
    "ampere-hour": "Ah",
    "newton metre": "N m",
    "kilometre per hour": "km/h",
}
"""What the library calls our units."""

FRAMES = (
    "it reads {} on the gauge",
    "the left one shows {}, the other does not move",
    "about {} with the engine running",
    "it was {} yesterday",
    "we measured {}",
    "{}",
    "no more than {} before it blows off",
    "it came down to {} overnight",
)


def phrases(count: int) -> list[tuple[str, float, str]]:
    """Phrases with the value and unit that each was made from."""
    lots = random.Random(10)
    made = []
    for _ in range(count):
        symbol = lots.choice(sorted(UNITS))
        spoken = lots.choice(UNITS[symbol])
        kind = lots.randrange(5)
        value = float(lots.randrange(2, 130))
        said = f"{value:g}"
        if kind == 1:
            value = lots.randrange(2, 400) / 10
            said = f"{value:.1f}"
        elif kind == 2:
            said = num2words(int(value))
        elif kind == 3:
            said = f"{num2words(int(value))} and a half"
            value += 0.5
        elif kind == 4:
            value = lots.randrange(2, 10) * 100.0
            said = num2words(int(value))
        made.append((lots.choice(FRAMES).format(f"{said} {spoken}"), value, symbol))
    return made


def test_a_thousand_amounts_are_read_as_an_open_library_reads_them() -> None:
    lexicon, wrong = real_lexicon(), []
    for text, value, symbol in phrases(1000):
        ours = [
            (q.value, q.unit.symbol) for q in listen(text, lexicon).quantities if q.unit
        ]
        theirs = [
            (found.value, THEIRS[found.unit.name])
            for found in parser.parse(text)
            if found.unit.name in THEIRS
        ]
        if ours != theirs or ours != [(value, symbol)]:
            wrong.append((text, ours, theirs))
    assert wrong == []


def test_the_library_has_the_same_unit_in_mind() -> None:
    assert set(THEIRS.values()) == set(UNITS) <= set(SYMBOLS)
