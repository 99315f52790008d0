"""Lead-acid batteries: charge by rested volts, drain, and the balance of a pair.

All functions take and give plain floats in the units that their names end in; tables
are for flooded batteries, one of 12 V.
"""

from types import MappingProxyType

from bot.calc import acid
from bot.calc.acid import BATTERY_CAUTION, DENSITY, FULL_1265
from bot.calc.copper import between
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

RESTED_V = ((11.89, 0.0), (12.06, 25.0), (12.24, 50.0), (12.45, 75.0), (12.65, 100.0))
"""Charge in % by rested volts, full at 1.265. Source: a maker's service text (seen)."""

OTHER_RESTED_V = ((12.15, 25.0), (12.30, 50.0), (12.45, 75.0), (12.66, 100.0))
"""The same by another table, which does not go lower. Source: trade press (seen)."""


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
        Figure("charge", rested_charge(each), "%", "one table; others an eighth off"),
        Figure("volts each", each, "V", "for one 12 V battery"),
    ]
    if each >= OTHER_RESTED_V[0][0]:
        other = between(OTHER_RESTED_V, each)
        figures.append(Figure("by another table", other, "%", "full at 12.66 V"))
    return figures


def _rested_limits(values: Values) -> list[Limit]:
    """A quarter charge by the more careful table, and, over full, a word on that."""
    quarter, full = OTHER_RESTED_V[0][0], OTHER_RESTED_V[-1][0]
    charge = "it will hardly start and may freeze; charge it, but never a frozen one"
    because = "volts tell nothing of capacity; load test it"
    if values["volts"] * TWELVE / values["system"] > full:
        because = f"full, or a charge just ended: if so, wait hours; {because}"
    return [
        Limit(
            quarter,
            Side.ABOVE,
            "a quarter charge by the more careful table",
            clears=False,
            of="volts each",
            doubt=charge,
            because=because,
            do=charge,
        )
    ]


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
        (
            "12.65, 12.45, 12.24, 12.06, 11.89 V: common-practice, a maker's text "
            "that cannot be named"
        ),
        "12.66, 12.45, 12.30, 12.15 V: battery-charge-article",
        "refused over 13 V and under 8 V each: our-choice",
    ),
    example=("volts=24.7V",),
    limits=_rested_limits,
    cautions=(BATTERY_CAUTION,),
)


SELF_LOSS = 0.001 / (FULL_1265 - DENSITY[FULL_1265][0][0]) * 100
"""Charge in % that a wet battery loses a day by itself: 0.001 of density.

Source: US Army TM 5-1185 (seen), by the density table of a full battery of 1.265.
"""


def _drain(values: Values) -> list[Figure]:
    left = values["charge"] - values["rest"]
    if left <= 0:
        raise SheetError(
            "charge is at or under rest already; charge the battery first, or give "
            "rest=0 for the days to flat"
        )
    capacity, a_day = values["capacity"], values["drain"] * 24
    a_day_share = a_day / capacity * 100 + SELF_LOSS
    days, spend = left / a_day_share, left / 100 * capacity
    figures = [
        Figure("days left", days, "day", "by drain and self-loss"),
        Figure("to spend", spend, "Ah", "(charge - rest) x capacity"),
        Figure("drain a day", a_day, "Ah", "drain x 24 h"),
        Figure("days by drain alone", spend / a_day, "day", "to spend / drain a day"),
        Figure("days to flat", values["charge"] / a_day_share, "day", "with rest 0"),
    ]
    if days < 1:
        figures.insert(1, Figure("hours left", days * 24, "h", "days left x 24"))
    return figures


STANDING_DRAIN = Sheet(
    name="standing-drain",
    about="Days that a parked truck's batteries last with something left on.",
    inputs=(
        Input("capacity", "Ah", 1, 2000, "of ONE battery of a series pair", error=10),
        Input("drain", "A", 0.0005, 20, "standing, A or mA, truck asleep", error=0.002),
        Input("charge", "%", 1, 100, "state of charge now", 100, error=5),
        Input("rest", "%", 0, 99, "charge that must remain to start", 60),
    ),
    work=_drain,
    formula=(
        "days = (charge - rest) / (100 x drain x 24 h / capacity + 0.69 % self-loss)",
    ),
    holds="Steady drain near 25 degC; cold or age take capacity. Two batteries in "
    "series have the capacity of one, side by side of both. The self-loss is that of "
    "an old wet battery, 0.001 of density a day; newer ones lose less.",
    sources=(
        "days = charge / current: worked-out, definition",
        (
            "no start after about 40 % is used, so 60 % rest: common-practice, a "
            "maker's bulletin that cannot be named"
        ),
        "0.001 a day by itself: tm-5-1185, storage, below 80 degF",
        "capacity 10 Ah and charge 5 % off unless said: our-choice",
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
        "reserve capacity is the minutes at 25 A: worked-out, definition",
        ("0.6 Ah a minute: common-practice, a maker's bulletin that cannot be named"),
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
    return [
        Limit(
            0.2,
            Side.BELOW,
            "rested, common practice",
            clears=False,
            because="two bad batteries are alike too; load test each",
            do="charge each by itself, then load test each",
        )
    ]


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
        (
            "charge by rested volts: common-practice, a maker's text that cannot "
            "be named"
        ),
        "0.2 V rested, 0.5 V on charge: common-practice",
    ),
    example=("first=12.62V", "second=12.31V"),
    limits=_pair_limits,
    cautions=(BATTERY_CAUTION,),
)

SHEETS = (
    RESTED_VOLTS,
    *acid.SHEETS,
    STANDING_DRAIN,
    RESERVE,
    PAIR,
)
