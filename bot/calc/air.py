"""Air in tanks: how fast it is lost and how fast it builds up.

All functions take and give plain floats in the units that their names end in; pressures
are gauge unless the name says `abs`. Free air is air as the compressor draws it in.
"""

import math

from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.units import PSI_KPA

SEA_LEVEL_KPA = 101.325
"""Standard atmosphere at sea level. Source: ISO 2533 (seen second-hand)."""

GAUGE_ERROR_KPA = 7.0
"""How far a reading on a dashboard gauge may be off. Source: our choice, 1 psi."""

WEATHER_KPA = 3.0
"""How far the weather moves the air pressure outside. Common practice, no source."""

CHOCK = (
    "WARNING: brakes may slam on or let go as pressure changes. Chock the wheels "
    "both ways first."
)


def free_air_l(volume_l: float, rise_kpa: float, around_kpa: float) -> float:
    """Free air that raises a closed volume by so much, at the same temperature, in L.

    Source: Boyle's law.

    >>> round(free_air_l(100, 800, 101.325), 1)
    789.5
    """
    return volume_l * rise_kpa / around_kpa


def fallen_kpa(values: Values) -> float:
    """How far the pressure fell from start to end, in kPa.

    Raises:
        SheetError: it rose by more than a gauge may err.
    """
    fall = values["start"] - values["end"]
    if fall < -GAUGE_ERROR_KPA:
        raise SheetError(
            "the pressure rose: are start and end swapped, or does something fill it?"
        )
    return max(0.0, fall)


START = Input("start", "kPa", 0, 1600, "gauge at the start", error=GAUGE_ERROR_KPA)
END = Input("end", "kPa", 0, 1600, "gauge at the end", error=GAUGE_ERROR_KPA)
CHARGED = Input("start", "kPa", 50, 1600, "gauge before", error=GAUGE_ERROR_KPA)
TIME = Input("time", "min", 0.1, 10_000, "minutes between the two", error=0.05)
VOLUME = Input("volume", "L", 1, 3000, "all tanks that hang together")
AROUND = Input(
    "around",
    "kPa abs",
    30,
    110,
    "air pressure outside; sea level unless said",
    SEA_LEVEL_KPA,
    error=WEATHER_KPA,
)
BOYLE = "free air: worked-out, Boyle's law"


# --- how fast a parked system loses pressure

SINGLE, COMBINATION, TRIPLE = 1.0, 2.0, 3.0
OFF, ON = 0.0, 1.0
MANUAL, ONTARIO, QUEBEC = 0.0, 1.0, 2.0

CHARGED_KPA, CUT_OUT_KPA = 90 * PSI_KPA, 105 * PSI_KPA
"""A leak test starts from a charged system, with the pedal down or up; otherwise its
figure can reject and clears nothing. Source: 90 psi on the pedal and a full system off
it, model commercial driver manual section 5.3 (seen second-hand); 105 psi as the least
that is full is our choice."""

SHORT_TEST_MIN, SMALL_FALL = 30.0, 0.2
"""A longer test, or one in which more than this share is lost, clears nothing: its mean
hides how fast the full system leaks. Our choice."""

TANK_SHARE = 12.0
"""Tanks for each litre of service chambers: FMVSS 121 S5.1.2.1 (seen)."""

MOST_RATIO = 25.0
"""Over this few trucks go: so small a loss hints that no air reached the chambers, or
not all of them were counted. Our choice, about twice the least by `TANK_SHARE`."""

LEAST_TANKS_L = 91.0
"""Tanks of the least size for a truck of six medium chambers, which the limits were
written for. Source: 12 x 7.6 L, FMVSS 121 S5.1.2.1 in an agency letter (seen)."""

_MANUAL_PSI = {
    (SINGLE, OFF): 2,
    (COMBINATION, OFF): 3,
    (TRIPLE, OFF): 5,
    (SINGLE, ON): 3,
    (COMBINATION, ON): 4,
    (TRIPLE, ON): 6,
}
_ONTARIO_KPA = {SINGLE: 21.0, COMBINATION: 28.0, TRIPLE: 28.0}
_QUEBEC_KPA = {SINGLE: 40.0, COMBINATION: 48.0, TRIPLE: 62.0}


LOW_AIR_KPA = 60 * PSI_KPA
"""The usual low-air mark. Source: model commercial driver manual section 5 (seen
second-hand)."""


def refuse_low(start_kpa: float) -> None:
    """A system near its low-air mark is not tested but filled."""
    if start_kpa < LOW_AIR_KPA:
        raise SheetError(
            "under 60 psi (4.1 bar) brakes may fail: do not drive, fill to cut-out, "
            "then test"
        )


def _leak_rate(values: Values) -> list[Figure]:
    if values["rule"] != MANUAL and values["brakes"] == OFF:
        raise SheetError(
            "Ontario and Quebec test with the pedal down; test with brakes=applied"
        )
    refuse_low(values["start"])
    fall = fallen_kpa(values)
    rate = fall / values["time"]
    figures = [
        Figure("leak", rate, "kPa/min", "fall / time, not yet corrected for cooling"),
        Figure("leak at the start", _at_start(values), "kPa/min", "full tanks leak so"),
        Figure("fall", fall, "kPa", "start - end"),
    ]
    if fall and values["end"] > LOW_AIR_KPA:
        left = _decay(values["end"], LOW_AIR_KPA, values["around"])
        share = left / _decay(values["start"], values["end"], values["around"])
        hours = share * values["time"] / 60
        by = "at this leak" if hours < 2 else f"at this leak; some {hours:.0f} h"
        figures.append(Figure("from there to 60 psi", hours, "h", by))
    if values["time"] > SHORT_TEST_MIN:
        figures.append(Figure("leak an hour", 60 * rate, "kPa/h", "60 min x leak"))
    if "volume" in values:
        lost = free_air_l(values["volume"], rate, values["around"])
        figures.append(Figure("free air lost", lost, "L/min", "volume x leak / around"))
    return [*figures, *low_end(values)]


def low_end(values: Values) -> list[Figure]:
    """The gauge at the end, where it is under the low-air mark by more than it errs."""
    if values["end"] > LOW_AIR_KPA - GAUGE_ERROR_KPA:
        return []
    return [Figure("end", values["end"], "kPa", "as read")]


def low_end_limits(values: Values) -> list[Limit]:
    """However slow the leak was: a truck under its low-air mark is not driven."""
    low_air = Limit(
        LOW_AIR_KPA,
        Side.ABOVE,
        "low-air mark, 60 psi; local law rules",
        clears=False,
        of="end",
        doubt="do not drive; fill to cut-out",
        do="brakes may fail: do not drive, fill to cut-out",
    )
    return [low_air for _ in low_end(values)]


def ends_low(values: Values) -> str:
    """What to do, however slow the leak, where the gauge ends under the mark; or ""."""
    if values["end"] >= LOW_AIR_KPA:
        return ""
    return "it ends under 60 psi (4.1 bar): do not drive, fill to cut-out"


def _decay(high_kpa: float, low_kpa: float, around_kpa: float) -> float:
    """Of absolute pressures: a leak takes the same share of them in the same time."""
    return math.log((high_kpa + around_kpa) / (low_kpa + around_kpa))


def _at_start(values: Values) -> float:
    """How fast the full tanks leak, in kPa/min; the mean of a long fall hides it."""
    absolute = values["start"] + values["around"]
    end = values["start"] - fallen_kpa(values)
    return absolute * _decay(values["start"], end, values["around"]) / values["time"]


def _leak_limits(values: Values) -> list[Limit]:
    most, says = _most_leak(values)
    because = _unlike_the_test(values, most)
    return [
        Limit(
            most,
            Side.BELOW,
            says,
            clears=not because,
            of="leak at the start",
            because=because,
            do="do not drive; find the leak",
        ),
        *low_end_limits(values),
    ]


def _most_leak(values: Values) -> tuple[float, str]:
    """The most that a rule allows, in kPa/min, and whose rule it is."""
    vehicle, rule = values["vehicle"], values["rule"]
    if rule == ONTARIO:
        says = "Ontario daily test, pedal down: more is a major defect; local law rules"
        return _ONTARIO_KPA[vehicle], says
    if rule == QUEBEC:
        says = "Quebec C-24.2 r. 32 s. 166, one minute, pedal down; local law rules"
        return _QUEBEC_KPA[vehicle], says
    allowed = _MANUAL_PSI[vehicle, values["brakes"]]
    whose = "model commercial driver manual section 5"
    if vehicle == TRIPLE:
        whose = "a licence office's check as quoted"
    size = "" if "volume" in values else ", tanks of the least size"
    return allowed * PSI_KPA, f"{allowed} psi/min, {whose}{size}; no law"


def _unlike_the_test(values: Values, most: float) -> str:
    """Why a small leak passes nothing, for the test was not as asked; or ""."""
    start, end, time = values["start"], values["end"], values["time"]
    pedal_up = values["brakes"] == OFF or values["rule"] == QUEBEC
    least = CUT_OUT_KPA if pedal_up else CHARGED_KPA
    if "cutout" in values:
        least = max(values["cutout"] - 2 * GAUGE_ERROR_KPA, CHARGED_KPA)
    if ends_low(values):
        return ends_low(values)
    if start < least:
        psi, bar = least / PSI_KPA, least / 100
        return f"start again from cut-out, {psi:.0f} psi ({bar:.1f} bar) or more"
    longest = SHORT_TEST_MIN if values["rule"] == MANUAL else LAW_TEST_MIN
    if time > longest:
        return f"test for {longest:.0f} min at most"
    if start - end > SMALL_FALL * start:
        return "too much was lost; find the leak"
    if values["rule"] == MANUAL and values["vehicle"] == TRIPLE:
        return "it is no more than a quoted check"
    volume = values.get("volume", 0.0)
    if volume * _at_start(values) > LEAST_TANKS_L * most:
        return "large tanks hide a large leak: see the free air"
    return ""


LAW_TEST_MIN = 5.0
"""The legal tests take a minute; more than so many say less. Our choice."""


LEAK_RATE = Sheet(
    name="leak-rate",
    about="How fast a parked air system loses pressure, engine off.",
    inputs=(
        START,
        END,
        TIME,
        Input(
            "vehicle",
            "",
            1,
            3,
            "truck alone, with a trailer, or three in a row",
            SINGLE,
            choices={"single": SINGLE, "combination": COMBINATION, "triple": TRIPLE},
        ),
        Input(
            "brakes", "", 0, 1, "pedal", OFF, choices={"released": OFF, "applied": ON}
        ),
        Input(
            "rule",
            "",
            0,
            2,
            "whose limit to hold it against",
            MANUAL,
            choices={"manual": MANUAL, "ontario": ONTARIO, "quebec": QUEBEC},
        ),
        Input("volume", "L", 1, 3000, VOLUME.says, optional=True),
        Input(
            "cutout",
            "kPa",
            400,
            1600,
            "where the pump stops, if under 105 psi (7.2 bar)",
            optional=True,
        ),
        AROUND,
    ),
    work=_leak_rate,
    formula=(
        "leak = (start - end) / time; at the start = absolute start x ln(absolute "
        "start / absolute end) / time",
        "free air = volume x leak / around",
    ),
    holds="Tanks settled and at one temperature: a fast fill ends hot, and a tank that "
    "cools by 20 K from 8 bar falls by half a bar without any leak (cold-fall takes "
    "that off). The limits were written for tanks of the least size; large tanks hide "
    "a large leak, so give the volume and look at the free air too.",
    sources=(
        (
            "2 and 3 psi/min released, 3 and 4 applied, single and combination: "
            "driver-manual, section 5.3, a manual, no law"
        ),
        "5 and 6 psi/min for three vehicles: driver-manual-in-cab, as quoted",
        "21 and 28 kPa/min applied: ontario-truck-handbook, 6-1-4",
        (
            "40, 48 and 62 kPa in one minute applied: quebec-c-24-2-r-32, section "
            "166 (5)"
        ),
        BOYLE,
    ),
    example=("start=8.2bar", "end=8.0bar", "time=5min", "volume=100L"),
    limits=_leak_limits,
    cautions=(CHOCK,),
)


# --- what a service tank loses when the supply side is emptied


def _supply_loss(values: Values) -> list[Figure]:
    refuse_low(values["start"])
    fall, around = fallen_kpa(values), SEA_LEVEL_KPA
    end = values["start"] - fall
    decay = _decay(values["start"], end, around) / values["time"]
    ten = (values["start"] + around) * (1 - math.exp(-10 * decay))
    return [
        Figure("loss rate", fall / values["time"], "kPa/min", "fall / time"),
        Figure("loss in 10 min", ten, "kPa", "the first ten, at this leak"),
        Figure("kept", 100 * values["end"] / values["start"], "%", "end / start"),
        Figure("fall", fall, "kPa", "start - end"),
        *low_end(values),
    ]


def _supply_limits(values: Values) -> list[Limit]:
    says = "10 psi in 10 min, agency letter of 1977 on check valves; local law rules"
    like = values["start"] >= CHARGED_KPA and 8 <= values["time"] <= 15
    because = "" if like else "test for ten minutes, from 90 psi or more"
    because = ends_low(values) or because
    return [
        Limit(
            10 * PSI_KPA,
            Side.BELOW,
            says,
            clears=not because,
            of="loss in 10 min",
            because=because,
            do="the check valve does not keep this tank: do not drive",
        ),
        *low_end_limits(values),
    ]


SUPPLY_LOSS = Sheet(
    name="supply-loss",
    about="How well a check valve keeps a brake tank when the supply side is emptied.",
    inputs=(CHARGED, END, TIME),
    work=_supply_loss,
    formula=("loss rate = (start - end) / time", "kept = end / start"),
    holds="Near sea level; engine off, wet tank drained, this tank's own leaks "
    "measured before; test each circuit by itself, and for ten minutes.",
    sources=(
        (
            "at most 10 psi in 10 min counts as protected: nhtsa-letter-aiam2670, "
            "on FMVSS 121 S5.1.2.3"
        ),
    ),
    example=("start=110psi", "end=107psi", "time=10min"),
    limits=_supply_limits,
    cautions=(
        CHOCK,
        "CAUTION: a drain throws water, oil and grit. Eyes covered, face turned away.",
    ),
)

SHEETS = (LEAK_RATE, SUPPLY_LOSS)
