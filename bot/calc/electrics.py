"""Cables, coils and fuses: where volts are lost and how to find the place.

All functions take and give plain floats in the units that their names end in; the
length of a cable run is always counted out and back.
"""

import math
from collections.abc import Sequence
from types import MappingProxyType

from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values

COPPER = 0.017241
"""Annealed copper at 20 degC, ohm mm2/m. Source: IEC 60028 (seen second-hand)."""

PER_KELVIN = 0.00393
"""Rise of copper's resistance a kelvin, from 20 degC. Source: as COPPER."""

SOLID, STRANDED, FLEXIBLE = 1.0, 2.0, 5.0
"""What a cable is made of; the last two are the classes of IEC 60228."""

CORES = MappingProxyType({"solid": SOLID, "stranded": STRANDED, "flexible": FLEXIBLE})

OHM_KM = MappingProxyType(
    {
        0.75: (24.5, 26.0),
        1.0: (18.1, 19.5),
        1.5: (12.1, 13.3),
        2.5: (7.41, 7.98),
        4.0: (4.61, 4.95),
        6.0: (3.08, 3.30),
        10.0: (1.83, 1.91),
        16.0: (1.15, 1.21),
        25.0: (0.727, 0.780),
        35.0: (0.524, 0.554),
        50.0: (0.387, 0.386),
        70.0: (0.268, 0.272),
        95.0: (0.193, 0.206),
        120.0: (0.153, 0.161),
    }
)
"""Most ohm/km at 20 degC, plain copper, class 2 and class 5, by nominal mm2.

Source: IEC 60228, three cable makers' copies that agree (seen).
"""

GAUGES = MappingProxyType(
    {str(number): float(number) for number in (20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1)}
    | {"1/0": 0.0, "2/0": -1.0, "3/0": -2.0, "4/0": -3.0}
)
"""American wire gauge numbers as they are written; 1/0 counts as 0, 2/0 as -1."""


def between(points: Sequence[tuple[float, float]], at: float) -> float:
    """A table read in straight lines; its end values hold beyond its ends.

    Args:
        points: pairs that rise in their first number.
        at: where to read.

    >>> between(((0, 10), (2, 20)), 1), between(((0, 10), (2, 20)), 9)
    (15.0, 20)
    """
    if at <= points[0][0]:
        return points[0][1]
    for number in range(1, len(points)):
        (left, low), (right, high) = points[number - 1], points[number]
        if at <= right:
            return low + (high - low) * (at - left) / (right - left)
    return points[-1][1]


def warmed(celsius: float) -> float:
    """Copper's resistance at a temperature, as a multiple of that at 20 degC.

    Source: IEC 60028 (seen second-hand); good from -50 to 150 degC.

    >>> round(warmed(80), 4)
    1.2358
    """
    return 1 + PER_KELVIN * (celsius - 20)


def gauge_mm2(gauge: float) -> float:
    """Copper area of a gauge number: d = 0.127 mm x 92^((36 - n) / 39).

    Source: ASTM B258 (seen second-hand).

    >>> round(gauge_mm2(12), 3)
    3.309
    """
    across = 0.127 * math.pow(92, (36 - gauge) / 39)
    return math.pi * across**2 / 4


def ohm_m(area_mm2: float, core: float) -> float:
    """Resistance of one metre of cable at 20 degC.

    Solid is copper alone; the other cores are read from `OHM_KM` as resistance times
    area, which moves little from size to size.

    >>> round(ohm_m(35, FLEXIBLE), 6)
    0.000554
    """
    if core == SOLID:
        return COPPER / area_mm2
    column = 0 if core == STRANDED else 1
    products = [(size, size * row[column] / 1000) for size, row in OHM_KM.items()]
    return between(products, area_mm2) / area_mm2


def _drop(values: Values, ohm_each_m: float) -> list[Figure]:
    """Figures of a cable run, the drop first."""
    loop = ohm_each_m * warmed(values["temperature"]) * values["length"]
    drop = loop * values["current"]
    figures = [
        Figure("drop", drop, "V", "current x loop resistance"),
        Figure("loop resistance", loop, "ohm", "cable at its temperature"),
        Figure("heat in the cable", drop * values["current"], "W", "drop x current"),
    ]
    if "supply" in values:
        if drop >= values["supply"]:
            raise SheetError(
                "this cable would eat the whole supply; check current, length and size"
            )
        share = drop / values["supply"] * 100
        figures.append(Figure("share of supply", share, "%", "drop / supply"))
    return figures + _joint(values, drop)


FAR_BELOW = 0.6
"""A measured drop under this share of the computed one is a wrong input: a table's most
ohms lie up to 16 % over bare copper, and a hard frost takes 24 %. Our choice."""


def _joint(values: Values, drop: float) -> list[Figure]:
    """What a joint loses: the measured drop less that of the cable."""
    if "measured" not in values:
        return []
    if values["measured"] < FAR_BELOW * drop:
        raise SheetError(
            "the measured drop is far below what the cable alone must lose; check "
            "current, length and size, and measure again under load"
        )
    extra = max(0.0, values["measured"] - drop)
    current = values["current"]
    return [
        Figure("extra drop", extra, "V", "measured - drop, not under 0"),
        Figure("extra resistance", extra / current, "ohm", "extra drop / current"),
        Figure("heat in the joint", extra * current, "W", "extra drop x current"),
    ]


def _volt_drop(values: Values) -> list[Figure]:
    return _drop(values, ohm_m(values["area"], values["core"]))


def _volt_drop_awg(values: Values) -> list[Figure]:
    area = gauge_mm2(values["gauge"])
    figures = _drop(values, COPPER / area)
    return [*figures, Figure("area", area, "mm2", "from the gauge number")]


LENGTH = Input("length", "m", 0.05, 200, "cable run, out and back together", error=0.05)
CURRENT = Input("current", "A", 0.01, 3000, "current that flows", error=0.1)
WARMTH = Input("temperature", "degC", -50, 150, "of the copper", 20, error=5)
CORE = Input(
    "core",
    "",
    1,
    5,
    "solid is copper alone, flexible the usual cable on a truck",
    FLEXIBLE,
    choices=CORES,
)
_RUN = (
    LENGTH,
    CURRENT,
    WARMTH,
    Input("supply", "V", 1, 60, "supply, for the share", optional=True),
    Input("measured", "V", 0, 60, "drop measured", optional=True, error=0.02),
)
_COPPER_SOURCES = (
    "copper 0.017241 ohm mm2/m at 20 degC, 0.00393 a kelvin: IEC 60028 as restated in "
    "several texts (seen second-hand)",
    "drop = current x resistance: Ohm's law (law of physics)",
)
_TABLE_SOURCE = "most ohm/km of each size: IEC 60228 in three agreeing copies (seen)"

VOLT_DROP = Sheet(
    name="volt-drop",
    about="Volts lost along a cable, and in a bad joint when the drop was measured.",
    inputs=(Input("area", "mm2", 0.2, 300, "copper area of one core"), *_RUN, CORE),
    work=_volt_drop,
    formula=(
        "drop = current x length x ohm a metre x [1 + 0.00393 (temperature - 20)]",
        "extra resistance = (measured - drop) / current",
    ),
    holds="Direct current, one size of cable all the way, length out AND back. The "
    "table gives the most ohms that a sound cable may have, so the true drop is a "
    "little lower; where the frame is the return, give the cable's length alone.",
    sources=(
        *_COPPER_SOURCES,
        _TABLE_SOURCE,
        "other sizes by straight lines of ohm times area, ends held (our choice)",
    ),
    example=("area=2.5", "length=16m", "current=10A", "supply=24V", "measured=1.8V"),
)

VOLT_DROP_AWG = Sheet(
    name="volt-drop-awg",
    about="Volts lost along a cable of a wire gauge number (AWG), and in a bad joint.",
    inputs=(
        Input("gauge", "", -3, 20, "AWG number such as 12 or 2/0", choices=GAUGES),
        *_RUN,
    ),
    work=_volt_drop_awg,
    formula=(
        "diameter = 0.127 mm x 92^((36 - n) / 39)",
        "drop = current x length x 0.017241 / area x [1 + 0.00393 (temperature - 20)]",
    ),
    holds="Solid copper of the full gauge area; a stranded cable has a few percent "
    "more resistance. Direct current, length out AND back.",
    sources=(*_COPPER_SOURCES, "gauge rule: ASTM B258 (seen second-hand)"),
    example=("gauge=2/0", "length=6m", "current=600A"),
)


def _cable_area(values: Values) -> list[Figure]:
    ampere_m = values["current"] * values["length"] * warmed(values["temperature"])
    least = COPPER * ampere_m / values["drop"]
    figures = [Figure("least area", least, "mm2", "copper alone")]
    enough = (
        size
        for size in OHM_KM
        if ohm_m(size, values["core"]) * ampere_m <= values["drop"]
    )
    size = next(enough, None)
    if size is not None:
        figures += [
            Figure("size to fit", size, "mm2", "least table size that keeps the drop"),
            Figure(
                "its drop", ohm_m(size, values["core"]) * ampere_m, "V", "by the table"
            ),
        ]
    return figures


CABLE_AREA = Sheet(
    name="cable-area",
    about="Least cable for a permitted volt drop.",
    inputs=(
        Input("drop", "V", 0.005, 12, "volts that may be lost, out and back"),
        Input("length", "m", 0.05, 200, "cable run, out and back together"),
        Input("current", "A", 0.01, 3000, "most current that flows"),
        Input("temperature", "degC", -50, 150, "hottest the copper gets", 20),
        CORE,
    ),
    work=_cable_area,
    formula=(
        "least area = 0.017241 x length x current x [1 + 0.00393 (temperature - 20)] "
        "/ drop",
    ),
    holds="For the drop alone: whether the cable stays cool and its fuse protects it "
    "is another question, which the cable maker's table answers. No size to fit is "
    "named past 120 mm2.",
    sources=(*_COPPER_SOURCES, _TABLE_SOURCE),
    example=("drop=0.5V", "length=6m", "current=400A"),
)


COUNTS = MappingProxyType({str(number): float(number) for number in range(10)})
"""How many of a thing: whole numbers only."""


def _fuse(values: Values) -> list[Figure]:
    return [
        Figure("share of rating", values["load"] / values["fuse"] * 100, "%", "A / A"),
        Figure("spare", values["fuse"] - values["load"], "A", "fuse - load"),
    ]


def _fuse_limits(_: Values) -> list[Limit]:
    says = "the trade keeps steady loads under so much; a larger fuse is no answer"
    return [Limit(80, Side.BELOW, says, clears=False)]


FUSE = Sheet(
    name="fuse-share",
    about="How much of a fuse's rating a steady load takes.",
    inputs=(
        Input("load", "A", 0.01, 1000, "steady current", error=0.1),
        Input("fuse", "A", 0.1, 1000, "fuse rating"),
    ),
    work=_fuse,
    formula=("share = load / fuse",),
    holds="Steady loads near 25 degC; a hot fuse box carries less. The trade keeps "
    "steady loads to 70-80 % of the rating. A fuse protects the cable: never fit a "
    "larger one to stop it blowing.",
    sources=(
        "share = load / rating (definition)",
        "70-80 % for steady loads (common practice, no source)",
    ),
    example=("load=11A", "fuse=15A"),
    limits=_fuse_limits,
)


def _coil(values: Values) -> list[Figure]:
    warm = warmed(values["temperature"])
    expected = values["volts"] ** 2 / values["power"] * warm
    figures = [
        Figure("expected resistance", expected, "ohm", "volts^2 / W, warmed"),
        Figure("current", values["volts"] / expected, "A", "volts / resistance"),
        Figure("resistance at 20 degC", expected / warm, "ohm", "volts^2 / W"),
    ]
    if "measured" in values:
        share = values["measured"] / expected * 100
        figures.append(Figure("share of expected", share, "%", "measured / expected"))
    return figures


def _coil_limits(values: Values) -> list[Limit]:
    if "measured" not in values:
        return []
    low = "under it turns are shorted, or it is a coil for a lower voltage; our choice"
    high = "over it a joint is bad, or it is a coil for a higher voltage; our choice"
    of = "share of expected"
    return [
        Limit(70, Side.ABOVE, low, clears=False, of=of),
        Limit(140, Side.BELOW, high, clears=False, of=of),
    ]


COIL = Sheet(
    name="coil-resistance",
    about="Resistance and current of a coil from its rating, at its temperature.",
    inputs=(
        Input("volts", "V", 5, 60, "rated voltage", 24),
        Input("power", "W", 0.1, 3000, "rated power"),
        Input("temperature", "degC", -50, 200, "of the winding", 20, error=5),
        Input("measured", "ohm", 0, 10_000, "measured", optional=True, error=0.2),
    ),
    work=_coil,
    formula=(
        "resistance = volts^2 / power x [1 + 0.00393 (temperature - 20)]",
        "current = volts / resistance",
    ),
    holds="Copper winding, direct current, rating at 20 degC. A quarter of the "
    "expected resistance is a 12 V coil in a 24 V place, four times it the other way "
    "about; endless is a broken wire. Lamps and heaters rise far more as they warm.",
    sources=(
        "resistance = volts^2 / power (law of physics)",
        _COPPER_SOURCES[0],
        "rating taken at 20 degC, 70 and 140 % of it as bounds (our choice)",
    ),
    example=("volts=24V", "power=20W", "temperature=80degC", "measured=34.8ohm"),
    limits=_coil_limits,
)

SHEETS = (VOLT_DROP, VOLT_DROP_AWG, CABLE_AREA, COIL, FUSE)
