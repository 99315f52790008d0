"""Tyres: heat, height, leaks, and whether one may be filled again (the 80 % rule).

Pressures are gauge unless the name says `abs`. The drawer also holds the sums on size
(`tyre_size`), on filling and letting down (`tyre_fill`), on markings (`tyre_marks`) and
on loads (`tyre_load`).
"""

import math

from bot.calc import tyre_fill, tyre_load, tyre_marks, tyre_size
from bot.calc.air import AROUND, free_air_l
from bot.calc.airflow import ZERO_C_K
from bot.calc.atmosphere import air_at_kpa
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.calc.tyre_fill import SCALE, VOLUME
from bot.calc.tyre_size import FILL_CAUTIONS, volume_marked
from bot.units import PSI_KPA


def heated_kpa(kpa: float, from_c: float, to_c: float, around_kpa: float) -> float:
    """Gauge pressure of a closed tyre at another temperature, volume unchanged.

    >>> round(heated_kpa(85 * PSI_KPA, 20, -20, 101.325) / PSI_KPA, 2)
    71.4
    """
    ratio = (to_c + ZERO_C_K) / (from_c + ZERO_C_K)
    return (kpa + around_kpa) * ratio - around_kpa


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
    sources=("gas at constant volume: worked-out, gas law",),
    example=("pressure=85psi", "set=20degC", "now=-20degC"),
)


def _run_hot(values: Values) -> list[Figure]:
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


def _run_hot_limits(_: Values) -> list[Limit]:
    whose = "top of the usual 10 to 15 psi, a truck operator's manual; no law"
    do = "do not bleed it; look for low air, overload, speed or a dragging brake"
    return [Limit(15 * PSI_KPA, Side.BELOW, whose, clears=False, do=do)]


TYRE_BUILD_UP = Sheet(
    name="tyre-build-up",
    about="How warm a tyre runs, from its cold and its hot pressure.",
    inputs=(
        Input("cold", "kPa", 50, 1200, "gauge cold", error=7),
        Input("hot", "kPa", 50, 1400, "gauge right after the run", error=7),
        Input("set", "degC", -60, 60, "air when read cold", 20, error=2),
        AROUND,
    ),
    work=_run_hot,
    formula=("air warmer by = T1 x (absolute hot / absolute cold - 1)",),
    holds="No air let in or out between. A high build-up speaks of too little "
    "pressure, too much load or speed, or a dragging brake. Never bleed a hot tyre.",
    sources=(
        (
            "10 to 15 psi is usual: common-practice, a truck operator's manual "
            "that cannot be named"
        ),
        "gas at constant volume: worked-out, gas law",
    ),
    example=("cold=100psi", "hot=115psi", "set=20degC"),
    limits=_run_hot_limits,
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
    sources=("air at height: us-standard-atmosphere-1976, same as ISO 2533 here",),
    example=("pressure=85psi", "high=3000m"),
)


LINE = 0.80
"""Share of its recommended pressure at which a tyre counts as run flat."""

NOISE_KPA = 20.0
"""What a gauge read twice, and two temperatures, may feign. Our choice."""


def _leak(values: Values) -> list[Figure]:
    around = values["around"]
    end = heated_kpa(values["end"], values["endair"], values["startair"], around)
    fall = values["start"] - end
    if fall < -NOISE_KPA:
        raise SheetError("at one temperature it rose: are start and end swapped?")
    if fall < 0:
        raise SheetError("no leak that these readings can show: wait longer, read cold")
    litres = values["volume"] * values["scale"]
    rate = fall / values["time"]
    lost = free_air_l(litres, rate, around)
    over = values["end"] - _line_kpa(values)
    figures = [
        Figure("free air lost", lost * 1000, "ml/min", "volume x rate / around"),
        Figure("fall at one temperature", fall, "kPa", "start - end, end corrected"),
        Figure("rate", rate * 14.4, "bar/day", "fall / time"),
        Figure("end", values["end"], "kPa", "as read"),
    ]
    if rate > 0 and over > 0:  # in days, for a tyre leaks slowly or is flat
        left, by = over / rate / 1440, "(end - 0.8 x recommended) / rate"
        figures.append(Figure("until the 80 % line", left, "day", by))
    return figures


def _line_kpa(values: Values) -> float:
    """80 % of the pressure that the tyre should have, or of what it had."""
    return LINE * values.get("recommended", values["start"])


def _leak_limits(values: Values) -> list[Limit]:
    return [
        Limit(
            _line_kpa(values),
            Side.ABOVE,
            "80 % of recommended, or else of start: 29 CFR 1910.177(f)",
            clears=False,
            of="end",
            because="fill-again decides",
            doubt="add no air, see fill-again",
            do="ADD NO AIR, see fill-again",
        )
    ]


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
        Input(
            "recommended",
            "kPa",
            100,
            1200,
            "for load and speed; start if left out",
            optional=True,
            error=7,
        ),
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
        "free air: worked-out, Boyle's law",
        "1 to 3 psi a month: tyre-air-loss-article",
        "80 % line: osha-chart-tubeless",
    ),
    example=("14.00R20", "start=85psi", "end=75psi", "time=10day"),
    limits=_leak_limits,
    reads=volume_marked,
)

SWAPPED = 1.25
"""A tyre found so far over its pressure is a slip of the pen. Our choice."""

SOUND, SUSPECTED, SEEN, UNKNOWN = 0.0, 1.0, 2.0, 3.0
COLD, HOT = 0.0, 1.0


def _again(values: Values) -> list[Figure]:
    found, wanted = values["found"], values["recommended"]
    lowest = values.get("lowest", found)
    if found > SWAPPED * wanted:
        raise SheetError("found is far above recommended: are the two swapped?")
    if lowest > found:
        raise SheetError("lowest is above found: give the lowest it was driven at")
    sound = values["damage"] == SOUND
    # rounded, for 68 of 85 psi is 80 % and not a hair more
    counts = round(100 * lowest / wanted, 9) if sound else 0.0
    by = "lowest / recommended" if sound else "damaged or not known: as run flat"
    line, over = LINE * wanted, lowest - LINE * wanted
    figures = [
        Figure("share that counts", counts, "%", by),
        Figure("line", line, "kPa", "0.8 x recommended"),
        Figure("over the line", over, "kPa", "lowest - line"),
    ]
    return figures if sound else figures[:2]


def _again_limits(values: Values) -> list[Limit]:
    law = "29 CFR 1910.177(f): fill on the truck only over that; local law decides"
    flat = ", it is flat" if values["found"] < NOISE_KPA else ""
    because = _unproven(values)
    return [
        Limit(
            # the rule says more than 80 %, so the line itself is on the wrong side
            math.nextafter(100 * LINE, 100),
            Side.ABOVE,
            law,
            clears=not because,
            because=because,
            doubt="add no air, treat it as run flat",
            do=f"ADD NO AIR{flat}: treat it as run flat",
        )
    ]


HOT_AIR = (
    "add no air yet: heat hides 15 psi (1 bar) or so; let it cool, read it again and "
    "give state=cold"
)


def _unproven(values: Values) -> str:
    """Why a share over the line is no leave to fill; nothing when it is."""
    if values.get("state") == HOT:
        return HOT_AIR
    ifs = []
    if "lowest" not in values:
        ifs.append("was never driven lower (give lowest)")
    if "state" not in values:
        ifs.append("is cold (give state=cold)")
    return f"only if it {' and '.join(ifs)}" if ifs else ""


FILL_AGAIN = Sheet(
    name="fill-again",
    about="Whether a tyre found low may be filled on the truck (80 % rule).",
    inputs=(
        Input("found", "kPa", 0, 1200, "gauge as found", error=7),
        Input(
            "recommended",
            "kPa",
            100,
            1200,
            "for the load and speed it was driven at; if unknown, the road figure",
            error=7,
        ),
        Input(
            "lowest",
            "kPa",
            0,
            1200,
            "lowest it was driven at, no higher than found; if nobody knows, "
            "damage=unknown",
            optional=True,
            error=7,
        ),
        Input(
            "state",
            "",
            0,
            1,
            "cold: stood for hours; hot passes nothing, for heat hides low air",
            optional=True,
            choices={"cold": COLD, "hot": HOT},
        ),
        Input(
            "damage",
            "",
            0,
            3,
            "cuts, bulges, ripples, rim or ring bent, cracked or out of place; unknown "
            "when nobody knows how it was run",
            choices={
                "none": SOUND,
                "suspected": SUSPECTED,
                "seen": SEEN,
                "unknown": UNKNOWN,
            },
        ),
    ),
    work=_again,
    formula=(
        "share = lowest it was driven at, cold / recommended; more than 80 % passes",
    ),
    holds="A pass is no proof: look at the inside after any run flat. Central "
    "inflation does not waive it: run low and pumped up again is still run low. Not "
    "within the limit or too close to call: do not add air. Core out, all air out, "
    "then off the truck, apart, inspected, and filled in a cage.",
    sources=(
        (
            "80 % line, core out before the wheel comes off, over it filled from "
            "a distance: 29-cfr-1910-177, (f)(2) and (f)(4), a US employers' "
            "rule; osha-chart-tubeless; tm-9-2330-335-14p, reprints the rule"
        ),
        (
            "heat hides 15 psi: 49-cfr-393-75, table 1, over 4000 lb, after an "
            "hour at 41 to 55 mph"
        ),
        "which pressure is 'recommended' on a truck with several: our-choice",
    ),
    example=(
        "found=62psi",
        "recommended=85psi",
        "lowest=62psi",
        "state=cold",
        "damage=none",
    ),
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
    TYRE_BUILD_UP,
    TYRE_ALTITUDE,
    TYRE_LEAK,
    FILL_AGAIN,
    *tyre_marks.SHEETS,
    *tyre_load.SHEETS,
)
