"""Cables, coils and fuses: where volts are lost and how to find the place.

The length of a cable run is always counted out and back.
"""

from types import MappingProxyType

from bot.calc.copper import (
    COPPER,
    CORES,
    CRANKING,
    FLEXIBLE,
    GAUGES,
    OHM_KM,
    SOLID,
    STEADY,
    densest,
    gauge_mm2,
    ohm_m,
    warmed,
)
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values


def _density(values: Values, area: float) -> Figure:
    return Figure("amperes a mm2", values["current"] / area, "", "current / area")


def _heat_limits(values: Values, area: float) -> list[Limit]:
    """What keeps a cable from burning, which no drop tells."""
    return [
        Limit(
            densest(area, values["flow"]),
            Side.BELOW,
            "our choice, from common practice",
            clears=False,
            of="amperes a mm2",
            doubt="take thicker cable",
            because="heat depends on where it lies: see the maker's table",
            do="it overheats and may burn; take thicker cable, or say flow=cranking "
            "for a starter's seconds",
        )
    ]


def _drop(values: Values, ohm_each_m: float, area: float) -> list[Figure]:
    """Figures of a cable run, the drop first."""
    loop = ohm_each_m * warmed(values["temperature"]) * values["length"]
    drop = loop * values["current"]
    figures = [
        Figure("drop", drop, "V", "current x loop resistance"),
        Figure("loop resistance", loop, "ohm", "cable at its temperature"),
        Figure("heat in the cable", drop * values["current"], "W", "drop x current"),
        _density(values, area),
    ]
    if "supply" in values:
        if drop >= values["supply"]:
            raise SheetError(
                "this cable would eat the whole supply; check current, length and size"
            )
        share = drop / values["supply"] * 100
        figures.append(Figure("share of supply", share, "%", "drop / supply"))
    return figures + _joint(values, drop, drop * ohm_m(area, SOLID) / ohm_each_m)


FAR_BELOW = 0.9
"""A measured drop under this share of bare copper's is a wrong input. Our choice."""

UNSAID_V = 12.0
"""A supply that was not given is taken so low, to ask rather than to believe."""


def _joint(values: Values, drop: float, bare: float) -> list[Figure]:
    """What a joint loses: the measured drop less that of the cable.

    A sound cable's own drop lies between that of bare copper and the table's.
    """
    if "measured" not in values:
        return []
    measured, current = values["measured"], values["current"]
    if measured > values.get("supply", UNSAID_V) / 2:
        raise SheetError(
            "so large a drop looks like the volts at the lamp; give measured as supply "
            "less those, and give supply too"
        )
    if measured < FAR_BELOW * bare:
        raise SheetError(
            "the measured drop is far below what bare copper must lose; check current, "
            "length, size and temperature, and measure again under load"
        )
    extra = measured - bare
    figures = [
        Figure("extra drop at most", extra, "V", "measured - bare copper's drop"),
        Figure("extra resistance", extra / current, "ohm", "the most / current"),
        Figure("heat in the joint", extra * current, "W", "the most x current"),
    ]
    if drop > bare:
        least = Figure("extra drop at least", measured - drop, "V", "measured - drop")
        figures.insert(1, least)
    return figures


def _volt_drop(values: Values) -> list[Figure]:
    return _drop(values, ohm_m(values["area"], values["core"]), values["area"])


def _volt_drop_awg(values: Values) -> list[Figure]:
    area = gauge_mm2(values["gauge"])
    figures = _drop(values, ohm_m(area, SOLID), area)
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
_FLOW = Input(
    "flow",
    "",
    0,
    1,
    "steady, or cranking for a starter's seconds",
    STEADY,
    choices=MappingProxyType({"steady": STEADY, "cranking": CRANKING}),
)
_RUN = (
    LENGTH,
    _FLOW,
    CURRENT,
    WARMTH,
    Input("supply", "V", 1, 60, "supply, for the share", optional=True),
    Input("measured", "V", 0, 60, "drop, end to end", optional=True, error=0.02),
)
_COPPER_SOURCES = (
    (
        "copper 0.017241 ohm mm2/m at 20 degC, 0.00393 a kelvin: iec-60028, "
        "as restated in several texts"
    ),
    "drop = current x resistance: worked-out, Ohm's law",
)
_HEAT_SOURCES = (
    "10 A a mm2 to 2.5 mm2, 5 from 16 mm2, steady: common-practice",
    "15 for a starter's 30 s: our-choice",
)
_TABLE_SOURCE = "most ohm/km of each size: iec-60228, three agreeing copies"

VOLT_DROP = Sheet(
    name="volt-drop",
    about="Volts lost along a cable, and in a bad joint when the drop was measured.",
    inputs=(Input("area", "mm2", 0.2, 300, "copper area of one core"), *_RUN, CORE),
    work=_volt_drop,
    formula=(
        "drop = current x length x ohm a metre x [1 + 0.00393 (temperature - 20)]",
        "extra drop = measured - drop, from bare copper's to the table's",
    ),
    holds="Direct current, one size of cable all the way, length out AND back. The "
    "table gives the most ohms that a sound cable may have, up to 16 % over bare "
    "copper; where the frame is the return, give the cable's length alone.",
    sources=(
        *_COPPER_SOURCES,
        _TABLE_SOURCE,
        *_HEAT_SOURCES,
        ("other sizes by straight lines of ohm times area, ends held: our-choice"),
    ),
    example=("area=2.5", "length=16m", "current=10A", "supply=24V", "measured=1.8V"),
    limits=lambda values: _heat_limits(values, values["area"]),
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
    sources=(
        *_COPPER_SOURCES,
        "gauge rule: astm-b258",
        *_HEAT_SOURCES,
    ),
    example=("gauge=2/0", "length=6m", "current=600A", "flow=cranking"),
    limits=lambda values: _heat_limits(values, gauge_mm2(values["gauge"])),
)


def _ampere_m(values: Values) -> float:
    return values["current"] * values["length"] * warmed(values["temperature"])


def _least_area(values: Values) -> float:
    return COPPER * _ampere_m(values) / values["drop"]


def _table_drop(values: Values, size: float) -> float:
    return ohm_m(size, values["core"]) * _ampere_m(values)


def _fits(values: Values, size: float) -> bool:
    cool = values["current"] <= size * densest(size, values["flow"])
    return cool and _table_drop(values, size) <= values["drop"]


def _cable_area(values: Values) -> list[Figure]:
    least = _least_area(values)
    figures = [
        Figure("least area", least, "mm2", "copper alone, for the drop alone"),
        _density(values, least),
    ]
    size = next((size for size in OHM_KM if _fits(values, size)), None)
    if size is not None:
        drop = _table_drop(values, size)
        figures += [
            Figure("size to fit", size, "mm2", "least of the table for drop and heat"),
            Figure("its drop", drop, "V", "by the table"),
        ]
    return figures


CABLE_AREA = Sheet(
    name="cable-area",
    about="Least cable for a permitted volt drop.",
    inputs=(
        Input("drop", "V", 0.005, 12, "volts that may be lost, out and back"),
        Input("length", "m", 0.05, 200, "cable run, out and back together"),
        Input("current", "A", 0.01, 3000, "most current that flows"),
        Input("temperature", "degC", -50, 150, "hottest the copper gets", 60),
        CORE,
        _FLOW,
    ),
    work=_cable_area,
    formula=(
        "least area = 0.017241 x length x current x [1 + 0.00393 (temperature - 20)] "
        "/ drop",
    ),
    holds="The least area is for the drop alone; the size to fit keeps a rough bound "
    "on heat too, but the cable maker's table comes first, and the fuse must protect "
    "the cable. No size to fit is named past 120 mm2.",
    sources=(*_COPPER_SOURCES, _TABLE_SOURCE, *_HEAT_SOURCES),
    example=("drop=0.5V", "length=6m", "current=400A", "flow=cranking"),
    limits=lambda values: _heat_limits(values, _least_area(values)),
    cautions=(
        "WARNING: a cable that is too thin, or not fused for its size, sets the truck "
        "on fire. Battery off before you touch a cable.",
    ),
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
        "share = load / rating: worked-out, definition",
        "70-80 % for steady loads: common-practice",
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
        "resistance = volts^2 / power: worked-out, Ohm's law",
        _COPPER_SOURCES[0],
        "rating taken at 20 degC, 70 and 140 % of it as bounds: our-choice",
    ),
    example=("volts=24V", "power=20W", "temperature=80degC", "measured=34.8ohm"),
    limits=_coil_limits,
)

SHEETS = (VOLT_DROP, VOLT_DROP_AWG, CABLE_AREA, COIL, FUSE)
