"""Counting trials: when clean runs mean something, and how sure a share is.

Shares are per cent in the sheets and 0 to 1 in the functions. A trial is one try under
the conditions in which the fault showed. What rests on hours instead of trials is in
`bot.calc.trend`.
"""

import math

from bot.calc.chances import at_least, exact, normal_reach, sequential, wilson
from bot.calc.sheet import Figure, Input, Sheet, SheetError, Values

NEVER_CLEARED = (
    "WARNING: steering, brakes, wheel ends and lifting gear are never cleared by "
    "statistics. Find the fault and put it right before the truck moves.",
)
"""Stands on every sheet that could be read as leave to drive. Source: our choice."""

MOST_TRIALS = 2000


def clean_needed(stays_away: float, sure: float) -> float:
    """Clean trials (not rounded) that a worse share would hardly have given.

    Args:
        stays_away: the chance that one trial is clean although the fault is there, over
            0 and under 1.
        sure: the confidence, over 0 and under 1.

    Source: success-run theorem: stays_away ** n = 1 - sure.

    >>> round(clean_needed(0.9, 0.95), 2)
    28.43
    """
    return math.log(1 - sure) / math.log(stays_away)


def whole_up(exact_count: float) -> int:
    """The next whole number; a hair over one, as rounding leaves it, is that one.

    >>> whole_up(28.43), whole_up(2.0000000000000004)
    (29, 2)
    """
    return math.ceil(exact_count - 1e-9)


def counted(values: Values, name: str) -> int:
    """A count among the inputs.

    Raises:
        SheetError: it is no whole number.
    """
    if values[name] % 1:
        raise SheetError(f"{name} is a count: give a whole number")
    return int(values[name])


SURE = Input("sure", "%", 50, 99.99, "how sure you want to be", 95)
ONE_IN = Input(
    "onein",
    "",
    1,
    1000,
    "without a repair it shows one time in this many: 3 for one in three",
)
TRIALS = Input("trials", "", 1, MOST_TRIALS, "trials made, clean ones too")
FAILED = Input("failed", "", 0, MOST_TRIALS, "trials in which the fault showed")

SAME_CONDITIONS = (
    "Trials under the conditions in which the fault showed (hot, wet, loaded, rough), "
    "each independent of the last."
)
SUCCESS_RUN = "(1 - share)^n = 1 - sure: worked-out, success-run theorem"


def _stays_away(values: Values) -> float:
    """The chance that one trial is clean although the fault is there.

    Raises:
        SheetError: none at all, so that one trial would prove the cure.
    """
    if values["onein"] == 1:
        raise SheetError(
            "count it first: a fault that always shows needs one clean trial and "
            "proves little"
        )
    return 1 - 1 / values["onein"]


def _clean_trials(values: Values) -> list[Figure]:
    sure, away = values["sure"] / 100, _stays_away(values)
    exact_count = clean_needed(away, sure)
    count = whole_up(exact_count)
    luck = 100 * away**count
    return [
        Figure("clean trials needed", count, "", "ln(1 - sure) / ln(1 - 1/onein), up"),
        Figure("before rounding up", exact_count, "", "ln(1 - sure) / ln(1 - 1/onein)"),
        Figure("clean by luck", luck, "%", "(1 - 1/onein)^needed, fault still there"),
    ]


CLEAN_TRIALS = Sheet(
    name="clean-trials",
    about="Clean trials after which a fault that came and went would have shown.",
    inputs=(ONE_IN, SURE),
    work=_clean_trials,
    formula=("clean trials = ln(1 - sure) / ln(1 - 1/onein), rounded up",),
    holds=f"{SAME_CONDITIONS} 'One in so many' is itself a guess from few trials: take "
    "the rarer guess.",
    sources=(SUCCESS_RUN, "95 % unless said: our-choice"),
    example=("onein=10", "sure=95%"),
    cautions=NEVER_CLEARED,
)


def _success_run(values: Values) -> list[Figure]:
    sure, share = values["sure"] / 100, values["share"] / 100
    exact_count = clean_needed(share, sure) / values["length"]
    count = whole_up(exact_count)
    shown = 100 * (1 - share ** (count * values["length"]))
    return [
        Figure("runs needed", count, "", "ln(1 - sure) / (length x ln(share)), up"),
        Figure("before rounding up", exact_count, "", "the same, not rounded"),
        Figure("sure by then", shown, "%", "1 - share^(runs x length)"),
    ]


SUCCESS_RUNS = Sheet(
    name="success-run",
    about="Runs without a failure that show a wanted share of good runs.",
    inputs=(
        Input("share", "%", 10, 99.99, "share of good runs to be shown, at least"),
        SURE,
        Input("length", "", 0.1, 100, "each run is so many times the required one", 1),
    ),
    work=_success_run,
    formula=("runs = ln(1 - sure) / (length x ln(share)), rounded up",),
    holds="Runs independent and under real conditions; one failure ends the count. "
    "Longer runs stand for more only if age does not matter (constant failure rate). "
    "Tables that start from an even prior ask for one run fewer.",
    sources=(SUCCESS_RUN, "longer runs: worked-out, constant failure rate"),
    example=("share=90%", "sure=95%"),
    cautions=NEVER_CLEARED,
)

THREE_AT = 95.0
"""Where the rule of three holds. Source: definition, ln 20 = 2.996."""


def _hidden_fault(values: Values) -> list[Figure]:
    clean = counted(values, "clean")
    share = -math.expm1(math.log(1 - values["sure"] / 100) / clean)
    figures = [
        Figure("may still show", 100 * share, "%", "1 - (1 - sure)^(1 / clean)"),
        Figure("one time in", 1 / share, "", "1 / that share"),
    ]
    if values["sure"] == THREE_AT and clean >= 3:
        figures.append(Figure("rule of three", 300 / clean, "%", "3 / clean"))
    return figures


HIDDEN_FAULT = Sheet(
    name="hidden-fault",
    about="How often a fault may still show although so many trials were clean.",
    inputs=(Input("clean", "", 1, 100_000, "clean trials, none with the fault"), SURE),
    work=_hidden_fault,
    formula=("share = 1 - (1 - sure)^(1 / clean)", "at 95 %: about 3 / clean"),
    holds=f"{SAME_CONDITIONS} The rule of three is on the safe side; it is given at "
    "95 % only.",
    sources=(
        SUCCESS_RUN,
        "rule of three: eypasch-1995",
    ),
    example=("clean=30", "sure=95%"),
    cautions=NEVER_CLEARED,
)

ONE_END, BOTH_ENDS = 1.0, 2.0
ENDS = Input(
    "ends",
    "",
    1,
    2,
    "one: sure of each bound alone; both: of the two together",
    BOTH_ENDS,
    choices={"one": ONE_END, "both": BOTH_ENDS},
)


def _failure_share(values: Values) -> list[Figure]:
    failed, trials = _counts(values)
    tail = (1 - values["sure"] / 100) / values["ends"]
    low, high = wilson(failed, trials, normal_reach(1 - tail))
    exact_low, exact_high = exact(failed, trials, tail)
    return [
        Figure("share at most", 100 * high, "%", "Wilson, upper end"),
        Figure("share at least", 100 * low, "%", "Wilson, lower end"),
        Figure("share seen", 100 * failed / trials, "%", "failed / trials"),
        Figure("exact at most", 100 * exact_high, "%", "Clopper-Pearson, upper end"),
        Figure("exact at least", 100 * exact_low, "%", "Clopper-Pearson, lower end"),
    ]


def _counts(values: Values) -> tuple[int, int]:
    failed, trials = counted(values, "failed"), counted(values, "trials")
    if failed > trials:
        raise SheetError("more failed than were tried; count the clean trials in too")
    return failed, trials


FAILURE_SHARE = Sheet(
    name="failure-share",
    about="Between which bounds the true share of failures lies.",
    inputs=(FAILED, TRIALS, SURE, ENDS),
    work=_failure_share,
    formula=(
        "Wilson: (p + z^2/2n +- z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n), p = k/n",
        "exact: the shares that leave each tail of the binomial law its chance",
    ),
    holds=f"{SAME_CONDITIONS} Wilson is close on average; the exact ends are never too "
    "narrow. No continuity correction.",
    sources=(
        "Wilson and Clopper-Pearson: scipy, binomial test; statsmodels",
        "binomial law: worked-out, definition",
    ),
    example=("failed=3", "trials=10"),
    cautions=NEVER_CLEARED,
)


def _by_chance(values: Values) -> list[Figure]:
    failed, trials = _counts(values)
    share = values["share"] / 100
    more = at_least(failed, trials, share)
    fewer = at_least(trials - failed, trials, 1 - share)
    usual = trials * share
    return [
        Figure("so many or more", 100 * more, "%", "binomial law, failed and up"),
        Figure("so many or fewer", 100 * fewer, "%", "binomial law, failed and down"),
        Figure("expected", usual, "", "trials x share"),
    ]


BY_CHANCE = Sheet(
    name="by-chance",
    about="How likely so many failures are by luck if nothing has changed.",
    inputs=(
        FAILED,
        TRIALS,
        Input("share", "%", 0.01, 99.99, "usual failures"),
    ),
    work=_by_chance,
    formula=("sum of C(n, i) share^i (1 - share)^(n - i)",),
    holds=f"{SAME_CONDITIONS} The usual share must come from other trials than these.",
    sources=("binomial law: worked-out, definition",),
    example=("failed=3", "trials=15", "share=10%"),
    cautions=NEVER_CLEARED,
)


def _cure_chance(values: Values) -> list[Figure]:
    clean, before = counted(values, "clean"), values["before"] / 100
    away, sure = _stays_away(values), values["sure"] / 100
    luck = away**clean
    cured = before / (before + (1 - before) * luck)
    odds = before * (1 - sure) / ((1 - before) * sure)
    needed = max(0.0, math.log(odds) / math.log(away))
    return [
        Figure("cured", 100 * cured, "%", "before / (before + (1 - before) x luck)"),
        Figure("luck", 100 * luck, "%", "(1 - 1/onein)^clean: not cured, yet clean"),
        Figure("clean trials needed", whole_up(needed), "", "until cured is sure"),
    ]


CURE_CHANCE = Sheet(
    name="cure-chance",
    about="The chance that a repair cured the fault, after so many clean trials.",
    inputs=(
        Input("before", "%", 1, 99, "your belief in the repair before any trial", 50),
        ONE_IN,
        Input("clean", "", 0, 10_000, "clean trials since the repair, none with it"),
        SURE,
    ),
    work=_cure_chance,
    formula=("cured = before / (before + (1 - before) x (1 - 1/onein)^clean)",),
    holds=f"{SAME_CONDITIONS} It takes 'one in so many' as known. The proof stage of a "
    "job in chock does not: it works with the beta-binomial formula, which allows for "
    "the doubt in that share and mostly asks for more clean trials. Where the two "
    "differ, the proof stage counts.",
    sources=(
        "Bayes' theorem: worked-out, definition",
        "50 % and 95 % unless said: our-choice",
    ),
    example=("before=50%", "onein=5", "clean=10"),
    cautions=NEVER_CLEARED,
)


def _stop_testing(values: Values) -> list[Figure]:
    good, bad = values["good"] / 100, values["bad"] / 100
    if good >= bad:
        raise SheetError("good must be a smaller share of failures than bad")
    slips = (values["turndown"] / 100, values["letpass"] / 100)
    ratio, accept, reject, slope = sequential(good, bad, slips)
    figures = [
        Figure("clean trials to accept", whole_up(accept / slope), "", "offset/slope"),
        Figure("slope", slope, "", "ln((1 - good) / (1 - bad)) / ratio"),
        Figure("accept offset", accept, "", "ln((1 - turndown) / letpass) / ratio"),
        Figure("reject offset", reject, "", "ln((1 - letpass) / turndown) / ratio"),
        Figure("ratio", ratio, "", "ln(bad (1 - good) / (good (1 - bad)))"),
    ]
    if "trials" in values:
        figures += _lines(counted(values, "trials"), slope, accept, reject)
    return figures


def _lines(trials: int, slope: float, accept: float, reject: float) -> list[Figure]:
    """The two failure counts that end the test now, where there are such."""
    most, least = -whole_up(accept - slope * trials), whole_up(slope * trials + reject)
    found = []
    if most >= 0:
        by = "slope x trials - accept offset, down: so few failures or fewer"
        found.append(Figure("accept at", most, "", by))
    if least <= trials:
        by = "slope x trials + reject offset, up: so many failures or more"
        found.append(Figure("reject at", least, "", by))
    return found


STOP_TESTING = Sheet(
    name="stop-testing",
    about="When trials may end: so few failures accept a repair, so many reject it.",
    inputs=(
        Input("good", "%", 0.01, 50, "share of failures that would be fine"),
        Input("bad", "%", 0.02, 99, "share of failures that would not"),
        Input("turndown", "%", 0.1, 40, "risk to turn a good repair down", 5),
        Input("letpass", "%", 0.1, 40, "risk to let a bad repair pass", 5),
        Input("trials", "", 1, 100_000, "trials made so far", optional=True),
    ),
    work=_stop_testing,
    formula=(
        "accept at failures <= slope x trials - accept offset",
        "reject at failures >= slope x trials + reject offset",
        "between the two lines: go on testing",
    ),
    holds=f"{SAME_CONDITIONS} Settle the four shares before the first trial. While no "
    "number of failures accepts (or rejects) yet, that figure is left out.",
    sources=("sequential test: nist-e-handbook, 6.2.6",),
    example=("good=2%", "bad=30%", "trials=9"),
    cautions=NEVER_CLEARED,
)

SHEETS = (
    CLEAN_TRIALS,
    SUCCESS_RUNS,
    HIDDEN_FAULT,
    FAILURE_SHARE,
    BY_CHANCE,
    CURE_CHANCE,
    STOP_TESTING,
)
