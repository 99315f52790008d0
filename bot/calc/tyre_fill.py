"""Filling tyres with the truck's own compressor, and letting them down again.

Pressures are gauge unless the name says `abs`. Free air is air as the compressor draws
it in. Both sums take the air in the tyre to keep its temperature: true over many
minutes, less so for a quick let-down through a large opening.
"""

import math
from collections.abc import Callable

from bot.calc.air import AROUND, LOW_AIR_KPA, free_air_l
from bot.calc.airflow import (
    CHOKE_RATIO,
    GAMMA,
    GAS_CONSTANT,
    ZERO_C_K,
    flow_factor,
    hole_flow_l_min,
)
from bot.calc.compressor import CLEARANCE, filling_share
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.calc.tyre_size import FILL_CAUTIONS, volume_marked
from bot.calc.workshop import counted
from bot.units import PSI_KPA


def volumetric_efficiency(head_kpa: float, around_kpa: float, intake: float) -> float:
    """Free air delivered over volume swept, for a single-stage piston compressor.

    eta = intake x (1 + c - c x r^(1/n)), r = absolute head over outside pressure. Air
    left in the dead space expands again and takes the room of fresh air, the more the
    higher the head. Form: textbooks; c, n: common practice.

    >>> round(volumetric_efficiency(689.476, 101.325, 0.9), 4)
    0.6917
    """
    ratio = (head_kpa + around_kpa) / around_kpa
    return intake * filling_share(CLEARANCE, ratio)


def simpson(work: Callable[[float], float], low: float, high: float) -> float:
    """The area under a smooth curve from low to high, by Simpson's rule in 64 steps.

    >>> round(simpson(lambda x: x**3, 0, 2), 9)
    4.0
    """
    steps = 64
    width = (high - low) / steps
    odd = sum(work(low + i * width) for i in range(1, steps, 2))
    even = sum(work(low + i * width) for i in range(2, steps, 2))
    return (work(low) + 4 * odd + 2 * even + work(high)) * width / 3


def let_down_min(
    litres_per_mm2: float, start_abs: float, end_abs: float, around_abs: float, c: float
) -> float:
    """Minutes until a vessel has blown down through a hole at `c` degC throughout.

    t = V / (S a) x integral of dp / (p x flow), a the speed of sound: a logarithm
    while the hole is choked, then Simpson's rule. `litres_per_mm2` is V / S; the
    pressures are absolute, in kPa. Source: isentropic flow, gas law.

    >>> round(60 * let_down_min(280 / 5, 687.38, 308.17, 101.325, 15), 1)
    228.1
    """
    knee = min(max(around_abs / CHOKE_RATIO, end_abs), start_abs)
    choked = math.log(start_abs / knee) / flow_factor(CHOKE_RATIO)

    def slope(u: float) -> float:
        # p = around x (1 + u^2) takes the sting out of the end, where the flow dies
        return 2 * u / (1 + u * u) / flow_factor(1 / (1 + u * u))

    rest = 0.0
    if knee > end_abs:
        first = math.sqrt(end_abs / around_abs - 1)
        rest = simpson(slope, first, math.sqrt(knee / around_abs - 1))
    sound = math.sqrt(GAMMA * GAS_CONSTANT * (c + ZERO_C_K))
    return litres_per_mm2 * 1e3 / sound * (choked + rest) / 60


def _swept(values: Values) -> float:
    """Volume the compressor sweeps in a minute at this engine speed."""
    shaft = values["engine"] * values["drive"]
    return values["plate"] * shaft / values["platespeed"]


def _delivery(values: Values, tyre_kpa: float) -> float:
    """Free air left over for the tyres while they stand at that pressure, in L/min."""
    if "delivery" in values:
        gives = values["delivery"]
    else:
        head = max(values["hold"], tyre_kpa + values["loss"])
        share = volumetric_efficiency(head, values["around"], values["intake"])
        gives = _swept(values) * share
    if gives <= values["lost"]:
        raise SheetError("other users take all the air there is: find the leak first")
    return gives - values["lost"]


PRIORITY_KPA = 85 * PSI_KPA
"""Brake air under which one army system's switch keeps air from the tyres. Source: TM
9-2320-363-10 (seen)."""

QUERIED_KPA = 900.0
"""An end above this is asked for the marking. Source: our choice."""


def _refuse_fill(values: Values) -> None:
    """What must not be filled, or cannot be worked out."""
    if values["hold"] < LOW_AIR_KPA:
        raise SheetError("brake air under 60 psi (4.1 bar): fill the brake tanks first")
    if values["end"] > values.get("marked", values["end"]):
        raise SheetError("end is above marked: never fill past the lowest marking")
    if values["end"] > QUERIED_KPA and "marked" not in values:
        raise SheetError("end is over 9 bar: read tyre and rim, and give marked")
    if values["end"] <= values["start"]:
        raise SheetError("end must be above start: this sum is for filling")
    if ("delivery" in values) is ("plate" in values):
        raise SheetError("give either delivery, or plate with the engine speed")


def _fill(values: Values) -> list[Figure]:
    _refuse_fill(values)
    start, end = values["start"], values["end"]
    litres = counted(values, "count") * values["volume"] * values["scale"]
    knee = min(max(values["hold"] - values["loss"], start), end)
    low = (knee - start) / _delivery(values, start)
    high = simpson(lambda p: 1 / _delivery(values, p), knee, end) if end > knee else 0
    time = free_air_l(litres, low + high, values["around"])
    free = free_air_l(litres, end - start, values["around"])
    return [
        Figure("time", time, "min", "free air / what is left over of the delivery"),
        Figure("each", time / values["count"], "min", "time / count"),
        Figure("free air", free, "L", "count x volume x (end - start) / around"),
        Figure("delivery at the start", _delivery(values, start), "L/min"),
        Figure("delivery at the end", _delivery(values, end), "L/min"),
        Figure("end", end, "kPa", "gauge wanted"),
        Figure("brake air", values["hold"], "kPa", "hold"),
    ]


def _fill_limits(values: Values) -> list[Limit]:
    most, says = values.get("marked", QUERIED_KPA), "marked on tyre or rim"
    because = "load and fill-again count too"
    if "marked" not in values:
        says, because = "our choice", "read the marking on tyre and rim, give marked"
    limits = [
        Limit(
            most,
            Side.BELOW,
            says,
            clears=False,
            of="end",
            doubt="read the marking, stay below it",
            because=because,
        )
    ]
    if values["hold"] < PRIORITY_KPA + 50:
        limits.append(
            Limit(
                PRIORITY_KPA,
                Side.ABOVE,
                "an army system fills no tyre under that",
                clears=False,
                of="brake air",
                doubt="build up brake air first",
                because="watch the brake gauges",
                do="build up brake air first",
            )
        )
    return limits


COUNT = Input("count", "", 1, 24, "how many tyres", 1)
VOLUME = Input(
    "volume", "L", 1, 3000, "air volume of one tyre; or type its marking alone"
)
SCALE = Input(
    "scale",
    "",
    0.5,
    2,
    "true volume over the one given; a reckoned volume is good to 12 %, so for a "
    "measured one write scale=1+-0.03",
    1,
    error=0.12,
)

TYRE_FILL = Sheet(
    name="tyre-fill",
    about="How long the truck's own compressor takes to fill its tyres.",
    inputs=(
        COUNT,
        VOLUME,
        Input("start", "kPa", 0, 1200, "gauge now", error=7),
        Input("end", "kPa", 1, 1250, "gauge wanted", error=7),
        Input(
            "marked",
            "kPa",
            100,
            1600,
            "highest pressure marked on tyre or rim, the lower of the two",
            optional=True,
        ),
        Input(
            "delivery",
            "L/min",
            1,
            5000,
            "free air delivered at that pressure, if measured",
            optional=True,
            error=15,
        ),
        Input(
            "plate",
            "L/min",
            10,
            3000,
            "swept volume by the plate",
            optional=True,
            error=15,
        ),
        Input("platespeed", "rpm", 300, 4000, "at this compressor speed", 1250),
        Input("engine", "rpm", 300, 4000, "engine speed now", 1100, error=30),
        Input("drive", "", 0.2, 3, "compressor turns per engine turn", 1),
        Input("hold", "kPa", 0, 1200, "brake tank pressure meanwhile", 690, error=50),
        Input("loss", "kPa", 0, 500, "lost between tank and tyre", 50, error=25),
        Input("lost", "L/min", 0, 2000, "free air leaks and brakes take", 0, error=5),
        Input("intake", "", 0.5, 1, "left by heat and worn rings", 0.9, error=0.05),
        SCALE,
        AROUND,
    ),
    work=_fill,
    formula=(
        "free air = count x volume x (end - start) / around",
        "delivery = swept x intake x (1 + 0.06 - 0.06 x r^(1/1.3)), r = absolute head "
        "/ around, head = the higher of hold and tyre + loss",
        "time = free air / (delivery - lost), step by step as the head rises",
    ),
    holds="Air back at outside temperature: a tyre filled in a few minutes is warm and "
    "falls afterwards. No allowance for a compressor that cuts out or a line that "
    "throttles; a tyre near the supply pressure fills at half the pace or less.",
    sources=(
        "free air: worked-out, Boyle's law",
        (
            "form of the delivery: worked-out, the air left in the dead space "
            "expands again"
        ),
        "dead space 0.06, exponent 1.3, intake 0.9: common-practice",
        (
            "plates give piston displacement at 1250 rpm, not delivery: "
            "tm-5-3805-263-14p-3, air compressor, one machine"
        ),
        "volume good to 12 %, no filling under 60 psi of brake air: our-choice",
        "1100 rpm, a brisk fast idle: common-practice",
        (
            "inflation blocked under 85 psi of brake air: tm-9-2320-363-10, p. "
            "1-36, one system"
        ),
    ),
    limits=_fill_limits,
    example=("14.00R20", "count=2", "start=1bar", "end=5bar", "plate=440L/min"),
    cautions=FILL_CAUTIONS,
    reads=volume_marked,
)


def _between(values: Values) -> tuple[float, float]:
    """Absolute pressures at the start and the end of a let-down."""
    if values["end"] >= values["start"]:
        raise SheetError("end must be below start: this sum is for letting air out")
    return values["start"] + values["around"], values["end"] + values["around"]


def _let_down(values: Values) -> list[Figure]:
    start, end = _between(values)
    count = counted(values, "count")
    rounds = math.ceil(count / counted(values, "together"))
    litres = values["volume"] * values["scale"]
    around, c = values["around"], values["air"]
    each = let_down_min(litres / values["area"], start, end, around, c)
    first = hole_flow_l_min(values["area"], start, around, c, 1)
    return [
        Figure("time", each * rounds, "min", "each x rounds"),
        Figure("each", each, "min", "volume / area x sum of dp / (p x flow)"),
        Figure("rounds", rounds, "", "count / together, rounded up"),
        Figure(
            "free air", free_air_l(litres * count, start - end, around), "L", "Boyle"
        ),
        Figure("first flow", first, "L/min", "free air, each"),
        Figure(
            "choked above",
            around * (1 / CHOKE_RATIO - 1),
            "kPa",
            "around x (1.893 - 1): below this the flow slackens",
        ),
    ]


START = Input("start", "kPa", 2, 1200, "gauge now", error=7)
LOW_END = Input("end", "kPa", 1, 1200, "gauge wanted", error=7)
AIR_C = Input("air", "degC", -50, 80, "air in the tyre", 15, error=5)

LET_DOWN = Sheet(
    name="let-down",
    about="How long tyres take to let down through their valves.",
    inputs=(
        COUNT,
        Input("together", "", 1, 24, "tyres let down at one time", 1),
        VOLUME,
        START,
        LOW_END,
        Input(
            "area",
            "mm2",
            0.1,
            500,
            "effective opening of each, see valve-opening; as a start: core in 1 to 3, "
            "core out 5 to 15",
            error=0.5,
        ),
        AIR_C,
        SCALE,
        AROUND,
    ),
    work=_let_down,
    formula=(
        "above 1.893 x around: time = volume / (area x 0.5787 x sound speed) x "
        "ln(start / end), absolute",
        "below: dp/dt = -area x p x flow(around / p) x sound speed / volume, summed",
    ),
    holds="One opening governs, and the air keeps its temperature. A large opening "
    "cools the air, so the tyre creeps up again once shut: read twice.",
    sources=(
        (
            "choked and unchoked flow of a perfect gas through an orifice: "
            "worked-out, isentropic flow"
        ),
        "critical ratio 0.528: choked-flow-tutorial",
        "openings of 1 to 3 and 5 to 15 mm2: common-practice",
        "volume good to 12 %: our-choice",
    ),
    example=(
        "count=4",
        "together=2",
        "volume=280L",
        "start=85psi",
        "end=30psi",
        "area=5",
    ),
    reads=volume_marked,
    cautions=(
        "CAUTION: deflating is loud and throws dirt: cover eyes and ears, and keep "
        "your face off the valve.",
    ),
)


def _opening(values: Values) -> list[Figure]:
    start, end = _between(values)
    litres = values["volume"] * values["scale"]
    one = let_down_min(litres, start, end, values["around"], values["air"])
    area = one / values["time"]
    return [
        Figure("opening", area, "mm2", "time through 1 mm2 / time"),
        Figure("through 1 mm2", one, "min", "as let-down"),
        Figure(
            "as a hole",
            2 * math.sqrt(area / math.pi),
            "mm",
            "diameter of a perfect one",
        ),
    ]


VALVE_OPENING = Sheet(
    name="valve-opening",
    about="The effective opening of a valve, line or seal, from one timed let-down.",
    inputs=(
        VOLUME,
        START,
        LOW_END,
        Input("time", "min", 0.05, 1440, "time that it took", error=0.05),
        AIR_C,
        SCALE,
        AROUND,
    ),
    work=_opening,
    formula=("opening = time that 1 mm2 would take / time",),
    holds="As let-down. The opening is in step with the volume: with the same volume "
    "in both sums, its error drops out of the time.",
    sources=("as let-down: worked-out, isentropic flow through an orifice",),
    example=("volume=280L", "start=85psi", "end=30psi", "time=228s"),
    cautions=LET_DOWN.cautions,
    reads=volume_marked,
)


SHEETS = (TYRE_FILL, LET_DOWN, VALVE_OPENING)
