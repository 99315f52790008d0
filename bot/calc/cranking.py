"""Cranking and charging: volts that are lost, held, and given back."""

from dataclasses import replace
from types import MappingProxyType

from bot.calc.acid import BATTERY_CAUTION
from bot.calc.battery import SYSTEM, TWELVE
from bot.calc.copper import between
from bot.calc.electrics import COUNTS
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values

WHOLE, FEED, EARTH = 0.0, 1.0, 2.0
CRANKING_OHM = 0.002
"""0.20 V each 100 A for the whole circuit. Source: US Army TM 10-3930-671-24 (seen)."""

LEAST_WHOLE_OHM, LEAST_PART_OHM, STARTER_A = 0.0002, 0.00005, 100.0
"""No real circuit has less, as a metre of thick cable, no part of it less than a hand's
breadth; no heavy starter draws less. Our choice."""


def _refuse_no_drop(volts: float, least: float, system: float) -> None:
    """Refuse what no part of a cranking circuit loses."""
    if volts < least:
        raise SheetError(
            "no real part loses so little: a lead of the meter is off, or it did not "
            "crank"
        )
    if volts > system / 2:
        raise SheetError(
            "over half the system's volts is no drop along a part; hold the leads to "
            "its two ends, not one to earth"
        )


def _cranking(values: Values) -> list[Figure]:
    drop, current = values["drop"], values["current"]
    least = LEAST_WHOLE_OHM if values["part"] == WHOLE else LEAST_PART_OHM
    _refuse_no_drop(drop, least * current, values["system"])
    return [
        Figure("drop", drop, "V", "as measured"),
        Figure("resistance", drop / current, "ohm", "drop / current"),
        Figure("lost as heat", drop * current, "W", "drop x current"),
        Figure("allowed in all", CRANKING_OHM * current, "V", "0.20 V each 100 A"),
    ]


_AGAIN = "clean the joints, let all cool, and measure again"
_HALF = "half of what the whole circuit may lose, our choice"
_HALVE = "halve the circuit and measure again until the bad joint is found"
_FEED = Limit(
    0.4,
    Side.BELOW,
    "battery + to stud, TM 10-3930-671-24",
    clears=False,
    because="it does not say for 12 or 24 V; measure the whole circuit too",
    doubt=_AGAIN,
    do=_HALVE,
)
_EARTH_12 = Limit(
    0.2,
    Side.BELOW,
    "earth side, 12 V, TM 5-3820-256-24-4",
    doubt=_AGAIN,
    do=_HALVE,
)
_EARTH_24 = Limit(
    0.5,
    Side.BELOW,
    "a side of a 24 V circuit, common practice",
    clears=False,
    because="no source gives one; measure the whole circuit too",
    do=_HALVE,
)
_WHOLE = "whole circuit, 0.20 V each 100 A, TM 10-3930-671-24"


def _cranking_limits(values: Values) -> list[Limit]:
    """The tightest that holds: no part may lose more than the whole may."""
    most = CRANKING_OHM * values["current"]
    whole = Limit(most, Side.BELOW, _WHOLE, doubt=_AGAIN, do=_HALVE)
    if values["part"] == WHOLE:
        because = _odd_current(values["current"])
        return [replace(whole, clears=not because, because=because)]
    far = "a part must lose far less than the whole"
    whole = replace(whole, clears=False, because=far)
    earth = _EARTH_12 if values["system"] == TWELVE else _EARTH_24
    part = _FEED if values["part"] == FEED else earth
    least = min(part, whole, key=lambda limit: limit.value)
    half = replace(whole, value=most / 2, says=_HALF)
    if part is _EARTH_12 or half.value < least.value:
        return [least]
    return [half]


def _odd_current(amperes: float) -> str:
    """Why a current is none of a starter that turns its engine; or ""."""
    if amperes < STARTER_A:
        return "so few amperes turn no heavy starter"
    if amperes > MOST_STARTER_A:
        return "so many amperes: does the engine turn, or is it jammed or a short?"
    return ""


MOST_STARTER_A = 1200.0
"""More no sound starter draws once the engine turns. Our choice."""


_STARTER_CAUTION = (
    "WARNING: the starter turns the engine and can move the truck. Neutral, parking "
    "brake on, wheels chocked, fuel shut off so that it cannot fire, hands and "
    "clothing clear. 30 s on at most, then 2 min rest; read the drop within 15 s."
)

CRANKING_DROP = Sheet(
    name="cranking-drop",
    about="Volts lost in the starter's circuit as it cranks, and what is allowed.",
    inputs=(
        Input("drop", "V", 0, 30, "volts along the part, cranking", error=0.02),
        Input("current", "A", 10, 3000, "starter current", error=10),
        Input(
            "part",
            "",
            0,
            2,
            "all of the circuit, battery + to starter stud, or the earth side",
            WHOLE,
            choices=MappingProxyType({"whole": WHOLE, "feed": FEED, "earth": EARTH}),
        ),
        SYSTEM,
    ),
    work=_cranking,
    formula=("resistance = drop / current", "allowed in all = 0.20 V x current / 100"),
    holds="Charged battery, engine really cranking. From a post to its own clamp there "
    "is no drop at all: any reading there means clean the clamp. Halve the circuit and "
    "measure again to find the place.",
    sources=(
        (
            "0.20 V each 100 A, 0.4 V battery to stud, post to clamp 0 V, 30 s "
            "on, 2 min rest, reading within 15 s: tm-10-3930-671-24, volt drop "
            "tests"
        ),
        "0.2 V earth side, 12 V: tm-5-3820-256-24-4, cranking circuit",
        "0.5 V a side at 24 V: common-practice",
        ("under 0.2 mohm (a part 0.05) refused, under 100 A no clearing: our-choice"),
    ),
    example=("drop=0.9V", "current=600A"),
    limits=_cranking_limits,
    cautions=(_STARTER_CAUTION,),
)

PARTS = MappingProxyType(
    {"short": 0.1, "long": 0.2, "switch": 0.1, "solenoid": 0.2, "magnetic": 0.3}
)
"""Volts that each part of a 12 V cranking circuit may lose.

Source: US Army TM 5-3820-256-24-4 (seen)."""


LEAST_DROP_V = 0.02
"""Less than any part's drop as it cranks: a meter that is not connected. Our choice."""


def _allowed(values: Values) -> float:
    return sum(PARTS[name] * values[name] for name in PARTS)


def _parts(values: Values) -> list[Figure]:
    allowed = _allowed(values)
    if not allowed:
        raise SheetError("no part is given; write what is fitted, such as long=2")
    figures = [Figure("allowed drop", allowed, "V", "sum over the parts fitted")]
    if "measured" in values:
        measured = values["measured"]
        _refuse_no_drop(measured, LEAST_DROP_V, values["system"])
        figures += [
            Figure("measured", measured, "V", "as given"),
            Figure("in hand", allowed - measured, "V", "allowed - measured"),
        ]
    return figures


def _parts_limits(values: Values) -> list[Limit]:
    if "measured" not in values:
        return []
    return [
        Limit(
            _allowed(values),
            Side.BELOW,
            "sum of the parts, 12 V, TM 5-3820-256-24-4",
            clears=values["system"] == TWELVE,
            of="measured",
            because="it is for 12 V, and a like starter on 24 V draws half as much",
            do=_HALVE,
        )
    ]


STARTER_PARTS = Sheet(
    name="starter-parts",
    about="Volts that the parts of a 12 V cranking circuit may lose together.",
    inputs=(
        Input("short", "", 0, 9, "cables under 3 ft (0.9 m)", 0, choices=COUNTS),
        Input(
            "long", "", 0, 9, "cables of 3 to 6 ft (0.9 to 1.8 m)", 0, choices=COUNTS
        ),
        Input("switch", "", 0, 9, "mechanical switches", 0, choices=COUNTS),
        Input("solenoid", "", 0, 9, "solenoid switches", 0, choices=COUNTS),
        Input("magnetic", "", 0, 9, "magnetic switches", 0, choices=COUNTS),
        Input("measured", "V", 0, 12, "drop measured", optional=True, error=0.02),
        SYSTEM,
    ),
    work=_parts,
    formula=(
        "allowed = 0.1 short + 0.2 long + 0.1 switch + 0.2 solenoid + 0.3 magnetic",
    ),
    holds="12 V, cranking; joints count 0. A 24 V starter of the same power draws half "
    "the current, so there this sum is on the generous side.",
    sources=("each part's volts: tm-5-3820-256-24-4, cranking circuit",),
    example=("short=1", "long=1", "switch=1", "solenoid=1", "magnetic=1"),
    limits=_parts_limits,
    cautions=(_STARTER_CAUTION,),
)


LOAD_TEST_V = (
    (-18.0, 8.5),
    (-12.0, 8.7),
    (-7.0, 8.9),
    (-1.0, 9.1),
    (4.0, 9.3),
    (10.0, 9.4),
    (16.0, 9.5),
    (21.0, 9.6),
)
"""Least volts of a 12 V battery under load by degC; 9.6 holds above 21.

Source: US Army TM 5-4210-230-14&P-1 table 5 (seen).
"""

UNLOADED_V = 11.5
"""Over this a 12 V battery was not loaded as it should be. Our choice."""


def _load_test(values: Values) -> list[Figure]:
    if values["volts"] > UNLOADED_V:
        raise SheetError(
            "no loaded battery holds over 11.5 V: the load was off or far too small"
        )
    least = between(LOAD_TEST_V, values["temperature"])
    return [
        Figure("volts under load", values["volts"], "V", "as measured"),
        Figure("least allowed", least, "V", "table at this temperature"),
        Figure("in hand", values["volts"] - least, "V", "volts - least allowed"),
    ]


LOAD_TEST = Sheet(
    name="load-test",
    about="Volts of one 12 V battery at the end of a load test, against the least.",
    inputs=(
        Input("volts", "V", 0, 14, "at the end, load still on", error=0.05),
        Input("temperature", "degC", -18, 60, "of the battery", error=2),
    ),
    work=_load_test,
    formula=("least = 9.6 V from 21 degC up, 8.5 V at -18 degC, by the table between",),
    holds="One 12 V battery at a time, also of a 24 V pair; charged first; load about "
    "half its cold cranking amperes for 15 s. No figure below -18 degC: warm it.",
    sources=(
        "least volts by temperature: tm-5-4210-230-14p-1, table 5",
        "half the cold cranking amperes for 15 s: memory",
        "between its rows in straight lines, over 11.5 V refused: our-choice",
    ),
    example=("volts=9.9V", "temperature=10degC"),
    limits=lambda values: [
        Limit(
            between(LOAD_TEST_V, values["temperature"]),
            Side.ABOVE,
            "TM 5-4210-230-14&P-1 table 5",
            clears=False,
            because="the load is from memory: go by the tester's own handbook",
            doubt="charge it fully and test again",
            do="charge it fully and test again; replace it if it fails again",
        )
    ],
    cautions=(BATTERY_CAUTION,),
)


WINDOW_V = tuple(
    ((degf - 32) * 5 / 9, low)
    for degf, low in ((65, 14.1), (86, 13.9), (105, 13.7), (125, 13.5), (145, 13.4))
)
"""Least volts of a 12 V regulator by degC of its body; the most are 0.8 V more.

Source: US Army TM 10-3930-621-12 (seen).
"""

WIDTH_V = 0.8
AT_FROST_V, A_KELVIN_V = 14.782, -0.01628
"""Straight line through the middle of that window, best fit, from 0 degC."""


def _in_table(celsius: float) -> bool:
    return WINDOW_V[0][0] <= celsius <= WINDOW_V[-1][0]


def _middle(values: Values) -> float:
    pairs = values["system"] / TWELVE
    return pairs * (AT_FROST_V + A_KELVIN_V * values["temperature"])


def _window(values: Values) -> tuple[float, float]:
    """Least and most volts by the table, and where it ends by the straight line."""
    celsius, pairs = values["temperature"], values["system"] / TWELVE
    if _in_table(celsius):
        low = pairs * between(WINDOW_V, celsius)
    else:
        low = _middle(values) - pairs * WIDTH_V / 2
    return low, low + pairs * WIDTH_V


def _charging(values: Values) -> list[Figure]:
    low, high = _window(values)
    table = _in_table(values["temperature"])
    by = "table, doubled for 24 V" if table else "straight line, a guide only"
    line = "14.782 V - 0.01628 V x degC, x 2 at 24"
    return [
        Figure("volts", values["volts"], "V", "as measured"),
        Figure("middle setting", _middle(values), "V", line),
        Figure("window low", low, "V", by),
        Figure("window high", high, "V", by),
    ]


def _charging_limits(values: Values) -> list[Limit]:
    """The window that is shown, which clears only a 12 V set within its table."""
    twelve, table = values["system"] == TWELVE, _in_table(values["temperature"])
    why = "a 12 V window was doubled" if table else "the table ends at 18 and 63 degC"
    rest = "the vehicle's own setting comes first"
    whole = Limit(
        0.0,
        Side.ABOVE,
        "window of one regulator, TM 10-3930-621-12",
        clears=twelve and table,
        because=f"{why}; {rest}",
        doubt="measure at the posts with a better meter",
    )
    low, high = _window(values)
    weak = f"the batteries do not fill; {rest}"
    boils = f"it boils the batteries; {rest}"
    least = replace(whole, value=low, do=weak)
    if not twelve:
        says = "least that a 24 V alternator is allowed, TM 5-3895-383-24"
        least = replace(least, value=LEAST_24_V, says=says, because=rest)
    most = high if twelve else min(high, MOST_24_V)
    return [least, replace(whole, value=most, side=Side.BELOW, do=boils)]


MOST_24_V = 30.1
"""The winter step of one maker's 24 V regulator, the most seen. Source: a maker's
service text (seen)."""

LEAST_24_V = 26.5
"""Under any setting seen for 24 V: 27.5 +- 1.0 V at 25 degC, and the low step of
another's three. Sources: US Army TM 5-3895-383-24; a maker's service text (seen)."""


CHARGING_VOLTS = Sheet(
    name="charging-volts",
    about="Charging voltage of an alternator against its regulator's temperature.",
    inputs=(
        Input("volts", "V", 0, 40, "at the battery, engine fast, charged", error=0.05),
        Input("temperature", "degC", -40, 65, "of the regulator's body", error=5),
        SYSTEM,
    ),
    work=_charging,
    formula=("window by table, in straight lines; doubled for 24 V",),
    holds="Charged battery, light load, 1000 rpm or more. The table runs from 18 to 63 "
    "degC; beyond it the straight line is a guide only. The vehicle's own setting "
    "comes first: 24 V ones are seen from 26.5 V to 30.1 V (winter step).",
    sources=(
        "12 V window by temperature: tm-10-3930-621-12, voltage regulator",
        "26.5-28.5 V at 25 degC: tm-5-3895-383-24, 24 V alternator",
        "28 +-0.5 V: tm-5-3825-213-35, 28 V regulator on the bench",
        (
            "26.5 to 30.1 V in three steps, 15-35 degC: common-practice, a "
            "maker's text that cannot be named"
        ),
        "straight line, and doubled for 24 V: our-choice",
    ),
    example=("volts=28.1V", "temperature=30degC"),
    limits=_charging_limits,
    cautions=(BATTERY_CAUTION,),
)

SHEETS = (CRANKING_DROP, STARTER_PARTS, LOAD_TEST, CHARGING_VOLTS)
