"""Repairs and spares over hours: is it getting worse, how long it lasts, what to carry.

All times are in hours. What rests on counted trials is in `bot.calc.workshop`.
"""

import math

from bot.calc.chances import at_most, stock_needed, worst_expected
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.calc.workshop import NEVER_CLEARED, SURE, counted

MOST_EXPECTED = 1000.0
"""Failures expected over which a count of spares says nothing. Source: our choice."""


def laplace_z(mean_h: float, span_h: float, repairs: int) -> float:
    """Laplace's trend figure: positive when repairs crowd towards the end.

    Args:
        mean_h: mean of the repair times since the start, 0 to `span_h`.
        span_h: hours watched.
        repairs: how many, 1 or more.

    >>> round(laplace_z(497.3, 2000, 9), 3)
    -2.612
    """
    return (mean_h - span_h / 2) / (span_h * math.sqrt(1 / (12 * repairs)))


def _repair_trend(values: Values) -> list[Figure]:
    repairs = counted(values, "repairs")
    if values["mean"] > values["span"]:
        raise SheetError("the mean time is beyond the span; count both from one start")
    z = laplace_z(values["mean"], values["span"], repairs)
    luck = 50 * math.erfc(abs(z) / math.sqrt(2))
    gap = values["span"] / repairs
    return [
        Figure("trend", z, "", "(mean - span/2) / (span x sqrt(1 / (12 repairs)))"),
        Figure("by luck", luck, "%", "normal law: a trend as strong, that way"),
        Figure("hours a repair", gap, "h", "span / repairs"),
    ]


ONE_WAY_5 = 1.645
"""Normal deviate with 5 % above it. Source: definition of the normal distribution."""


def _trend_limits(_: Values) -> list[Limit]:
    says = "5 % level of the normal law; beyond it repairs may be coming faster"
    return [Limit(ONE_WAY_5, Side.BELOW, says, clears=False)]


REPAIR_TREND = Sheet(
    name="repair-trend",
    about="Whether repairs come ever faster (plus) or ever slower (minus).",
    inputs=(
        Input("repairs", "", 5, 1000, "repairs in the span"),
        Input("span", "h", 1, 500_000, "hours watched, from one start"),
        Input("mean", "h", 0, 500_000, "mean of the repair times since that start"),
    ),
    work=_repair_trend,
    formula=("z = (mean - span/2) / (span x sqrt(1 / (12 repairs)))",),
    holds="At least five repairs of one kind, watched without gaps. Where the span "
    "ends with a repair, leave that one out of the count and the mean. Kilometres "
    "serve as well: type them as bare numbers throughout. Other trend tests may "
    "disagree: read 'may', not 'is'.",
    sources=(
        "Laplace trend test: reliability-library, ROCOF",
        "five repairs at least: our-choice",
        "1.645: worked-out, normal law, 5 % above",
    ),
    example=("repairs=9", "span=2000h", "mean=497.3h"),
    limits=_trend_limits,
    cautions=NEVER_CLEARED,
)


def _expected(values: Values) -> float:
    expected = counted(values, "units") * values["hours"] / values["mtbf"]
    if expected > MOST_EXPECTED:
        raise SheetError("that is over 1000 failures on one trip; check the mean time")
    return expected


def _spares(values: Values) -> list[Figure]:
    expected = _expected(values)
    stock = stock_needed(expected, values["sure"] / 100)
    enough = 100 * at_most(stock, expected)
    return [
        Figure("spares to take", stock, "", "fewest with: chance enough >= sure"),
        Figure("failures expected", expected, "", "units x hours / mtbf"),
        Figure("enough", enough, "%", "sum of e^-m m^i / i!, i = 0 to spares"),
        *_one_fewer(stock, expected),
    ]


def _one_fewer(stock: int, expected: float) -> list[Figure]:
    if stock == 0:
        return []
    enough = 100 * at_most(stock - 1, expected)
    return [Figure("enough with one fewer", enough, "%", "the same, i to spares - 1")]


def _stock(values: Values) -> list[Figure]:
    expected, stock = _expected(values), counted(values, "stock")
    enough = 100 * at_most(stock, expected)
    return [
        Figure("enough", enough, "%", "sum of e^-m m^i / i!, i = 0 to stock"),
        Figure("runs out", 100 - enough, "%", "100 % - enough"),
        Figure("failures expected", expected, "", "units x hours / mtbf"),
    ]


UNITS = Input("units", "", 1, 10_000, "such parts at work, on all trucks together")
HOURS = Input("hours", "h", 0.1, 100_000, "hours each of them works on the trip")
MTBF = Input("mtbf", "h", 1, 500_000, "mean time between failures of one part")
POISSON = "m = units x hours / mtbf: worked-out, Poisson's law"
STEADY = (
    "Failures at a steady rate, each independent; worn parts fail faster than that. A "
    "mean time from few failures is vague: try the lower bound that sheet mtbf-lower "
    "gives."
)

SPARES = Sheet(
    name="spares",
    about="Spares to take on a trip so that they are enough.",
    inputs=(UNITS, HOURS, MTBF, SURE),
    work=_spares,
    formula=("enough = sum of e^-m m^i / i! for i = 0 to spares",),
    holds=STEADY,
    sources=(POISSON, "95 % unless said: our-choice"),
    example=("units=20", "hours=90day", "mtbf=10000h"),
    cautions=NEVER_CLEARED,
)

STOCK = Sheet(
    name="spares-chance",
    about="The chance that the spares on board are enough for the trip.",
    inputs=(UNITS, HOURS, MTBF, Input("stock", "", 0, 2000, "spares on board")),
    work=_stock,
    formula=("enough = sum of e^-m m^i / i! for i = 0 to stock",),
    holds=STEADY,
    sources=(POISSON,),
    example=("units=20", "hours=90day", "mtbf=10000h", "stock=7"),
    cautions=NEVER_CLEARED,
)

AT_TIME, AT_FAILURE = 0.0, 1.0


def _mtbf_lower(values: Values) -> list[Figure]:
    seen, hours, sure = counted(values, "failures"), values["hours"], values["sure"]
    counts = seen - int(values["ended"])
    if counts < 0:
        raise SheetError("without a failure the watch cannot have ended with one")
    lower = hours / worst_expected(counts, sure / 100)
    freedom = "2r" if values["ended"] else "2r + 2"
    figures = [Figure("mtbf at least", lower, "h", f"2 hours / chi2(sure; {freedom})")]
    if seen:
        upper = hours / worst_expected(seen - 1, 1 - sure / 100)
        figures += [
            Figure("mtbf at most", upper, "h", "2 hours / chi2(1 - sure; 2r)"),
            Figure("mtbf seen", hours / seen, "h", "hours / failures"),
        ]
    if "target" in values:
        above = 100 * (1 - at_most(counts, hours / values["target"]))
        by = f"chance that chi2({freedom}) is under 2 hours / target"
        figures.append(Figure("sure of target", above, "%", by))
    return figures


MTBF_LOWER = Sheet(
    name="mtbf-lower",
    about="The mean time between failures that one can be sure of, from few failures.",
    inputs=(
        Input("hours", "h", 1, 900_000, "hours watched, all units added up"),
        Input("failures", "", 0, 1000, "failures in these hours"),
        SURE,
        Input(
            "ended",
            "",
            0,
            1,
            "watched until a set time, or until a failure",
            AT_TIME,
            choices={"time": AT_TIME, "failure": AT_FAILURE},
        ),
        Input("target", "h", 1, 500_000, "mean time you hope for", optional=True),
    ),
    work=_mtbf_lower,
    formula=(
        "at least = 2 hours / chi2(sure; 2r + 2), or 2r if a failure ended it",
        "at most = 2 hours / chi2(1 - sure; 2r)",
    ),
    holds="Failures at a steady rate, neither running in nor wearing out: see sheet "
    "repair-trend first. Each bound is sure by itself; the two together leave out "
    "twice as much, so 95 % bounds are the 90 % interval.",
    sources=("chi-square bounds: nist-e-handbook, 8.4.5.1",),
    example=("hours=800h", "failures=2", "sure=95%"),
    cautions=NEVER_CLEARED,
)

SHEETS = (REPAIR_TREND, SPARES, STOCK, MTBF_LOWER)
