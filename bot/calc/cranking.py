"""Cranking and charging: volts that are lost, held, and given back."""

from types import MappingProxyType

from bot.calc.battery import BATTERY_CAUTION, SYSTEM, TWELVE, TWENTY_FOUR
from bot.calc.electrics import COUNTS, between
from bot.calc.sheet import Figure, Input, Limit, Sheet, Side, Values

WHOLE, FEED, EARTH = 0.0, 1.0, 2.0
CRANKING_OHM = 0.002
"""0.20 V each 100 A for the whole circuit. Source: US Army TM 10-3930-671-24 (seen)."""


def _cranking(values: Values) -> list[Figure]:
    drop, current = values["drop"], values["current"]
    return [
        Figure("drop", drop, "V", "as measured"),
        Figure("resistance", drop / current, "ohm", "drop / current"),
        Figure("lost as heat", drop * current, "W", "drop x current"),
        Figure("allowed in all", CRANKING_OHM * current, "V", "0.20 V each 100 A"),
    ]


def _cranking_limits(values: Values) -> list[Limit]:
    part = values["part"]
    if part == FEED:
        whose = "TM 10-3930-671-24, which does not say for 12 or 24 V"
        return [Limit(0.4, Side.BELOW, whose)]
    if part == EARTH:
        whose = "TM 5-3820-256-24-4, 12 V; no source was found for 24 V"
        return [Limit(0.2, Side.BELOW, whose)] if values["system"] == TWELVE else []
    whose = "0.20 V each 100 A, TM 10-3930-671-24"
    return [Limit(CRANKING_OHM * values["current"], Side.BELOW, whose)]


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
        "0.20 V each 100 A; 0.4 V battery to stud; post to clamp 0 V; 30 s on, 2 min "
        "rest, reading within 15 s: US Army TM 10-3930-671-24 (seen)",
        "0.2 V earth side, 12 V: US Army TM 5-3820-256-24-4 (seen)",
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


def _parts(values: Values) -> list[Figure]:
    allowed = sum(PARTS[name] * values[name] for name in PARTS)
    figures = [Figure("allowed drop", allowed, "V", "sum over the parts fitted")]
    if "measured" in values:
        over = max(0.0, values["measured"] - allowed)
        figures.append(Figure("over", over, "V", "measured - allowed, not under 0"))
    return figures


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
    ),
    work=_parts,
    formula=(
        "allowed = 0.1 short + 0.2 long + 0.1 switch + 0.2 solenoid + 0.3 magnetic",
    ),
    holds="12 V, cranking; joints count 0. A 24 V starter of the same power draws half "
    "the current, so there this sum is on the generous side.",
    sources=("each part's volts: US Army TM 5-3820-256-24-4 (seen)",),
    example=("short=1", "long=1", "switch=1", "solenoid=1", "magnetic=1"),
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


def _load_test(values: Values) -> list[Figure]:
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
        "least volts by temperature: US Army TM 5-4210-230-14&P-1 table 5 (seen)",
        "half the cold cranking amperes for 15 s (from memory)",
        "between its rows in straight lines (our choice)",
    ),
    example=("volts=9.9V", "temperature=10degC"),
    limits=lambda values: [
        Limit(
            between(LOAD_TEST_V, values["temperature"]),
            Side.ABOVE,
            "TM 5-4210-230-14&P-1 table 5",
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


def _charging(values: Values) -> list[Figure]:
    celsius, pairs = values["temperature"], values["system"] / TWELVE
    middle = pairs * (AT_FROST_V + A_KELVIN_V * celsius)
    figures = [
        Figure("volts", values["volts"], "V", "as measured"),
        Figure("middle setting", middle, "V", "14.782 V - 0.01628 V x degC, x 2 at 24"),
    ]
    if WINDOW_V[0][0] <= celsius <= WINDOW_V[-1][0]:
        low = pairs * between(WINDOW_V, celsius)
        high = low + pairs * WIDTH_V
        figures += [
            Figure("window low", low, "V", "table, doubled for 24 V"),
            Figure("window high", high, "V", "table, doubled for 24 V"),
        ]
    return figures


SEEN_24_V = (
    Limit(26.5, Side.ABOVE, "least of three 24 V settings seen", clears=False),
    Limit(30.1, Side.BELOW, "most of three 24 V settings seen", clears=False),
)
"""Ends of what 24 V chargers are set to at 15 to 35 degC.

Sources: US Army TM 5-3895-383-24, TM 5-3825-213-35, a maker's service text (seen).
"""


def _charging_limits(values: Values) -> list[Limit]:
    celsius = values["temperature"]
    if values["system"] == TWENTY_FOUR:
        return list(SEEN_24_V) if 15 <= celsius <= 35 else []
    if not WINDOW_V[0][0] <= celsius <= WINDOW_V[-1][0]:
        return []
    low = between(WINDOW_V, celsius)
    whose = "TM 10-3930-621-12, one regulator"
    return [Limit(low, Side.ABOVE, whose), Limit(low + WIDTH_V, Side.BELOW, whose)]


CHARGING_VOLTS = Sheet(
    name="charging-volts",
    about="Charging voltage against what a regulator gives at its temperature.",
    inputs=(
        Input("volts", "V", 0, 40, "at the battery, engine fast, charged", error=0.05),
        Input("temperature", "degC", -40, 65, "of the regulator's body", error=5),
        SYSTEM,
    ),
    work=_charging,
    formula=("window by table, in straight lines; doubled for 24 V",),
    holds="Charged battery, light load, 1000 rpm or more. The window is read from 18 "
    "to 63 degC; below, the straight line is a guide only. The vehicle's own setting "
    "comes first: 24 V ones are seen from 26.5 V to 30.1 V (winter step).",
    sources=(
        "12 V window by temperature: US Army TM 10-3930-621-12 (seen)",
        "26.5-28.5 V at 25 degC: US Army TM 5-3895-383-24 (seen)",
        "28 +-0.5 V: US Army TM 5-3825-213-35 (seen)",
        "26.5 to 30.1 V in three steps, 15-35 degC: a maker's service text (seen)",
        "straight line, and doubled for 24 V (our choice)",
    ),
    example=("volts=28.1V", "temperature=30degC"),
    limits=_charging_limits,
    cautions=(BATTERY_CAUTION,),
)

SHEETS = (CRANKING_DROP, STARTER_PARTS, LOAD_TEST, CHARGING_VOLTS)
