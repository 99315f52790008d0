"""Lead-acid batteries: charge, frost, drain, the balance of a pair, and charging.

All functions take and give plain floats in the units that their names end in; tables
are for flooded batteries, one of 12 V, and an acid at 80 degF (26.7 degC).
"""

from types import MappingProxyType

from bot.calc.electrics import between
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values

TWELVE, TWENTY_FOUR = 12.0, 24.0
SYSTEM = Input(
    "system",
    "V",
    12,
    24,
    "one battery (12) or a pair in series (24)",
    TWENTY_FOUR,
    choices=MappingProxyType({"12": TWELVE, "24": TWENTY_FOUR}),
)
BATTERY_CAUTION = (
    "WARNING: batteries give off explosive gas, hold acid, and weld what bridges their "
    "posts. No flame or spark, fresh air, loads off first, goggles and gloves, rings "
    "off; flood acid splashes with water. Never charge or jump a frozen battery."
)

RESTED_V = ((11.89, 0.0), (12.06, 25.0), (12.24, 50.0), (12.45, 75.0), (12.65, 100.0))
"""Charge in % by rested volts, full at 1.265. Source: a maker's service text (seen)."""

OTHER_RESTED_V = ((12.15, 25.0), (12.30, 50.0), (12.45, 75.0), (12.66, 100.0))
"""The same by another table, which does not go lower. Source: trade press (seen)."""

FULL_1265, FULL_1280 = 1.265, 1.280
DENSITY = MappingProxyType(
    {
        FULL_1265: (
            (1.120, 0.0),
            (1.155, 25.0),
            (1.190, 50.0),
            (1.225, 75.0),
            (1.265, 100.0),
        ),
        FULL_1280: (
            (1.130, 0.0),
            (1.190, 25.0),
            (1.220, 50.0),
            (1.250, 75.0),
            (1.280, 100.0),
        ),
    }
)
"""Charge in % by acid density in kg/L at 80 degF, by the density of a full battery.

Sources: a maker's service text (1.265, seen); US Army TM 5-1185 (1.280, seen).
"""

FREEZES = (
    (1.000, 0.0),
    (1.050, -2.8),
    (1.100, -7.2),
    (1.150, -15.0),
    (1.200, -26.7),
    (1.225, -37.2),
    (1.250, -52.2),
    (1.265, -59.4),
    (1.280, -67.8),
)
"""Where acid freezes, degC by density in kg/L, from plain water up.

Sources: US Army TM 5-1185; 1.050, 1.225 and 1.265 from an owner's handbook;
both seen.
"""

PER_DEGREE, AT_C = 0.004 * 9 / 50, (80 - 32) * 5 / 9
"""Density gained a kelvin over 80 degF: 0.004 each 10 degF.

Source: US Army TM 5-1185 table IV (seen).
"""


def true_density(read: float, celsius: float) -> float:
    """A hydrometer's reading put to 80 degF, in the same unit (kg/L).

    Cold acid is denser, so a cold reading is lowered. Source: TM 5-1185 (seen); its
    table runs from -54 to 49 degC.

    >>> round(true_density(1.304, -6.667), 3)
    1.28
    """
    return read + PER_DEGREE * (celsius - AT_C)


def rested_charge(volts: float) -> float:
    """Charge in % of one 12 V battery by its rested volts.

    >>> round(rested_charge(12.35), 1)
    63.1
    """
    return between(RESTED_V, volts)


NO_TABLE_V, NOT_RESTED_V = 8.0, 13.0
"""Outside these a 12 V battery is dead in a cell or still on charge. Our choice."""


def _one_battery(volts: float) -> float:
    """Volts of one 12 V battery, refused where no rested battery can be."""
    if volts > NOT_RESTED_V:
        raise SheetError(
            "over 13 V each a battery is not rested: charger off, loads off, wait hours"
        )
    if volts < NO_TABLE_V:
        raise SheetError(
            "under 8 V each no table reaches; check system (12 or 24), or test for a "
            "dead cell"
        )
    return volts


def _rested(values: Values) -> list[Figure]:
    each = _one_battery(values["volts"] * TWELVE / values["system"])
    figures = [
        Figure("charge", rested_charge(each), "%", "table, full at 12.65 V"),
        Figure("volts each", each, "V", "for one 12 V battery"),
    ]
    if each >= OTHER_RESTED_V[0][0]:
        other = between(OTHER_RESTED_V, each)
        figures.append(Figure("by another table", other, "%", "full at 12.66 V"))
    return figures


RESTED_VOLTS = Sheet(
    name="rested-volts",
    about="State of charge from rested volts.",
    inputs=(Input("volts", "V", 0, 32, "rested, loads off", error=0.02), SYSTEM),
    work=_rested,
    formula=("charge by table, in straight lines; a 24 V pair as two equal halves",),
    holds="Flooded battery near 27 degC, no charge or load for hours (a charge just "
    "ended reads high). Tables differ by an eighth of a charge at 12.15 V. A pair can "
    "hide a bad battery: measure each by itself. Volts tell nothing of capacity.",
    sources=(
        "12.65, 12.45, 12.24, 12.06, 11.89 V: a maker's service text (seen)",
        "12.66, 12.45, 12.30, 12.15 V: trade press (seen)",
        "refused over 13 V and under 8 V each (our choice)",
    ),
    example=("volts=24.7V",),
    cautions=(BATTERY_CAUTION,),
)

_READ = Input("density", "kg/L", 1.0, 1.35, "hydrometer reading", error=0.005)
_ACID_WARMTH = Input("temperature", "degC", -54, 55, "of the acid", AT_C, error=2)


def _acid(values: Values) -> list[Figure]:
    true = true_density(values["density"], values["temperature"])
    charge = between(DENSITY[values["full"]], true)
    return [
        Figure("charge", charge, "%", "table for this full density"),
        Figure("true density", true, "kg/L", "reading + 0.00072 (temperature - 26.7)"),
        Figure("freezes at", between(FREEZES, true), "degC", "table of freezing"),
    ]


def _acid_limits(values: Values) -> list[Limit]:
    says = "at its own temperature: it may be frozen; never charge or jump it"
    doubt = "take it as frozen: warm it slowly, never charge or jump it"
    cold = values["temperature"]
    of = "freezes at"
    return [Limit(cold, Side.BELOW, says, clears=False, of=of, doubt=doubt)]


ACID_DENSITY = Sheet(
    name="acid-density",
    about="State of charge and freezing point from acid density, by hydrometer.",
    inputs=(
        _READ,
        _ACID_WARMTH,
        Input(
            "full",
            "kg/L",
            1.2,
            1.3,
            "density when fully charged: the battery's label or handbook",
            FULL_1265,
            choices=MappingProxyType({"1.265": FULL_1265, "1.280": FULL_1280}),
        ),
    ),
    work=_acid,
    formula=(
        "true density = reading + 0.004 for each 10 degF over 80 degF (less below)",
        "charge by table",
    ),
    holds="Water not just topped up, battery not just charged or cranked. The tables "
    "differ by 0.03 at half charge, so the full density matters. Keep a battery well "
    "above where its acid freezes: -12 degC is given for any discharged one.",
    sources=(
        "0.004 each 10 degF from 80 degF, freezing of 1.100 to 1.280, and charge for a "
        "full density of 1.280: US Army TM 5-1185 tables II to IV (seen)",
        "charge for 1.265: a maker's service text (seen)",
        "freezing at 1.050, 1.225, 1.265: an owner's handbook chart (seen)",
        "a discharged battery can freeze at 10 degF: US Army TM 9-6140-200-14 (seen)",
    ),
    example=("density=1.235", "temperature=5degC"),
    limits=_acid_limits,
    cautions=(BATTERY_CAUTION,),
)


def _cells(values: Values) -> list[Figure]:
    spread = values["highest"] - values["lowest"]
    if spread < 0:
        raise SheetError("lowest is over highest; give the two the other way round")
    return [Figure("spread", spread, "kg/L", "highest - lowest")]


def _cell_limits(_: Values) -> list[Limit]:
    return [
        Limit(0.025, Side.BELOW, "fully charged, TM 9-6140-200-14: else unserviceable"),
        Limit(0.050, Side.BELOW, "TM 5-3740-214-14: charge, and replace if it stays"),
    ]


CELL_SPREAD = Sheet(
    name="cell-spread",
    about="How far the cells of one battery are apart in acid density.",
    inputs=(
        Input("highest", "kg/L", 1.0, 1.4, "densest cell", error=0.002),
        Input("lowest", "kg/L", 1.0, 1.4, "thinnest cell", error=0.002),
    ),
    work=_cells,
    formula=("spread = highest - lowest",),
    holds="Fully charged, all cells read with one hydrometer at one temperature. A "
    "battery with any cell under 1.150 is replaced by TM 5-3740-214-14.",
    sources=(
        "0.025 between any two cells: US Army TM 9-6140-200-14 para 4-7 (seen)",
        "0.050, and a cell under 1.150: US Army TM 5-3740-214-14 (seen)",
    ),
    example=("highest=1.265", "lowest=1.250"),
    limits=_cell_limits,
    cautions=(BATTERY_CAUTION,),
)


def _drain(values: Values) -> list[Figure]:
    left = values["charge"] - values["rest"]
    if left <= 0:
        raise SheetError("charge is at or under rest already; charge the battery first")
    a_day = values["drain"] * 24
    spend = left / 100 * values["capacity"]
    flat = values["charge"] / 100 * values["capacity"]
    return [
        Figure("days left", spend / a_day, "day", "to spend / drain a day"),
        Figure("to spend", spend, "Ah", "(charge - rest) x capacity"),
        Figure("drain a day", a_day, "Ah", "drain x 24 h"),
        Figure("days to flat", flat / a_day, "day", "charge x capacity / drain a day"),
    ]


STANDING_DRAIN = Sheet(
    name="standing-drain",
    about="Days that a parked truck's batteries last with something left on.",
    inputs=(
        Input("capacity", "Ah", 1, 2000, "of ONE battery of a series pair"),
        Input("drain", "A", 0.0005, 100, "standing current, truck asleep", error=0.002),
        Input("charge", "%", 1, 100, "state of charge now", 100),
        Input("rest", "%", 0, 99, "charge that must remain to start", 60),
    ),
    work=_drain,
    formula=("days = (charge - rest) x capacity / (drain x 24 h)",),
    holds="Steady drain near 25 degC; cold or age take capacity. Two batteries in "
    "series have the capacity of one, side by side of both. A wet battery also loses "
    "about 0.001 of density a day by itself.",
    sources=(
        "days = charge / current (definition)",
        "no start after about 40 % is used, so 60 % rest: a maker's bulletin (seen)",
        "0.001 a day by itself: US Army TM 5-1185 (seen)",
    ),
    example=("capacity=100Ah", "drain=80mA"),
)


def _reserve(values: Values) -> list[Figure]:
    minutes = values["reserve"]
    return [
        Figure("capacity", minutes * 25 / 60, "Ah", "minutes x 25 A / 60"),
        Figure("at a slow drain", minutes * 0.6, "Ah", "minutes x 0.6"),
    ]


RESERVE = Sheet(
    name="reserve-capacity",
    about="Ampere hours from a battery's reserve capacity in minutes.",
    inputs=(Input("reserve", "min", 5, 1000, "reserve capacity on the label"),),
    work=_reserve,
    formula=("capacity = reserve x 25 A / 60", "at a slow drain = reserve x 0.6"),
    holds="The first is what a 25 A load gets, the second what a small drain gets from "
    "a sound battery; take the first where it matters.",
    sources=(
        "reserve capacity is the minutes at 25 A (definition)",
        "0.6 Ah a minute: a maker's bulletin (seen)",
    ),
    example=("reserve=130min",),
)


def _pair(values: Values) -> list[Figure]:
    first, second = _one_battery(values["first"]), _one_battery(values["second"])
    charges = rested_charge(first), rested_charge(second)
    return [
        Figure("imbalance", abs(first - second), "V", "first - second, no sign"),
        Figure("charge of first", charges[0], "%", "rested volts by table"),
        Figure("charge of second", charges[1], "%", "rested volts by table"),
        Figure("charge apart", abs(charges[0] - charges[1]), "%", "of the two"),
        Figure("pair", first + second, "V", "first + second"),
    ]


def _pair_limits(_: Values) -> list[Limit]:
    says = "the trade acts from so much, rested: charge each by itself, then load test"
    return [Limit(0.2, Side.BELOW, says, clears=False)]


PAIR = Sheet(
    name="pair-imbalance",
    about="How far the two batteries of a 24 V pair are apart, rested.",
    inputs=(
        Input("first", "V", 0, 16, "one battery, rested", error=0.02),
        Input("second", "V", 0, 16, "the other, rested", error=0.02),
    ),
    work=_pair,
    formula=("imbalance = first - second", "charge of each by rested volts"),
    holds="Both rested for hours. The trade acts at over 0.2 V rested (0.5 V on "
    "charge): charge each by itself, look for a 12 V load on one of the two, then load "
    "test each. A 12 V load of 0.5 A for 8 h takes 4 Ah from one battery alone.",
    sources=(
        "charge by rested volts: a maker's service text (seen)",
        "0.2 V rested, 0.5 V on charge (common practice, no source)",
    ),
    example=("first=12.62V", "second=12.31V"),
    limits=_pair_limits,
    cautions=(BATTERY_CAUTION,),
)

SHEETS = (
    RESTED_VOLTS,
    ACID_DENSITY,
    CELL_SPREAD,
    STANDING_DRAIN,
    RESERVE,
    PAIR,
)
