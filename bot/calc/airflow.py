"""Air that flows through holes: how much leaks, and how large the hole is.

All functions take and give plain floats in the units that their names end in; pressures
are gauge unless the name says `abs`. Free air is air at the pressure outside and at the
temperature of the tank.
"""

import math

from bot.calc.air import (
    AROUND,
    GAUGE_ERROR_KPA,
    VOLUME,
)
from bot.calc.sheet import Figure, Input, Sheet, Values
from bot.calc.workshop import counted

GAMMA = 1.4
"""Ratio of the specific heats of air. Source: NASA Glenn, mass flow choking (seen)."""

GAS_CONSTANT = 287.053
"""Of dry air, J/(kg K). Source: US Standard Atmosphere 1976 (seen second-hand)."""

CHOKE_RATIO = (2 / (GAMMA + 1)) ** (GAMMA / (GAMMA - 1))
"""Outside over inside pressure, both absolute, under which a hole flows its most:
0.5283. Source: isentropic flow, NASA Glenn (seen)."""

ZERO_C_K = 273.15


def flow_factor(ratio: float) -> float:
    """Isentropic outflow over sound speed x tank density, by outside / inside pressure.

    Constant (0.5787) while choked, that is up to `CHOKE_RATIO`; above it falls to zero
    at equal pressures. Absolute pressures. Source: isentropic flow, NASA Glenn.

    >>> [round(flow_factor(r), 4) for r in (0.1, 0.5283, 0.8, 1.0)]
    [0.5787, 0.5787, 0.4738, 0.0]
    """
    if ratio <= CHOKE_RATIO:
        return math.pow(2 / (GAMMA + 1), (GAMMA + 1) / (2 * (GAMMA - 1)))
    power = ratio ** (2 / GAMMA) - ratio ** ((GAMMA + 1) / GAMMA)
    return math.sqrt(2 / (GAMMA - 1) * max(power, 0.0))


def hole_flow_l_min(
    area_mm2: float,
    inside_abs_kpa: float,
    around_abs_kpa: float,
    temperature_degc: float,
    coefficient: float,
) -> float:
    """Free air that a hole lets out of a tank, choked or not, in L/min.

    Q = C A (p_in / p_out) a f(p_out / p_in), a the speed of sound in the tank. True for
    dry air and a hole that is small beside the tank. Source: isentropic flow.

    >>> round(hole_flow_l_min(math.pi / 4, 901.325, 101.325, 20, 0.65), 2)
    54.12
    """
    sound = math.sqrt(GAMMA * GAS_CONSTANT * (temperature_degc + ZERO_C_K))
    ratio = around_abs_kpa / inside_abs_kpa
    m3_s = coefficient * area_mm2 * 1e-6 * sound / ratio * flow_factor(ratio)
    return m3_s * 60_000


INSIDE = Input("pressure", "kPa", 1, 1600, "gauge in the tank", error=GAUGE_ERROR_KPA)
WARMTH = Input("temperature", "degC", -60, 150, "of the air in the tank", 20, error=5)
SHARPNESS = Input(
    "coefficient",
    "",
    0.3,
    1,
    "0.65 sharp hole, 0.97 rounded entry",
    0.65,
    error=0.15,
)
_HOLE_HOLDS = (
    "Dry air and one small round hole; real leak paths are cracks and seats, so a size "
    "is good to about 30 % and tells a pinhole from a torn seal, no more. Free air is "
    "counted at the tank's temperature."
)
_HOLE_SOURCES = (
    ("choked and unchoked flow: nasa-mass-flow, isentropic flow of a perfect gas"),
    "0.65 sharp and 0.97 rounded: moss-1906, note of the table",
)
_HISS = (
    "WARNING: air drives dirt into eyes and air into blood. Eyes covered, no hand over "
    "the leak; soap water on a brush finds it."
)


def _how(ratio: float) -> str:
    """In words, whether the hole is choked."""
    if ratio <= CHOKE_RATIO:
        return "around / inside, absolute: at most 0.5283, so the hole is choked"
    return "around / inside, absolute: over 0.5283, so not choked"


def _inside(values: Values) -> float:
    return values["pressure"] + values["around"]


def _hole_leak(values: Values) -> list[Figure]:
    area = math.pi / 4 * values["hole"] ** 2 * counted(values, "holes")
    inside, around = _inside(values), values["around"]
    lost = hole_flow_l_min(
        area, inside, around, values["temperature"], values["coefficient"]
    )
    figures = [
        Figure("free air lost", lost, "L/min", "C x area x sound x f / ratio"),
        Figure("pressure ratio", around / inside, "", _how(around / inside)),
        Figure("area", area, "mm2", "holes x pi/4 x hole^2"),
    ]
    if "volume" in values:
        fall = lost * around / values["volume"]
        by = "free air lost x around / volume, at the start"
        figures.append(Figure("fall at first", fall, "kPa/min", by))
    return figures


HOLE_LEAK = Sheet(
    name="hole-leak",
    about="Air that a hole of known size lets out of a tank.",
    inputs=(
        Input("hole", "mm", 0.1, 50, "its diameter", error=0.1),
        INSIDE,
        Input("holes", "", 1, 100, "how many of them", 1.0),
        SHARPNESS,
        WARMTH,
        Input("volume", "L", 1, 3000, VOLUME.says, optional=True),
        AROUND,
    ),
    work=_hole_leak,
    formula=(
        "free air = C x area x sound x f(ratio) / ratio, ratio = around / inside (abs)",
        "f = 0.5787 up to ratio 0.5283 (choked)",
        "f = sqrt(5 x (ratio^1.4286 - ratio^1.7143)) above it (unchoked)",
    ),
    holds=_HOLE_HOLDS,
    sources=_HOLE_SOURCES,
    example=("hole=1mm", "pressure=8bar", "volume=100L"),
    cautions=(_HISS,),
)


def _hole_size(values: Values) -> list[Figure]:
    inside, around = _inside(values), values["around"]
    by_area = hole_flow_l_min(
        1, inside, around, values["temperature"], values["coefficient"]
    )
    area = values["leak"] / by_area
    hole = math.sqrt(4 * area / math.pi)
    return [
        Figure("hole", hole, "mm", "sqrt(4 x area / pi)"),
        Figure("area", area, "mm2", "leak / flow through 1 mm2"),
        Figure("flow through 1 mm2", by_area, "L/min", "C x sound x f / ratio"),
        Figure("pressure ratio", around / inside, "", _how(around / inside)),
    ]


HOLE_SIZE = Sheet(
    name="hole-size",
    about="Size of the one hole that would explain a leak.",
    inputs=(
        Input("leak", "L/min", 0.01, 5000, "free air lost, as leak-rate gives it"),
        INSIDE,
        SHARPNESS,
        WARMTH,
        AROUND,
    ),
    work=_hole_size,
    formula=(
        "area = leak x ratio / (C x sound x f(ratio)), ratio = around / inside (abs)",
        "f as in hole-leak: choked up to ratio 0.5283, unchoked above",
    ),
    holds=_HOLE_HOLDS,
    sources=_HOLE_SOURCES,
    example=("leak=12.4L/min", "pressure=100psi"),
    cautions=(_HISS,),
)

SHEETS = (HOLE_LEAK, HOLE_SIZE)
