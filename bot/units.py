"""Conversions, and the reading of typed amounts such as ``6,8 bar``.

The only room that knows two units for one quantity. A pressure is a gauge pressure and
never mixes with an absolute one; a temperature and a temperature difference are
different kinds too.
"""

import math
import re
from types import MappingProxyType
from typing import NamedTuple


class Unit(NamedTuple):
    """One way to write a quantity: value_in_base = value * scale + offset."""

    symbol: str
    kind: str
    scale: float
    offset: float = 0.0


class Amount(NamedTuple):
    """A number and its unit; `unit` is None when the person typed a bare number."""

    value: float
    unit: Unit | None


INCH_MM, POUND_KG, GRAVITY = 25.4, 0.45359237, 9.80665
"""The inch and the avoirdupois pound (international yard and pound agreement, 1959) and
standard gravity (3rd General Conference on Weights and Measures, 1901): exact."""

POUND_FORCE_N = POUND_KG * GRAVITY
PSI_KPA = POUND_FORCE_N / INCH_MM**2 * 1000
INHG_KPA = 3.38638864
"""Conventional inch of mercury. Source: NIST SP 811 appendix B (from memory)."""

US_GALLON_L = 231 * INCH_MM**3 / 1e6
CUBIC_FOOT_L = (12 * INCH_MM) ** 3 / 1e6
HORSEPOWER_KW = 550 * POUND_FORCE_N * 0.3048 / 1000

_UNITS = (
    Unit("kPa", "pressure", 1.0),
    Unit("bar", "pressure", 100.0),
    Unit("psi", "pressure", PSI_KPA),
    Unit("mbar", "pressure", 0.1),
    Unit("kgf/cm2", "pressure", GRAVITY * 10),
    Unit("MPa", "pressure", 1000.0),
    Unit("inHg", "pressure", INHG_KPA),
    Unit("kPa abs", "absolute pressure", 1.0),
    Unit("bar abs", "absolute pressure", 100.0),
    Unit("psi abs", "absolute pressure", PSI_KPA),
    Unit("hPa abs", "absolute pressure", 0.1),
    Unit("inHg abs", "absolute pressure", INHG_KPA),
    Unit("kPa/min", "pressure rate", 1.0),
    Unit("kPa/h", "pressure rate", 1 / 60),
    Unit("bar/day", "pressure rate", 100.0 / 1440),
    Unit("psi/day", "pressure rate", PSI_KPA / 1440),
    Unit("bar/min", "pressure rate", 100.0),
    Unit("psi/min", "pressure rate", PSI_KPA),
    Unit("bar/h", "pressure rate", 100.0 / 60),
    Unit("psi/h", "pressure rate", PSI_KPA / 60),
    Unit("V", "voltage", 1.0),
    Unit("mV", "voltage", 0.001),
    Unit("A", "current", 1.0),
    Unit("mA", "current", 0.001),
    Unit("ohm", "resistance", 1.0),
    Unit("kohm", "resistance", 1000.0),
    Unit("mohm", "resistance", 0.001),
    Unit("degC", "temperature", 1.0),
    Unit("degF", "temperature", 5 / 9, -160 / 9),
    Unit("K", "temperature difference", 1.0),
    Unit("degF difference", "temperature difference", 5 / 9),
    Unit("min", "time", 1.0),
    Unit("s", "time", 1 / 60),
    Unit("h", "time", 60.0),
    Unit("day", "time", 1440.0),
    Unit("mm", "length", 1.0),
    Unit("cm", "length", 10.0),
    Unit("m", "length", 1000.0),
    Unit("in", "length", 25.4),
    Unit("ft", "length", 304.8),
    Unit("km", "length", 1e6),
    Unit("mile", "length", 1609344.0),
    Unit("mm2", "area", 1.0),
    Unit("cm2", "area", 100.0),
    Unit("m2", "area", 1e6),
    Unit("in2", "area", INCH_MM**2),
    Unit("L", "volume", 1.0),
    Unit("ml", "volume", 0.001),
    Unit("m3", "volume", 1000.0),
    Unit("cm3", "volume", 0.001),
    Unit("in3", "volume", INCH_MM**3 / 1e6),
    Unit("ft3", "volume", CUBIC_FOOT_L),
    Unit("US gal", "volume", US_GALLON_L),
    Unit("L/min", "flow", 1.0),
    Unit("ml/min", "flow", 0.001),
    Unit("L/h", "flow", 1 / 60),
    Unit("ft3/min", "flow", CUBIC_FOOT_L),
    Unit("g/h", "mass flow", 1.0),
    Unit("kg/h", "mass flow", 1000.0),
    Unit("kg/s", "mass flow", 3.6e6),
    Unit("km/h", "speed", 1.0),
    Unit("mph", "speed", 1.609344),
    Unit("m/s", "speed", 3.6),
    Unit("rpm", "shaft speed", 1.0),
    Unit("N m", "torque", 1.0),
    Unit("lbf ft", "torque", POUND_FORCE_N * 0.3048),
    Unit("kgf m", "torque", GRAVITY),
    Unit("kN", "force", 1.0),
    Unit("N", "force", 0.001),
    Unit("lbf", "force", POUND_FORCE_N / 1000),
    Unit("kg", "mass", 1.0),
    Unit("g", "mass", 0.001),
    Unit("t", "mass", 1000.0),
    Unit("lb", "mass", POUND_KG),
    Unit("kW", "power", 1.0),
    Unit("W", "power", 0.001),
    Unit("hp", "power", HORSEPOWER_KW),
    Unit("Ah", "charge", 1.0),
    Unit("deg", "angle", 1.0),
    Unit("kg/L", "density", 1.0),
    Unit("g/m3", "water in air", 1.0),
    Unit("%", "share", 1.0),
    Unit("money", "money", 1.0),
    Unit("fiver", "money", 5.0),
    Unit("tenner", "money", 10.0),
    Unit("grand", "money", 1000.0),
    Unit("", "number", 1.0),
)

SYMBOLS = MappingProxyType({unit.symbol: unit for unit in _UNITS})
"""Every unit by the symbol that cards and messages use."""

_SPOKEN = MappingProxyType(
    {
        "pound": "psi",
        "lbs": "psi",
        "lb": "psi",
        "kpa": "kPa",
        "volt": "V",
        "v": "V",
        "mv": "mV",
        "millivolt": "mV",
        "amp": "A",
        "ampere": "A",
        "a": "A",
        "ma": "mA",
        "k": "kohm",
        "Ω": "ohm",
        "c": "degC",
        "°c": "degC",
        "deg c": "degC",
        "celsius": "degC",
        "f": "degF",
        "°f": "degF",
        "fahrenheit": "degF",
        "degrees celsius": "degC",
        "degree celsius": "degC",
        "degrees centigrade": "degC",
        "centigrade": "degC",
        "degrees fahrenheit": "degF",
        "degree fahrenheit": "degF",
        "minute": "min",
        "sec": "s",
        "second": "s",
        "hour": "h",
        "hr": "h",
        "hrs": "h",
        "inch": "in",
        "inches": "in",
        '"': "in",
        "l": "L",
        "litre": "L",
        "liter": "L",
        "l/min": "L/min",
        "kph": "km/h",
        "nm": "N m",
        "kgm": "kgf m",
        "kgfm": "kgf m",
        "mkg": "kgf m",
        "kg m": "kgf m",
        "lbft": "lbf ft",
        "lb-ft": "lbf ft",
        "ft-lb": "lbf ft",
        "lb ft": "lbf ft",
        "ft lb": "lbf ft",
        "ftlb": "lbf ft",
        "atm": "kgf/cm2",
        "kilo": "kg",
        "kilopascal": "kPa",
        "megapascal": "MPa",
        "mpa": "MPa",
        "degree": "degC",
        "degrees c": "degC",
        "degrees f": "degF",
        "degf": "degF",
        "degc": "degC",
        "deg f": "degF",
        "millimetre": "mm",
        "centimetre": "cm",
        "revs": "rpm",
        "tonne": "t",
        "ton": "t",
        "cfm": "ft3/min",
        "cc": "cm3",
        "kg/cm2": "kgf/cm2",
        "kg/cm²": "kgf/cm2",
        "mm²": "mm2",
        "cm²": "cm2",
        "gal": "US gal",
        "gallon": "US gal",
        "feet": "ft",
        "foot": "ft",
        "metre": "m",
        "meter": "m",
        "kgs": "kg",
        "gram": "g",
        "millibar": "mbar",
        "kg/l": "kg/L",
        "percent": "%",
        "euro": "money",
        "dollar": "money",
        "franc": "money",
        "quid": "money",
        "buck": "money",
        "$": "money",
        "€": "money",
        "£": "money",
    }
)
"""Units as they are said; a plural is read without its "s"."""

_BY_WORD = MappingProxyType(
    {symbol.lower(): unit for symbol, unit in SYMBOLS.items()}
    | {word.lower(): SYMBOLS[symbol] for word, symbol in _SPOKEN.items()}
)

AMOUNT = re.compile(
    r"(?P<number>[+-]?[0-9]{1,6}(?:[.,][0-9]{1,4})?)"
    r"\s{0,2}(?P<unit>[A-Za-z°Ω%\"][A-Za-z°/ 23²-]{0,18})?",
    re.ASCII,
)
"""A typed amount; at most 20 characters, so that hostile text costs nothing."""


def unit(word: str) -> Unit | None:
    """The unit that a symbol or a spoken word stands for, or None.

    >>> unit("pounds").symbol, unit("litres per hour").symbol
    ('psi', 'L/h')
    """
    bare = word.strip()
    return SYMBOLS.get(bare) or _spoken(bare.lower()) or _rate(bare.lower())


def _spoken(word: str) -> Unit | None:
    known = _BY_WORD.get(word)
    plural = known is None and word.endswith("s") and len(word) > LEAST_PLURAL
    return _BY_WORD.get(word[:-1]) if plural else known


LEAST_PLURAL = 3
"""Letters of the longest word whose "s" is no plural: "ins", "gas"."""


_PER = re.compile(r" ?/ ?| per | an? | each ")


def _rate(word: str) -> Unit | None:
    """The unit of so much in a time: "psi a minute", "litres per hour"."""
    parts = [_spoken(part) for part in _PER.split(word)]
    if len(parts) != 2 or None in parts:
        return None
    above, below = (part.symbol for part in parts if part)
    return SYMBOLS.get(f"{above}/{below}")


_ALSO = MappingProxyType(
    {
        "lb": ("psi", "lb", "lbf"),
        "lbs": ("psi", "lb", "lbf"),
        "pound": ("psi", "lb", "lbf", "money"),
        "pounds": ("psi", "lb", "lbf", "money"),
        "kg": ("kg", "kgf/cm2"),
        "kgs": ("kg", "kgf/cm2"),
        "kilo": ("kg", "kgf/cm2"),
        "kilos": ("kg", "kgf/cm2"),
        "degree": ("degC", "deg"),
        "degrees": ("degC", "deg"),
        "deg": ("degC", "deg"),
        "k": ("kohm", "km", "km/h"),
        "kay": ("kohm", "km", "km/h"),
        "m": ("m", "min"),
        "volts dc": ("V",),
    }
)
"""Spoken units that measure one thing or another: the question decides which."""


def units_like(word: str) -> tuple[Unit, ...]:
    """Every unit that a spoken word may stand for, the likeliest first.

    >>> [known.symbol for known in units_like("kilos")]
    ['kg', 'kgf/cm2']
    """
    also = _ALSO.get(word.strip().lower())
    if also:
        return tuple(SYMBOLS[symbol] for symbol in also)
    known = unit(word)
    return (known,) if known else ()


def number(text: str) -> float | None:
    """The number typed, with a decimal point or comma; None when it is in doubt.

    ``1,234`` is refused: thousands or decimals, nobody can tell.

    >>> number("6,8"), number("-0.5"), number("1,234"), number("nan")
    (6.8, -0.5, None, None)
    """
    if re.fullmatch(r"[+-]?[0-9]{1,6}(?:\.[0-9]{1,4}|,[0-9]{1,2})?", text, re.ASCII):
        value = float(text.replace(",", "."))
        return value if math.isfinite(value) else None
    return None


def amount(text: str) -> Amount | None:
    """The one amount typed, such as ``6.8 bar`` or ``6,8``; None for anything else.

    >>> amount("30 psi").unit.symbol, amount("6,8").value, amount("6 apples")
    ('psi', 6.8, None)
    """
    found = AMOUNT.fullmatch(text.strip())
    if found is None:
        return None
    value = number(found["number"])
    word = found["unit"]
    known = unit(word) if word else None
    if value is None or (word and known is None):
        return None
    return Amount(value, known)


def convert(value: float, given: Unit, wanted: Unit) -> float:
    """`value` in the wanted unit.

    Raises:
        ValueError: the two units measure different things.

    >>> round(convert(100, SYMBOLS["psi"], SYMBOLS["bar"]), 3)
    6.895
    """
    if given.kind != wanted.kind:
        raise ValueError(f"{given.symbol} is {given.kind}, not {wanted.kind}")
    return (value * given.scale + given.offset - wanted.offset) / wanted.scale


_NUMBER = re.compile(r"(?<![\w.,])[+-]?[0-9]{1,6}(?:[.,][0-9]{1,4})?(?![0-9])")


def amounts(text: str) -> tuple[Amount, ...]:
    """All amounts in a typed line, in order; a unit also serves the ones before it.

    >>> [(a.value, a.unit.symbol) for a in amounts("from 8.0 down to 7,4 bar")]
    [(8.0, 'bar'), (7.4, 'bar')]
    """
    found: list[Amount] = []
    for match in _NUMBER.finditer(text[:400]):
        value = number(match[0])
        if value is not None:
            after = text[match.end() : match.end() + 20]
            found.append(Amount(value, _unit_after(after)))
    last: Unit | None = None
    for index in range(len(found) - 1, -1, -1):
        last = found[index].unit or last
        found[index] = Amount(found[index].value, found[index].unit or last)
    return tuple(found)


def _unit_after(text: str) -> Unit | None:
    """The unit that a text begins with, the longest spelling first."""
    words = text.replace(",", " ").replace(";", " ").rstrip(".?!").split()
    for length in (3, 2, 1):
        known = unit(" ".join(words[:length])) if len(words) >= length else None
        if known:
            return known
    return None
