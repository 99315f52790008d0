"""Battery acid: charge and frost by its density, and how far cells are apart.

Densities are in kg/L, and tables are for flooded batteries and an acid at 80 degF
(26.7 degC).
"""

from types import MappingProxyType

from bot.calc.copper import between
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values

BATTERY_CAUTION = (
    "WARNING: batteries give off explosive gas, hold acid, and weld what bridges their "
    "posts. No flame or spark, fresh air, loads off first, goggles and gloves, rings "
    "off; flood acid splashes with water. Never charge or jump a frozen battery."
)

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


THICKEST = 1.300
"""Over this no starter battery's acid goes. Our choice."""


def _acid(read: float, celsius: float) -> float:
    """`true_density`, refused where no battery's acid can be."""
    true = true_density(read, celsius)
    if true > THICKEST:
        raise SheetError(
            "over 1.300 at 26.7 degC no starter battery's acid goes: check reading and "
            "temperature, or acid was added"
        )
    return true


def _charge(values: Values) -> list[Figure]:
    true = _acid(values["density"], values["temperature"])
    charge, freezes = between(DENSITY[values["full"]], true), between(FREEZES, true)
    spare = values["temperature"] - freezes
    return [
        Figure("charge", charge, "%", "table for this full density"),
        Figure("true density", true, "kg/L", "reading + 0.00072 (temperature - 26.7)"),
        Figure("freezes at", freezes, "degC", "table of freezing"),
        Figure("above freezing", spare, "K", "temperature - freezes at"),
    ]


FROST_K = 5.0
"""Nearer than this to its freezing point acid counts as frozen: tables differ by up to
2.4 K, and cells and layers by more. Our choice."""

_FROZEN = "take it as frozen: warm it slowly, never charge or jump it"
_FROST = Limit(
    FROST_K,
    Side.ABOVE,
    "our choice, as tables and cells differ",
    clears=False,
    of="above freezing",
    doubt=_FROZEN,
    because="the next cell may be thinner and the night colder",
    do=_FROZEN,
)


_FLAT = Limit(
    25.0,
    Side.ABOVE,
    "a quarter charge",
    clears=False,
    doubt="charge it today, unless it may be frozen",
    because="test every cell",
    do="charge it today, unless it may be frozen; about 1.00 is water or a dead cell",
)

ACID_DENSITY = Sheet(
    name="acid-density",
    about="State of charge and freezing point from acid density, by hydrometer.",
    inputs=(
        Input("density", "kg/L", 1.0, 1.35, "hydrometer reading", error=0.005),
        Input("temperature", "degC", -54, 55, "of the acid", error=2),
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
    work=_charge,
    formula=(
        "true density = reading + 0.004 for each 10 degF over 80 degF (less below)",
        "charge by table",
    ),
    holds="Water not just topped up, battery not just charged or cranked. The tables "
    "differ by 0.03 at half charge, so the full density matters. Keep a battery well "
    "above where its acid freezes: -12 degC is given for any discharged one.",
    sources=(
        (
            "0.004 each 10 degF from 80 degF, freezing of 1.100 to 1.280, and "
            "charge for a full density of 1.280: tm-5-1185, tables II to IV"
        ),
        ("charge for 1.265: common-practice, a maker's text that cannot be named"),
        (
            "freezing at 1.050, 1.225, 1.265: common-practice, a chart that "
            "cannot be named"
        ),
        "a discharged battery can freeze at 10 degF: tm-9-6140-200-14",
        "5 K above freezing, and nothing over 1.300: our-choice",
    ),
    example=("density=1.235", "temperature=5degC"),
    limits=lambda _: (_FLAT, _FROST),
    cautions=(BATTERY_CAUTION,),
)


def _cells(values: Values) -> list[Figure]:
    spread = values["highest"] - values["lowest"]
    if spread < 0:
        raise SheetError("lowest is over highest; give the two the other way round")
    by = "put to 26.7 degC" if "temperature" in values else "as read"
    return [
        Figure("spread", spread, "kg/L", "highest - lowest"),
        Figure("thinnest cell", _cell(values, "lowest"), "kg/L", by),
    ]


def _cell(values: Values, name: str) -> float:
    return _acid(values[name], values.get("temperature", AT_C))


FULL_FROM = 1.260
"""Least true density of a fully charged cell. Source: trade press (seen)."""


def _cell_limits(values: Values) -> list[Limit]:
    full = "temperature" in values and _cell(values, "highest") >= FULL_FROM
    again = "charge it fully and read again; replace it if that stays"
    return [
        Limit(
            0.025,
            Side.BELOW,
            "fully charged, TM 9-6140-200-14",
            clears=full,
            because="charge it fully, then read again and give the temperature",
            do=again,
        ),
        Limit(
            1.150,
            Side.ABOVE,
            "any cell, TM 5-3740-214-14",
            clears=False,
            of="thinnest cell",
            do=again,
        ),
    ]


CELL_SPREAD = Sheet(
    name="cell-spread",
    about="How far the cells of one battery are apart in acid density.",
    inputs=(
        Input("highest", "kg/L", 1.0, 1.35, "densest cell", error=0.002),
        Input("lowest", "kg/L", 1.0, 1.35, "thinnest cell", error=0.002),
        Input("temperature", "degC", -54, 55, "of the acid", optional=True, error=2),
    ),
    work=_cells,
    formula=("spread = highest - lowest",),
    holds="Fully charged (densest cell 1.260 or more at 26.7 degC), all cells read "
    "with one hydrometer at one temperature. A battery of which a cell stays under "
    "1.150, or 0.050 off the rest, is replaced by TM 5-3740-214-14.",
    sources=(
        "0.025 between any two cells: tm-9-6140-200-14, para 4-7",
        "0.050, and a cell under 1.150: tm-5-3740-214-14, battery check",
        "1.260 to 1.280 is full: battery-charge-article",
    ),
    example=("highest=1.265", "lowest=1.250", "temperature=27degC"),
    limits=_cell_limits,
    cautions=(BATTERY_CAUTION,),
)

SHEETS = (ACID_DENSITY, CELL_SPREAD)
