"""Tyres: heat, height, leaks, and whether one may be filled again (the 80 % rule).

Pressures are gauge unless the name says `abs`. The drawer also holds the sums on size
(`tyre_size`), on filling and letting down (`tyre_fill`) and on loads (`tyre_load`).
"""

import math

from bot.calc import tyre_fill, tyre_load, tyre_size
from bot.calc.air import AROUND, free_air_l
from bot.calc.airflow import ZERO_C_K
from bot.calc.atmosphere import geopotential_m, standard_abs_kpa
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.calc.tyre_fill import FILL_CAUTIONS, SCALE, VOLUME
from bot.calc.tyre_size import volume_marked
from bot.units import PSI_KPA


def heated_kpa(kpa: float, from_c: float, to_c: float, around_kpa: float) -> float:
    """Gauge pressure of a closed tyre at another temperature, volume unchanged.

    >>> round(heated_kpa(85 * PSI_KPA, 20, -20, 101.325) / PSI_KPA, 2)
    71.4
    """
    ratio = (to_c + ZERO_C_K) / (from_c + ZERO_C_K)
    return (kpa + around_kpa) * ratio - around_kpa


def air_at_kpa(height_m: float) -> float:
    """Outside pressure at a height read off a map, standard atmosphere, up to 11 km.

    >>> round(air_at_kpa(3000), 2)
    70.12
    """
    return standard_abs_kpa(geopotential_m(height_m))


def _temperature(values: Values) -> list[Figure]:
    was, old, new = values["pressure"], values["set"], values["now"]
    kpa = heated_kpa(was, old, new, values["around"])
    step = (was + values["around"]) / (old + ZERO_C_K)
    return [
        Figure("pressure then", kpa, "kPa", "(pressure + around) x T2/T1 - around"),
        Figure("change", kpa - was, "kPa", "pressure then - pressure"),
        Figure("for every 10 K", 10 * step, "kPa", "absolute pressure x 10 / T1"),
    ]


TYRE_TEMPERATURE = Sheet(
    name="tyre-temperature",
    about="What a tyre reads at another temperature of its air.",
    inputs=(
        Input("pressure", "kPa", 0, 1200, "gauge, as set", error=7),
        Input("set", "degC", -60, 120, "air in the tyre when set", error=2),
        Input("now", "degC", -60, 120, "air in the tyre at the other time", error=2),
        AROUND,
    ),
    work=_temperature,
    formula=("absolute pressure goes as the temperature in kelvin",),
    holds="No leak, and the tyre keeps its volume (it stretches a little, so the real "
    "rise is slightly less). Never bleed a hot tyre to its cold figure.",
    sources=("gas at constant volume (law of physics)",),
    example=("pressure=85psi", "set=20degC", "now=-20degC"),
)


def _build_up(values: Values) -> list[Figure]:
    cold, hot = values["cold"], values["hot"]
    if hot < cold:
        raise SheetError("hot reads less than cold: the tyre leaks or was mixed up")
    ratio = (hot + values["around"]) / (cold + values["around"])
    air = (values["set"] + ZERO_C_K) * ratio - ZERO_C_K
    return [
        Figure("build-up", hot - cold, "kPa", "hot - cold"),
        Figure("air warmer by", air - values["set"], "K", "T1 x (p2 / p1 - 1)"),
        Figure("air in the tyre", air, "degC", "set + air warmer by"),
    ]


def _build_up_limits(_: Values) -> list[Limit]:
    whose = "top of the usual 10 to 15 psi, a truck operator's manual; no law"
    return [Limit(15 * PSI_KPA, Side.BELOW, whose, clears=False)]


BUILD_UP = Sheet(
    name="tyre-build-up",
    about="How warm a tyre runs, from its cold and its hot pressure.",
    inputs=(
        Input("cold", "kPa", 50, 1200, "gauge cold", error=7),
        Input("hot", "kPa", 50, 1400, "gauge right after the run", error=7),
        Input("set", "degC", -60, 60, "air when read cold", 20, error=2),
        AROUND,
    ),
    work=_build_up,
    formula=("air warmer by = T1 x (absolute hot / absolute cold - 1)",),
    holds="No air let in or out between. A high build-up speaks of too little "
    "pressure, too much load or speed, or a dragging brake. Never bleed a hot tyre.",
    sources=(
        "10 to 15 psi is usual: a truck operator's manual (seen)",
        "gas at constant volume (law of physics)",
    ),
    example=("cold=100psi", "hot=115psi", "set=20degC"),
    limits=_build_up_limits,
)


def _altitude(values: Values) -> list[Figure]:
    here, there = air_at_kpa(values["low"]), air_at_kpa(values["high"])
    change = here - there
    return [
        Figure("pressure there", values["pressure"] + change, "kPa", "gauge + change"),
        Figure("change", change, "kPa", "outside air here - there"),
        Figure("outside air there", there, "kPa abs", "standard atmosphere"),
        Figure("filling takes", here / there, "", "times as long as here"),
    ]


TYRE_ALTITUDE = Sheet(
    name="tyre-altitude",
    about="What a tyre's gauge reads at another height.",
    inputs=(
        Input("pressure", "kPa", 0, 1200, "gauge where it was set", error=7),
        Input("low", "m", -450, 6000, "height where it was set", 0, error=50),
        Input("high", "m", -450, 6000, "height there", error=50),
    ),
    work=_altitude,
    formula=(
        "outside air = 101.325 x (1 - 0.0065 H / 288.15)^5.255876 kPa, H the height in "
        "the standard atmosphere's metres, 0.05 % less at 3000 m",
        "gauge there = gauge + outside air here - outside air there",
    ),
    holds="Same temperature of the tyre; weather moves the outside air by 3 kPa either "
    "way. Do not bleed for a pass: it would be low on the way down.",
    sources=("US Standard Atmosphere 1976, same as ISO 2533 here (seen second-hand)",),
    example=("pressure=85psi", "high=3000m"),
)


def _leak(values: Values) -> list[Figure]:
    around = values["around"]
    end = heated_kpa(values["end"], values["endair"], values["startair"], around)
    fall = values["start"] - end
    if fall < 0:
        raise SheetError("at one temperature it rose: read both gauges again")
    litres = values["volume"] * values["scale"]
    rate = fall / values["time"]
    lost = free_air_l(litres, rate, around)
    figures = [
        Figure("free air lost", lost * 1000, "ml/min", "volume x rate / around"),
        Figure("fall at one temperature", fall, "kPa", "start - end, end corrected"),
        Figure("rate", rate * 14.4, "bar/day", "fall / time"),
    ]
    if rate > 0:  # in days, for a tyre leaks slowly or is flat
        left = 0.2 * values["start"] / rate / 1440
        figures.append(Figure("until a fifth is lost", left, "day", "at this rate"))
    return figures


TYRE_LEAK = Sheet(
    name="tyre-leak",
    about="How much free air a tyre with a puncture or slow leak loses.",
    inputs=(
        VOLUME,
        Input("start", "kPa", 1, 1200, "gauge at the start", error=7),
        Input("end", "kPa", 0, 1200, "gauge at the end, same gauge", error=7),
        Input("time", "min", 1, 600_000, "time between the two", error=1),
        Input("startair", "degC", -60, 80, "air in the tyre at start", 20, error=2),
        Input("endair", "degC", -60, 80, "air in the tyre at the end", 20, error=2),
        SCALE,
        AROUND,
    ),
    work=_leak,
    formula=(
        "end is first taken to the temperature of the start",
        "free air lost = volume x fall / (time x around)",
    ),
    holds="Tyre cold and at rest; 6 K of cooling looks like a loss of 2 psi at 85 psi. "
    "Truck tyres lose 1 to 3 psi a month at rest without any fault.",
    sources=(
        "free air: Boyle's law (law of physics)",
        "1 to 3 psi a month: trade press on truck tyres (seen)",
    ),
    example=("14.00R20", "start=85psi", "end=75psi", "time=10day"),
    reads=volume_marked,
)

LINE = 0.80
SWAPPED = 1.25
"""A tyre found so far over its pressure is a slip of the pen. Our choice."""

SOUND, SUSPECTED, SEEN = 0.0, 1.0, 2.0


def _again(values: Values) -> list[Figure]:
    found, wanted = values["found"], values["recommended"]
    lowest = min(found, values.get("lowest", found))
    if found > SWAPPED * wanted:
        raise SheetError("found is far above recommended: are the two swapped?")
    sound = values["damage"] == SOUND
    # rounded, for 68 of 85 psi is 80 % and not a hair more
    counts = round(100 * lowest / wanted, 9) if sound else 0.0
    by = "lowest of found and driven / recommended" if sound else "damage: as run flat"
    return [
        Figure("share that counts", counts, "%", by),
        Figure("line", LINE * wanted, "kPa", "0.8 x recommended"),
        Figure("over the line", lowest - LINE * wanted, "kPa", "lowest - line"),
    ]


def _again_limits(values: Values) -> list[Limit]:
    law = "29 CFR 1910.177(f), a US employers' rule: more than that; local law decides"
    if values["damage"] != SOUND:
        law = f"damage counts as run flat; {law}"
    # the rule says more than 80 %, so the line itself is on the wrong side
    line = math.nextafter(100 * LINE, 100)
    return [Limit(line, Side.ABOVE, law, doubt="add no air, treat it as run flat")]


FILL_AGAIN = Sheet(
    name="fill-again",
    about="Whether a tyre found low may be filled on the truck (80 % rule).",
    inputs=(
        Input(
            "found", "kPa", 0, 1200, "gauge as found, cold: heat hides 15 psi", error=7
        ),
        Input(
            "recommended",
            "kPa",
            100,
            1200,
            "for the load and speed it was driven at; if unknown, the road figure",
        ),
        Input(
            "lowest",
            "kPa",
            0,
            1200,
            "lowest it may have been driven at, if lower than found",
            optional=True,
            error=7,
        ),
        Input(
            "damage",
            "",
            0,
            2,
            "none, suspected or seen: cuts, bulges, ripples, rim or ring bent, cracked "
            "or out of place; suspected too when nobody knows how it was run",
            choices={"none": SOUND, "suspected": SUSPECTED, "seen": SEEN},
        ),
    ),
    work=_again,
    formula=("share = lower of found and lowest / recommended; more than 80 % passes",),
    holds="A pass is no proof: look at the inside after any run flat. Central "
    "inflation does not waive it: run low and pumped up again is still run low. Not "
    "within the limit or too close to call: do not add air. Core out, all air out, "
    "then off the truck, apart, inspected, and filled in a cage.",
    sources=(
        "80 % line, core out and deflated before removal: 29 CFR 1910.177(f), as "
        "reproduced in service manuals and state rules (seen second-hand)",
        "which pressure is 'recommended' on a truck with several (our choice)",
    ),
    example=("found=62psi", "recommended=85psi", "damage=none"),
    limits=_again_limits,
    cautions=(
        "DANGER: a tyre run low can burst its sidewall while it is filled, without "
        "warning, and kill. At or below 80 %, or damaged: add no air.",
        "DANGER: on a rim of several parts, take the core out and prove that all air "
        "is gone before you touch a ring or a rim nut.",
        FILL_CAUTIONS[1],
    ),
)

SHEETS = (
    *tyre_size.SHEETS,
    *tyre_fill.SHEETS,
    TYRE_TEMPERATURE,
    BUILD_UP,
    TYRE_ALTITUDE,
    TYRE_LEAK,
    FILL_AGAIN,
    *tyre_load.SHEETS,
)
