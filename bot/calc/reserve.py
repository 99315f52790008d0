"""Brakes and their tanks: how many applications are left, and what one takes.

Pressures are gauge; k is the volume of the tanks over that of the chambers they fill.
"""

import math

from bot.calc.air import (
    CHARGED,
    CHARGED_KPA,
    CHOCK,
    CUT_OUT_KPA,
    GAUGE_ERROR_KPA,
    LOW_AIR_KPA,
    MOST_RATIO,
    TANK_SHARE,
    fallen_kpa,
    refuse_low,
)
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.calc.workshop import counted
from bot.units import PSI_KPA

TANKS = Input("tanks", "L", 1, 1000, "tanks of the circuit, together", error=2)
CHAMBERS = Input(
    "chambers", "L", 0.1, 60, "their brake chambers, full stroke", error=0.3
)


def after_applications_kpa(start_kpa: float, ratio: float, count: float) -> float:
    """Gauge pressure after so many full applications with no air added.

    p = start * (k / (k + 1)) ** n, with k = tank volume / chamber volume. True where
    the chambers empty fully in between and the air has time to warm up again.
    Source: Boyle's law.

    >>> round(after_applications_kpa(125, 12, 8), 2)
    65.89
    """
    return start_kpa * math.pow(ratio / (ratio + 1), count)


def _brakes_left(values: Values) -> list[Figure]:
    start, low = values["start"], values["low"]
    refuse_low(start)
    if low > start:
        raise SheetError("the pressure is under low already; let it build up first")
    ratio = values["tanks"] / values["chambers"]
    kept = ratio / (ratio + 1)
    exact = math.log(low / start) / math.log(kept)
    # a hair is added so that the mark itself still counts as reached
    count = math.floor(exact + 1e-9)
    after = after_applications_kpa(start, ratio, count)
    return [
        Figure("brakings left", exact, "", "log (low / start) / log (k / (k + 1))"),
        Figure("whole brakings", count, "", "whole ones that end at low or above"),
        Figure("pressure after them", after, "kPa", "start x (k / (k + 1)) ^ brakings"),
        Figure("after one more", after * kept, "kPa", "the first one that ends below"),
        Figure("to half of start", math.log(0.5) / math.log(kept), "", "brakings"),
        Figure("k", ratio, "", "tanks / chambers"),
        Figure("kept by each", 100 * kept, "%", "k / (k + 1)"),
    ]


def _brakes_left_limits(_: Values) -> list[Limit]:
    says = "Western Australia r. 334: 5 from cut-out before half of it; local law rules"
    because = "a sum, no proof; make the test and work out brake-reserve"
    return [
        Limit(
            5,
            Side.ABOVE,
            says,
            clears=False,
            of="to half of start",
            doubt="make the test and work out brake-reserve",
            do="do not drive on these tanks",
            because=because,
        )
    ]


BRAKES_LEFT = Sheet(
    name="brakes-left",
    about="Full brake applications left, compressor dead, until a low mark is passed.",
    inputs=(
        Input("start", "kPa", 50, 1600, "gauge now", error=GAUGE_ERROR_KPA),
        Input(
            "low",
            "kPa",
            50,
            1600,
            "the mark not to be passed; brakes may fail from 60 psi (4.1 bar) down",
        ),
        TANKS,
        CHAMBERS,
    ),
    work=_brakes_left,
    formula=("pressure after n = start x (k / (k + 1)) ^ n, k = tanks / chambers",),
    holds="Full applications, let go fully in between, no air added; brakes adjusted, "
    "no leak. Each circuit by itself: the smaller k counts. A sum, no proof: the truck "
    "must pass its own test.",
    sources=(
        "formula: worked-out, Boyle's law",
        (
            "5 applications before half of cut-out: wa-vehicles-regulations-2014, "
            "regulation 334"
        ),
    ),
    example=("start=125psi", "low=60psi", "tanks=91L", "chambers=7.6L"),
    limits=_brakes_left_limits,
)


def _reserve(values: Values) -> list[Figure]:
    count = counted(values, "count")
    refuse_low(values["start"])
    if fallen_kpa(values) <= GAUGE_ERROR_KPA:
        raise SheetError(
            "brakings must cost air: see that the engine is off, the pedal went right "
            "down and the gauge moves"
        )
    kept = values["end"] / values["start"]
    each = math.pow(kept, 1 / count)
    figures = [
        Figure("kept", 100 * kept, "%", "end / start"),
        Figure("kept by each", 100 * each, "%", "(end / start) ^ (1 / count)"),
    ]
    if count not in _RULED:
        by = "what five would leave: each ^ 5"
        figures.append(Figure("kept by five", 100 * each**5, "%", by))
    by = "tanks / chambers that would give this: each / (1 - each)"
    return [*figures, Figure("k", each / (1 - each), "", by)]


_ONE = "393.50 older text, one full application, engine off; local law rules"
_FIVE = "Western Australia r. 334, 5 applications from cut-out; local law rules"
_RULED = {1: (70.0, _ONE, CHARGED_KPA), 5: (50.0, _FIVE, CUT_OUT_KPA)}
"""By the count of applications: the least share kept, whose rule, from what pressure;
any other count is put to five, and passes nothing."""


FIVE_KEEP = 0.5
"""What five applications must leave, by the rule that asks for them."""


def _reserve_limits(values: Values) -> list[Limit]:
    count = int(values["count"])
    least, says, full = _RULED.get(count, _RULED[5])
    because, of = ("", "") if count in _RULED else ("brake five times", "kept by five")
    if values["start"] < full:
        because = f"start again from cut-out, {full / PSI_KPA:.0f} psi or more"
    elif _reserve(values)[-1].value > MOST_RATIO:
        because = "so small a loss: see that the air reaches every chamber"
    elif values["end"] < LOW_AIR_KPA:
        because = "it ends under 60 psi (4.1 bar), where brakes may fail"
    elif count == 1 and _reserve(values)[1].value < 100 * FIVE_KEEP ** (1 / 5):
        because = "five like that leave less than half: brake five times"
    do = "do not drive: too little is kept"
    return [
        Limit(
            least,
            Side.ABOVE,
            says,
            clears=not because,
            of=of,
            because=because,
            do=do,
        )
    ]


BRAKE_RESERVE = Sheet(
    name="brake-reserve",
    about="Share of the pressure that is left after full applications, engine off.",
    inputs=(
        CHARGED,
        Input("end", "kPa", 1, 1600, "gauge after", error=GAUGE_ERROR_KPA),
        Input("count", "", 1, 20, "full applications in between", 1.0),
    ),
    work=_reserve,
    formula=("kept = end / start", "k = each / (1 - each), each = kept ^ (1 / count)"),
    holds="Full pedal, gauge still before it is read, no air added.",
    sources=(
        "at least 70 % after one: 49-cfr-393-50, older wording",
        ("half of cut-out after five: wa-vehicles-regulations-2014, regulation 334"),
        "k: worked-out, Boyle's law",
    ),
    example=("start=120psi", "end=110psi"),
    limits=_reserve_limits,
    cautions=(CHOCK,),
)


def _tank_ratio(values: Values) -> list[Figure]:
    ratio = values["tanks"] / values["chambers"]
    needed = TANK_SHARE * values["chambers"]
    return [
        Figure("k", ratio, "", "tanks / chambers"),
        Figure("tanks required", needed, "L", "12 x chambers"),
        Figure("lost by one braking", 100 / (ratio + 1), "%", "1 / (k + 1)"),
    ]


def _tank_limits(values: Values) -> list[Limit]:
    says = "FMVSS 121 S5.1.2.1, trucks and buses built to it; local law rules"
    doubt = "read the plates of tanks and chambers, and give them as exact (+-0)"
    many = values["tanks"] > MOST_RATIO * values["chambers"]
    because = "such tanks are rare: see that all chambers are counted" if many else ""
    return [
        Limit(
            TANK_SHARE,
            Side.ABOVE,
            says,
            clears=not many,
            doubt=doubt,
            because=because,
        )
    ]


TANK_RATIO = Sheet(
    name="tank-ratio",
    about="Whether the brake tanks are large enough for the brake chambers.",
    inputs=(TANKS, CHAMBERS),
    work=_tank_ratio,
    formula=("k = tanks / chambers", "tanks required = 12 x chambers"),
    holds="Service and supply tanks together; chambers at full stroke, by their marked "
    "or measured volume. Trailers and trucks older than the rule have other figures.",
    sources=(
        ("12 x chamber volume: fmvss-121, S5.1.2.1; nhtsa-letter-aiam1545, quotes it"),
        "loss: worked-out, Boyle's law",
    ),
    example=("tanks=91.3L", "chambers=7.6L"),
    limits=_tank_limits,
)

SHEETS = (BRAKES_LEFT, BRAKE_RESERVE, TANK_RATIO)
