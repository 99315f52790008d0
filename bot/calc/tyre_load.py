"""Loads on tyres: pressure for a load, and what the ground has to bear.

Pressures are gauge, loads are masses in kg as the trade weighs them.
"""

import math

from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.calc.tyre_size import RIM
from bot.units import GRAVITY, INCH_MM

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


def _load(values: Values) -> list[Figure]:
    filled = values["pressure"] / values["ratedpressure"]
    # more than the reference pressure carries no more than the rated load
    share = min(filled, 1)
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
        Figure("share", 100 * filled, "%", "pressure / ratedpressure"),
        *_as_it_is(values),
    ]


def _as_it_is(values: Values) -> list[Figure]:
    """The load on the tyre and the pressure in it, so that limits can be told."""
    return [
        Figure(f"{name} now", values[name], unit, "as given")
        for name, unit in (("load", "kg"), ("pressure", "kPa"))
        if name in values
    ]


def _load_limits(values: Values) -> list[Limit]:
    limits = _overfilled(values)
    mend = "take load off, no air helps" if limits else _MEND
    if "load" in values:
        limits.append(
            Limit(
                _load(values)[0].value,
                Side.BELOW,
                "what that pressure carries",
                clears=False,
                of="load now",
                doubt=f"take it as too much: {mend}",
                because=_NO_TABLE,
                do=mend,
            )
        )
    return limits


_NO_TABLE = "an estimate; the tyre maker's table decides"
_MEND = "take load off, or add air once fill-again allows it"


_OVER = "read the most marked on tyre and rim; over that let out, when cold"


def _overfilled(values: Values) -> list[Limit]:
    """That a tyre holds more than its marking, where it does."""
    if values.get("pressure", 0.0) <= values["ratedpressure"]:
        return []
    return [
        Limit(
            values["ratedpressure"],
            Side.BELOW,
            "the pressure that goes with ratedload",
            clears=False,
            of="pressure now",
            doubt=_OVER,
            do=_OVER,
        )
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
        *_as_it_is(values),
    ]


def _pressure_limits(values: Values) -> list[Limit]:
    limits = _overfilled(values)
    if "pressure" in values:
        limits.append(
            Limit(
                _pressure(values)[0].value,
                Side.ABOVE,
                "what that load needs",
                clears=False,
                of="pressure now",
                doubt=f"take it as too soft: {_MEND}",
                because=_NO_TABLE,
                do=_MEND,
            )
        )
    return limits


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
    (
        "load goes as pressure^n, n 0.8: open-vehicle-library, tyre load by "
        "pressure, after European practice"
    ),
    (
        "n 0.7 fits a light-truck row within 0.8 %: common-practice, a "
        "printed row that cannot be named"
    ),
    (
        "n 1, a straight line: daws-2009, abstract calls for more pressure at "
        "part load than common rules"
    ),
    "lowest load, highest pressure, and no less than half: our-choice",
)

TYRE_LOAD = Sheet(
    name="tyre-load",
    about="How much load a tyre carries at a pressure below its reference.",
    inputs=(
        Input("pressure", "kPa", 1, 1200, "gauge, cold", error=7),
        *_RATED,
        Input("load", "kg", 50, 12_000, "on it now, weighed", optional=True, error=50),
    ),
    work=_load,
    limits=_load_limits,
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
        Input("pressure", "kPa", 1, 1200, "in it now, cold", optional=True, error=7),
    ),
    work=_pressure,
    limits=_pressure_limits,
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
        "force over area: worked-out, definition",
        "share 0.8 to 0.9 of the box: our-choice",
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
_TREAD = Input("width", "mm", 50, 900, "of the tread on the ground", error=5)

TYRE_PRINT = Sheet(
    name="tyre-print",
    about="First estimate of a tyre's print: area is load over pressure.",
    inputs=(
        LOAD,
        Input("pressure", "kPa", 20, 1200, "gauge now", error=7),
        _TREAD,
        _DIAMETER,
        RIM,
    ),
    work=_print,
    formula=("area = load x 9.80665 / pressure", "length = area / width"),
    holds="As if the tyre were a bag: the carcass carries some too, and the true print "
    "is longer at road pressure. Refused past 30 % deflection.",
    sources=(
        (
            "area = load / pressure as a first estimate, with a carcass term on "
            "top: nbs-monograph-122, eq. 5.9, p. 472"
        ),
        "no further than 30 % of the wall: our-choice",
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
        RIM,
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
        "chord of a circle: worked-out, definition",
        "stiff belts shorten it: common-practice",
    ),
    example=("diameter=1258mm", "rim=20", "loaded=569mm", "width=320mm"),
)

SHEETS = (
    TYRE_LOAD,
    TYRE_PRESSURE,
    GROUND_PRESSURE,
    TYRE_PRINT,
    TYRE_DEFLECTION,
)
