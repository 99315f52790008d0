"""Cooling: where a coolant boils and freezes, and how to mend its mix.

All functions take and give plain floats in the units that their names end in; pressures
are gauge unless the name says `abs`. A share of glycol is that of concentrate, by
volume, in percent.
"""

import math
from types import MappingProxyType

from bot.calc.airflow import ZERO_C_K
from bot.calc.atmosphere import air_at_kpa
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values

ETHYLENE, PROPYLENE = 1.0, 2.0

_WATER = (0.9982, 18.0153)
_GLYCOL = MappingProxyType({ETHYLENE: (1.1132, 62.068), PROPYLENE: (1.036, 76.095)})
"""Density at 20 degC in kg/L, and mass of a mole in g. Source: tables of the
pure liquids (from memory)."""

_FREEZES = MappingProxyType(
    {
        ETHYLENE: (0.0, -3.4, -7.9, -15.0, -24.0, -36.7, -57.0),
        PROPYLENE: (0.0, -2.2, -6.7, -12.8, -20.6, -32.2, -50.0),
    }
)
"""Freeze point in degC at each 10 % from 0 to 60 %. Source: ethylene 30, 40 and 60 % a
military coolant chart, 50 % the data of a coolant to ASTM D3306; propylene 10 to 40 % a
handbook's table, pure glycol by volume (seen); all others the Melinder correlation for
the pure glycol at that share by mass (seen second-hand)."""

_SATURATION = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
"""Coefficients of the saturation line. Source: IAPWS-IF97, region 4, as open programs
print them (seen second-hand); its check values come out to the last digit."""


def water_boils_c(pressure_kpa_abs: float) -> float:
    """Temperature at which pure water boils, in degC.

    Formula: IAPWS-IF97 region 4, backward. Limits: 0.62 kPa to 22 MPa absolute.
    Source: the release's check value for 0.1 MPa, 372.755919 K (seen second-hand).

    >>> round(water_boils_c(100.0) + 273.15, 6)
    372.755919
    """
    if not 0.62 <= pressure_kpa_abs <= 22_000:
        raise ValueError("off the saturation line of water")
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _SATURATION
    beta: float = (pressure_kpa_abs / 1000) ** 0.25
    e = beta * beta + n3 * beta + n6
    f = n1 * beta * beta + n4 * beta + n7
    g = n2 * beta * beta + n5 * beta + n8
    d = 2 * g / (-f - math.sqrt(f * f - 4 * e * g))
    root = math.sqrt((n10 + d) ** 2 - 4 * (n9 + n10 * d))
    return (n10 + d - root) / 2 - ZERO_C_K


def water_moles(share_pc: float, kind: float) -> float:
    """Water's part of all molecules in a mix with so much glycol by volume.

    Formula: moles of each = volume x density / mass of a mole. Limits: 0 to 100 %; the
    few percent of water and inhibitor in the concentrate count as glycol.
    Source: definition of the mole share.

    >>> round(water_moles(50, ETHYLENE), 4)
    0.7555
    """
    if not 0 <= share_pc <= 100:
        raise ValueError("no share")
    density, mole = _GLYCOL[kind]
    glycol = share_pc * density / mole
    water = (100 - share_pc) * _WATER[0] / _WATER[1]
    return water / (water + glycol)


def freezes_c(share_pc: float, kind: float) -> float:
    """Temperature at which the first ice forms in a mix, in degC.

    Formula: between the published points in a straight line along the logarithm of the
    water's mole share, which ideal mixtures follow. Limits: 0 to 60 %.
    Source: see the table of points.

    >>> freezes_c(40, ETHYLENE)
    -24.0
    """
    points = _FREEZES[kind]
    if not 0 <= share_pc <= 10 * (len(points) - 1):
        raise ValueError("beyond the table")
    low = min(int(share_pc // 10), len(points) - 2)
    here, left, right = (
        math.log(water_moles(share, kind))
        for share in (share_pc, 10.0 * low, 10.0 * low + 10)
    )
    return points[low] + (points[low + 1] - points[low]) * (here - left) / (
        right - left
    )


GLYCOL = Input("glycol", "%", 0, 100, "share of concentrate by volume", error=2)
KIND = Input(
    "kind",
    "",
    1,
    2,
    "of glycol",
    ETHYLENE,
    choices=MappingProxyType({"ethylene": ETHYLENE, "propylene": PROPYLENE}),
)
HOT_CAP = (
    "WARNING: never open a hot cap; steam and coolant scald. Wait until the hose can "
    "be held, and take the sample cold.",
    "CAUTION: glycol is poisonous and sweet to animals. Catch all of it.",
)
CHART = "military glycol chart, open at sea level"


def _around(values: Values) -> tuple[float, str]:
    """Air pressure outside in kPa, and how it is known."""
    if "height" in values and "around" in values:
        raise SheetError("give the height or the air pressure around, not both")
    if "around" in values:
        return values["around"], "as given"
    if "reading" in values and "height" not in values:
        raise SheetError(
            "coolant boils sooner the higher you are: give height=, 0m at the sea, or "
            "around="
        )
    by = "standard air at the height" if "height" in values else "sea level taken"
    return air_at_kpa(values.get("height", 0.0)), by


def _boiling(values: Values) -> list[Figure]:
    if values["glycol"] > 70:
        raise SheetError("this sum holds to 70 % glycol; thin the coolant, then test")
    around, by = _around(values)
    moles = water_moles(values["glycol"], values["kind"])
    under = around + values["cap"]
    boils = water_boils_c(under / moles)
    figures = [
        Figure("boiling point", boils, "degC", "water at pressure / water's moles"),
        Figure("pressure on the coolant", under, "kPa abs", "around + cap"),
        Figure("air pressure", around, "kPa abs", by),
        Figure("water's moles", 100 * moles, "%", "water / (water + glycol)"),
        Figure("water alone", water_boils_c(under), "degC", "same pressure"),
    ]
    if "reading" in values:
        margin = boils - values["reading"]
        figures.append(Figure("margin", margin, "K", "boiling point - reading"))
    return figures


def _boiling_limits(values: Values) -> list[Limit]:
    if "reading" not in values:
        return []
    says = "our choice: the head is hotter than its gauge"
    doubt = "take it as boiling: less load, let it cool"
    because = "the cause of any heat is not found by this"
    return [
        Limit(
            NEAR_BOILING_K,
            Side.ABOVE,
            says,
            clears=False,
            of="margin",
            doubt=doubt,
            because=because,
            do=doubt,
        )
    ]


NEAR_BOILING_K = 10.0
"""With less to spare the coolant counts as boiling. Our choice."""


BOILING_POINT = Sheet(
    name="boiling-point",
    about="Where the coolant boils (overheats), by glycol, cap and height.",
    inputs=(
        GLYCOL,
        Input("cap", "kPa", 0, 250, "pressure cap's rating; 0 when open", 0, error=7),
        Input(
            "height",
            "m",
            -430,
            6000,
            "above the sea; asked for with a reading",
            optional=True,
            error=50,
        ),
        Input(
            "around",
            "kPa abs",
            30,
            110,
            "air pressure outside, instead of the height",
            optional=True,
            error=0.3,
        ),
        KIND,
        Input("reading", "degC", 0, 180, "of the gauge", optional=True, error=3),
    ),
    work=_boiling,
    formula=(
        "boiling point = where water boils at (around + cap) / water's moles",
        "water's moles = water / (water + glycol), each volume x density / mole",
    ),
    holds="Up to 70 % glycol, and a cap that holds its rating: within 1 K of published "
    "charts for ethylene glycol to 60 %, within 2.2 K for propylene. Boiling at a hot "
    "cylinder head starts before the gauge shows it.",
    sources=(
        "water: iapws-if97, region 4, by its check values",
        "water's share of the pressure: worked-out, Raoult's law",
        "air at height: us-standard-atmosphere-1976",
        "glycol densities and mole masses: memory",
        "errors of cap, glycol, height and gauge: our-choice",
    ),
    example=("glycol=50", "cap=15psi", "height=1500m", "reading=102degC"),
    limits=_boiling_limits,
    cautions=HOT_CAP,
)


def _freezing(values: Values) -> list[Figure]:
    if values["glycol"] > 60:
        raise SheetError(
            "past 60 % the freeze point soon rises again; thin the coolant to 60 % or "
            "less and test it"
        )
    freezes = freezes_c(values["glycol"], values["kind"])
    moles = 100 * water_moles(values["glycol"], values["kind"])
    figures = [
        Figure("freeze point", freezes, "degC", "between the points of the chart"),
        Figure("water's moles", moles, "%", "water / (water + glycol)"),
    ]
    if "coldest" in values:
        margin = values["coldest"] - freezes
        figures.append(Figure("margin", margin, "K", "coldest - freeze point"))
    return figures


def _freezing_limits(values: Values) -> list[Limit]:
    if "coldest" not in values:
        return []
    says = "below it ice forms before the coldest that you gave"
    doubt = "take it as freezing: more glycol"
    return [Limit(0, Side.ABOVE, says, clears=False, of="margin", doubt=doubt)]


FREEZE_POINT = Sheet(
    name="freeze-point",
    about="Where ice first forms in the coolant, by its antifreeze (glycol).",
    inputs=(
        GLYCOL,
        KIND,
        Input("coldest", "degC", -70, 20, "night expected", optional=True, error=2),
    ),
    work=_freezing,
    formula=("freeze point = between the chart's points, by water's moles",),
    holds="0 to 60 % of concentrate by volume, good to about 2 K, to 6 K past 55 %; "
    "coldest of all is near 68 %; neat concentrate freezes near -22 degC, pure "
    "ethylene glycol at -13 degC. Propylene of 10 to 25 % may freeze up to 1 K sooner. "
    "Brands differ, and old coolant: a refractometer for that glycol decides.",
    sources=(
        "ethylene 30, 40, 60 %: tm-5-3895-382-24, glycol chart, open at sea level",
        (
            "ethylene 50 %: common-practice, data of one coolant to ASTM D3306, "
            "which cannot be named"
        ),
        "propylene 10 to 40 %: handbook-of-chemistry, table 5.13, by volume",
        (
            "ethylene below 30 %, propylene past 40 %: melinder-2010, share taken "
            "by mass, which is warmer than by volume and than the chart"
        ),
        (
            "turn near 68 %, neat -22 degC: common-practice, makers' texts that "
            "cannot be named"
        ),
        "pure ethylene glycol -13 degC: memory",
        "errors: our-choice",
    ),
    example=("glycol=45", "coldest=-25degC"),
    limits=_freezing_limits,
    cautions=HOT_CAP,
)


LEAN_PC, RICH_PC = 30.0, 67.0


def _poured(values: Values) -> float:
    """Share of glycol in what goes in: as given, or concentrate or water by need."""
    now, wanted = values["now"], values["wanted"]
    fill = values.get("fill", 100.0 if wanted > now else 0.0)
    if wanted > now and fill <= wanted:
        raise SheetError("what goes in is no stronger than what is wanted; use neat")
    if wanted < now and fill > wanted:
        raise SheetError("what goes in is stronger than what is wanted; use water")
    return fill


def _mix(values: Values) -> list[Figure]:
    volume, now, wanted = values["volume"], values["now"], values["wanted"]
    fill = _poured(values)
    swap = 0.0 if wanted == now else volume * (wanted - now) / (fill - now)
    word = {100.0: "concentrate", 0.0: "water"}.get(fill, f"a mix of {fill:g} %")
    figures = [
        Figure("drain and refill", swap, "L", f"with {word}: volume x change / gap"),
        Figure("glycol put in", swap * fill / 100, "L", "refill x its share"),
        Figure("glycol then", volume * wanted / 100, "L", "volume x wanted"),
        Figure("share then", wanted, "%", "as wanted"),
    ]
    if "have" in values:
        share = now + (fill - now) * min(values["have"], swap) / volume
        by = "drain and refill with that much, at most what is needed"
        figures.append(Figure("share with what you have", share, "%", by))
    return figures


def _mix_limits(values: Values) -> list[Limit]:
    """Nothing is said of a mix inside the band: it clears no coolant."""
    says, name = "30 to 67 %, military coolant instructions", "share then"
    if values["wanted"] < LEAN_PC:
        do = "it freezes and rusts sooner; only to flush"
        return [Limit(LEAN_PC, Side.ABOVE, says, clears=False, of=name, do=do)]
    if values["wanted"] > RICH_PC:
        do = "it carries less heat and freezes sooner again"
        return [Limit(RICH_PC, Side.BELOW, says, clears=False, of=name, do=do)]
    return []


COOLANT_MIX = Sheet(
    name="coolant-mix",
    about="How much coolant to drain and replace to reach a share of glycol.",
    inputs=(
        Input("volume", "L", 1, 200, "whole cooling system", error=0.5),
        Input("now", "%", 0, 100, "share of glycol now", error=2),
        Input("wanted", "%", 0, 70, "share wanted"),
        Input(
            "fill",
            "%",
            0,
            100,
            "share in what is poured in: 100 concentrate, 0 water; by need unless said",
            optional=True,
        ),
        Input("have", "L", 0, 200, "all that is in hand to pour in", optional=True),
    ),
    work=_mix,
    formula=("drained = volume x (wanted - now) / (fill - now); fill = 0 for water",),
    holds="Drained before filling, from a mixed system. Keep 30 to 67 %: less "
    "corrodes, more carries less heat. Never mix kinds unless both makers allow it.",
    sources=(
        "balance of volumes: worked-out, definition",
        (
            "band of 30 or 33 to 67 %: tm-5-3820-245-14p, at least 30 %; "
            "tm-5-3805-254-14p-2, 33 to 67 %"
        ),
    ),
    example=("volume=40", "now=30", "wanted=50"),
    limits=_mix_limits,
    cautions=HOT_CAP,
)


SHEETS = (BOILING_POINT, FREEZE_POINT, COOLANT_MIX)
