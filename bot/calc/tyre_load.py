"""Loads on tyres: markings, pressure for a load, and what the ground has to bear.

Pressures are gauge, loads are masses in kg as the trade weighs them.
"""

import math
from types import MappingProxyType

from bot.calc.sheet import Figure, Input, Sheet, SheetError, Values
from bot.units import GRAVITY, INCH_MM

FIRST_INDEX = 120
_KG = """
1400 1450 1500 1550 1600 1650 1700 1750 1800 1850
1900 1950 2000 2060 2120 2180 2240 2300 2360 2430
2500 2575 2650 2725 2800 2900 3000 3075 3150 3250
3350 3450 3550 3650 3750 3875 4000 4125 4250 4375
4500 4625 4750 4875 5000 5150 5300 5450 5600 5800
6000 6150 6300 6500 6700 6900 7100 7300 7500 7750
8000"""
LOAD_INDEX_KG = MappingProxyType(
    {FIRST_INDEX + n: float(kg) for n, kg in enumerate(_KG.split())}
)
"""Load index to kg, 120 to 180, as printed in public tyre code (seen second-hand)."""

SPEED_KMH = MappingProxyType(
    {
        "A8": 40.0,
        "B": 50.0,
        "G": 90.0,
        "J": 100.0,
        "K": 110.0,
        "L": 120.0,
        "M": 130.0,
        "N": 140.0,
        "P": 150.0,
        "Q": 160.0,
        "R": 170.0,
        "S": 180.0,
    }
)
"""Speed symbol to km/h; D, E and F stay out, for no source was seen for them."""

EXPONENTS = (0.7, 0.8, 1.0)
"""By which load goes with pressure: US and European practice, and a straight line."""

LEAST_SHARE = 0.5
"""Below half the reference pressure the power law says nothing. Our choice."""


def load_at_kg(rated_kg: float, share: float, n: float) -> float:
    """Load that a share of the reference pressure carries: rated x share^n.

    >>> round(load_at_kg(5000, 450 / 760, 0.8))
    3288
    """
    return float(rated_kg * share**n)


def pressure_for_kpa(rated_kpa: float, share: float, n: float) -> float:
    """Pressure for a share of the rated load: reference x share^(1/n).

    >>> round(pressure_for_kpa(760, 3500 / 5000, 0.8), 1)
    486.6
    """
    return float(rated_kpa * share ** (1 / n))


def chord_mm(radius_mm: float, deflection_mm: float) -> float:
    """Length of the print of a round tyre pressed flat by so much.

    >>> round(chord_mm(629, 45), 1)
    467.3
    """
    return 2 * math.sqrt(2 * radius_mm * deflection_mm - deflection_mm**2)


def sagitta_mm(radius_mm: float, length_mm: float) -> float:
    """How far a round tyre is pressed flat over a print of that length.

    >>> round(sagitta_mm(629, 467.3), 1)
    45.0
    """
    return radius_mm - math.sqrt(radius_mm**2 - length_mm**2 / 4)


def _load_index(values: Values) -> list[Figure]:
    index = values["index"]
    if index not in LOAD_INDEX_KG:
        raise SheetError("a load index is a whole number; read the sidewall again")
    load = LOAD_INDEX_KG[int(index)]
    return [
        Figure("load", load, "kg", "printed table, one tyre at its reference pressure"),
        Figure("two on an axle", 2 * load, "kg", "single tyres"),
        Figure("force", load * GRAVITY / 1000, "kN", "load x 9.80665"),
    ]


LOAD_INDEX = Sheet(
    name="load-index",
    about="What load a tyre's load index stands for.",
    inputs=(
        Input(
            "index",
            "",
            FIRST_INDEX,
            180,
            "number on the sidewall; of two, the first is for single tyres, the second "
            "for twins",
        ),
    ),
    work=_load_index,
    formula=("from the printed table, 120 to 180",),
    holds="At the pressure and speed that go with the marking. Axle, rim and wheel may "
    "bear less; the lowest plate counts.",
    sources=(
        "load index table as printed in two public collections of tyre data, which "
        "agree (seen second-hand)",
    ),
    example=("index=164",),
)


def _speed(values: Values) -> list[Figure]:
    return [Figure("speed", values["symbol"], "km/h", "printed table")]


SPEED_SYMBOL = Sheet(
    name="speed-symbol",
    about="What speed the letter after a tyre's load index stands for.",
    inputs=(Input("symbol", "", 40, 180, "letter", choices=SPEED_KMH),),
    work=_speed,
    formula=("from the printed table",),
    holds="At road pressure. A tyre let down for soft ground has a lower limit, which "
    "its maker states.",
    sources=(
        "A8 and B: a tractor's tyre page; G to S: tyre makers' and dealers' pages "
        "(seen)",
    ),
    example=("symbol=G",),
)


def _load(values: Values) -> list[Figure]:
    # more than the reference pressure carries no more than the rated load
    share = min(values["pressure"] / values["ratedpressure"], 1)
    if share < LEAST_SHARE:
        raise SheetError(
            "below half of ratedpressure there is no safe sum: use the tyre maker's "
            "table"
        )
    loads = [load_at_kg(values["ratedload"], share, n) for n in EXPONENTS]
    by = "ratedload x (pressure / ratedpressure)^n"
    return [
        Figure("load", min(loads), "kg", "the lowest of the three"),
        *(
            Figure(f"load if n {n:g}", load, "kg", by)
            for n, load in zip(EXPONENTS, loads, strict=True)
        ),
        Figure("share", 100 * share, "%", "pressure / ratedpressure, at most 100"),
    ]


def _pressure(values: Values) -> list[Figure]:
    share = values["load"] / values["ratedload"]
    if share > 1:
        raise SheetError("the load is above ratedload: no pressure helps, take it off")
    rated = values["ratedpressure"]
    needed = [pressure_for_kpa(rated, share, n) for n in EXPONENTS]
    by = "ratedpressure x (load / ratedload)^(1/n)"
    return [
        Figure(
            "pressure",
            max(*needed, LEAST_SHARE * rated),
            "kPa",
            "the highest of the three, never below half of ratedpressure",
        ),
        *(
            Figure(f"pressure if n {n:g}", kpa, "kPa", by)
            for n, kpa in zip(EXPONENTS, needed, strict=True)
        ),
        Figure("share", 100 * share, "%", "load / ratedload"),
    ]


_RATED = (
    Input("ratedload", "kg", 100, 12_000, "of one tyre, marked or by load-index"),
    Input("ratedpressure", "kPa", 100, 1200, "that goes with ratedload, cold"),
)
_LAW_HOLDS = (
    "Cold, at marked speed, from half to all of the reference pressure. An estimate, "
    "no permission: the tyre maker's table overrules it. Tyres run as twins carry "
    "about 9 % less each, so use the rating for twins."
)
_LAW_SOURCES = (
    "load goes as pressure^n; n 0.8: public tyre code after European practice (seen)",
    "n 0.7 fits a printed light-truck row within 0.8 % (seen)",
    "n 1, a straight line: a published abstract calls for more pressure at part load "
    "than common rules (seen second-hand)",
    "lowest load, highest pressure, and no less than half (our choice)",
)

TYRE_LOAD = Sheet(
    name="tyre-load",
    about="How much load a tyre carries at a pressure below its reference.",
    inputs=(Input("pressure", "kPa", 1, 1200, "gauge, cold", error=7), *_RATED),
    work=_load,
    formula=("load = ratedload x (pressure / ratedpressure)^n, n = 0.7, 0.8, 1",),
    holds=_LAW_HOLDS,
    sources=_LAW_SOURCES,
    example=("pressure=450kPa", "ratedload=5000kg", "ratedpressure=760kPa"),
)

TYRE_PRESSURE = Sheet(
    name="tyre-pressure",
    about="The least road pressure for a load on a tyre.",
    inputs=(
        Input("load", "kg", 50, 12_000, "on this tyre, weighed", error=50),
        *_RATED,
    ),
    work=_pressure,
    formula=("pressure = ratedpressure x (load / ratedload)^(1/n), n = 0.7, 0.8, 1",),
    holds=_LAW_HOLDS,
    sources=_LAW_SOURCES,
    example=("load=3500kg", "ratedload=5000kg", "ratedpressure=760kPa"),
)


def _newton(values: Values) -> float:
    return values["load"] * GRAVITY


def _ground(values: Values) -> list[Figure]:
    area = values["length"] * values["width"] * values["share"]
    return [
        Figure("ground pressure", _newton(values) / area * 1000, "kPa", "load / area"),
        Figure("area", area / 100, "cm2", "length x width x share"),
    ]


LOAD = Input("load", "kg", 50, 15_000, "on this tyre, weighed", error=50)

GROUND_PRESSURE = Sheet(
    name="ground-pressure",
    about="What one tyre presses on the ground with, from its measured print.",
    inputs=(
        LOAD,
        Input("length", "mm", 20, 1500, "of the print", error=10),
        Input("width", "mm", 50, 900, "of the print", error=5),
        Input("share", "", 0.3, 1, "of that box which touches", 0.85, error=0.05),
    ),
    work=_ground,
    formula=("ground pressure = load x 9.80665 / (length x width x share)",),
    holds="Mean over the print on hard ground; lugs and the edges press harder.",
    sources=(
        "force over area (definition)",
        "share 0.8 to 0.9 of the box (our choice)",
    ),
    example=("load=3500kg", "length=390mm", "width=320mm"),
)

CREDIBLE = 0.30
"""Share of the wall height past which the carcass, not air, carries. Our choice."""


def _print(values: Values) -> list[Figure]:
    area = _newton(values) / values["pressure"] * 1000
    length = area / values["width"]
    radius = values["diameter"] / 2
    wall = radius - values["rim"] * INCH_MM / 2
    if wall <= 0:
        raise SheetError("the tyre must be larger than its rim: rim is in inches")
    if length >= 2 * radius or sagitta_mm(radius, length) > CREDIBLE * wall:
        raise SheetError(
            "so little air cannot carry that load alone: measure the print instead"
        )
    sag = sagitta_mm(radius, length)
    return [
        Figure("length", length, "mm", "area / width"),
        Figure("area", area / 100, "cm2", "load x 9.80665 / pressure"),
        Figure("deflection", sag, "mm", "radius - root of (radius^2 - length^2 / 4)"),
        Figure("share of the wall", 100 * sag / wall, "%", "deflection / wall height"),
    ]


_DIAMETER = Input("diameter", "mm", 400, 2200, "over the tread, unloaded", error=5)
_RIM = Input("rim", "", 12, 30, "rim diameter code in inches, such as 20 or 22.5")
_TREAD = Input("width", "mm", 50, 900, "of the tread on the ground", error=5)

TYRE_PRINT = Sheet(
    name="tyre-print",
    about="First estimate of a tyre's print: area is load over pressure.",
    inputs=(
        LOAD,
        Input("pressure", "kPa", 20, 1200, "gauge now", error=7),
        _TREAD,
        _DIAMETER,
        _RIM,
    ),
    work=_print,
    formula=("area = load x 9.80665 / pressure", "length = area / width"),
    holds="As if the tyre were a bag: the carcass carries some too, and the true print "
    "is longer at road pressure. Refused past 30 % deflection.",
    sources=(
        "area = load / pressure as a first estimate, with a carcass term on top: NBS "
        "Monograph 122, eq. 5.9 (seen second-hand)",
        "no further than 30 % of the wall (our choice)",
    ),
    example=("load=3500kg", "pressure=40psi", "width=320", "diameter=1258", "rim=20"),
)


def _deflection(values: Values) -> list[Figure]:
    radius = values["diameter"] / 2
    sag = radius - values["loaded"]
    wall = radius - values["rim"] * INCH_MM / 2
    if not 0 < sag < wall:
        raise SheetError("loaded must lie between the rim and half of diameter")
    length = chord_mm(radius, sag)
    figures = [
        Figure("deflection", 100 * sag / wall, "%", "drop / wall height"),
        Figure("drop", sag, "mm", "diameter / 2 - loaded"),
        Figure("length", length, "mm", "2 x root of (2 x radius x drop - drop^2)"),
    ]
    if "width" in values:
        area = length * values["width"] * values["share"]
        figures.append(Figure("area", area / 100, "cm2", "length x width x share"))
    return figures


TYRE_DEFLECTION = Sheet(
    name="tyre-deflection",
    about="How far a loaded tyre is pressed in, and how long its print is.",
    inputs=(
        _DIAMETER,
        _RIM,
        Input("loaded", "mm", 150, 1100, "hub centre to ground", error=5),
        Input("width", "mm", 50, 900, "of the tread", optional=True, error=5),
        Input("share", "", 0.3, 1, "of that box which touches", 0.85, error=0.05),
    ),
    work=_deflection,
    formula=(
        "deflection = (diameter / 2 - loaded) / wall height",
        "length = chord of the free tyre at the ground",
    ),
    holds="Hard, level ground, wheels straight. On a stiff belt the chord is 10 to "
    "20 % too long. The tyre maker says what deflection goes with what speed.",
    sources=(
        "chord of a circle (definition)",
        "stiff belts shorten it (common practice, no source)",
    ),
    example=("diameter=1258mm", "rim=20", "loaded=569mm", "width=320mm"),
)

SHEETS = (
    LOAD_INDEX,
    SPEED_SYMBOL,
    TYRE_LOAD,
    TYRE_PRESSURE,
    GROUND_PRESSURE,
    TYRE_PRINT,
    TYRE_DEFLECTION,
)
