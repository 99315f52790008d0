"""Workshop statistics: counted trials, repairs over hours, and spares.

Checked against scipy 1.17.1 (its exact distributions) over 1,000 random inputs a sum.
"""

import math
import random
from collections.abc import Callable, Mapping

import pytest
from scipy import stats

from bot.calc import trend, workshop
from bot.calc.chances import at_least, at_most, normal_reach, solve, worst_expected
from bot.calc.sheet import Sheet, SheetError, work_out
from bot.calc.typed import typed
from bot.diagnose.proof import cured_chance, enough_cycles
from tests import sums

SHEETS = {sheet.name: sheet for sheet in (*workshop.SHEETS, *trend.SHEETS)}
DRAWS = 1000


def figures(name: str, line: str) -> Mapping[str, float]:
    """The figures by name, from inputs as one types them."""
    sheet = SHEETS[name]
    worked = work_out(sheet, *typed(sheet, line.split()))
    return {figure.name: figure.value for figure in worked.figures}


def given(name: str, values: Mapping[str, float]) -> Mapping[str, float]:
    """The figures by name, from plain numbers."""
    return {f.name: f.value for f in work_out(SHEETS[name], values).figures}


def draws(seed: int) -> list[random.Random]:
    return [random.Random(f"{seed}-{number}") for number in range(DRAWS)]


def close(value: float) -> object:
    return pytest.approx(value, rel=1e-6, abs=1e-6)


def test_clean_trials_are_the_fewest_that_scipy_finds_sure_enough() -> None:
    for lot in draws(1):
        one_in, sure = lot.uniform(1.05, 900), lot.uniform(50, 99.9)
        found = given("clean-trials", {"onein": one_in, "sure": sure})
        wanted = stats.geom.ppf(sure / 100, 1 / one_in)
        assert found["clean trials needed"] == wanted
        luck = stats.binom.pmf(0, wanted, 1 / one_in)
        assert found["clean by luck"] == close(100 * luck)


def test_success_runs_agree_with_scipy() -> None:
    for lot in draws(2):
        share, sure = lot.uniform(10, 99.9), lot.uniform(50, 99.9)
        length = lot.choice([1, lot.uniform(0.2, 5)])
        values = {"share": share, "sure": sure, "length": length}
        found = given("success-run", values)
        fails = -math.expm1(length * math.log(share / 100))
        assert found["runs needed"] == stats.geom.ppf(sure / 100, fails)
        shown = stats.geom.cdf(found["runs needed"], fails)
        assert found["sure by then"] == close(100 * shown)


def test_hidden_share_agrees_with_scipy() -> None:
    for lot in draws(3):
        clean, sure = lot.randint(1, 5000), lot.uniform(50, 99.9)
        found = given("hidden-fault", {"clean": clean, "sure": sure})
        share = stats.beta.ppf(sure / 100, 1, clean)
        assert found["may still show"] == close(100 * share)


def test_intervals_of_a_share_agree_with_scipy() -> None:
    for lot in draws(4):
        trials = lot.choice([lot.randint(1, 40), lot.randint(1, 2000)])
        failed, sure = lot.randint(0, trials), lot.uniform(50, 99.9)
        ends = lot.choice([1, 2])
        values = {"failed": failed, "trials": trials, "sure": sure, "ends": ends}
        found = given("failure-share", values)
        tail = (1 - sure / 100) / ends
        test = stats.binomtest(failed, trials)
        low, high = test.proportion_ci(1 - 2 * tail, method="wilson")
        assert found["share at least"] == close(100 * low)
        assert found["share at most"] == close(100 * high)
        low = stats.beta.ppf(tail, failed, trials - failed + 1) if failed else 0
        missed = trials - failed
        high = stats.beta.ppf(1 - tail, failed + 1, missed) if missed else 1
        assert found["exact at least"] == close(100 * low)
        assert found["exact at most"] == close(100 * high)


def test_chances_of_so_many_failures_agree_with_scipy() -> None:
    for lot in draws(5):
        trials, share = lot.randint(1, 2000), lot.uniform(0.01, 99.99)
        failed = lot.randint(0, trials)
        found = given("by-chance", {"failed": failed, "trials": trials, "share": share})
        more = stats.binom.sf(failed - 1, trials, share / 100)
        fewer = stats.binom.cdf(failed, trials, share / 100)
        assert found["so many or more"] == close(100 * more)
        assert found["so many or fewer"] == close(100 * fewer)


def test_chance_of_a_cure_agrees_with_bayes_over_scipy_chances() -> None:
    for lot in draws(6):
        before, one_in = lot.uniform(1, 99), lot.uniform(1, 100)
        clean = lot.randint(0, 300)
        values = {"before": before, "onein": one_in, "clean": clean}
        luck = stats.binom.pmf(0, clean, 1 / one_in)
        wanted = before / (before + (100 - before) * luck)
        assert given("cure-chance", values)["cured"] == close(100 * wanted)


def test_lines_of_the_sequential_test_agree_with_scipy_likelihoods() -> None:
    for lot in draws(7):
        good = lot.uniform(0.5, 20)
        bad, trials = lot.uniform(good + 2, 90), lot.randint(1, 400)
        down, past = lot.uniform(1, 20), lot.uniform(1, 20)
        values = {"good": good, "bad": bad, "turndown": down, "letpass": past}
        found = given("stop-testing", {**values, "trials": trials})
        counts = range(trials + 1)
        ratio = stats.binom.logpmf(counts, trials, bad / 100)
        ratio = ratio - stats.binom.logpmf(counts, trials, good / 100)
        low, high = math.log(past / (100 - down)), math.log((100 - past) / down)
        accepts = [d for d in counts if ratio[d] <= low]
        rejects = [d for d in counts if ratio[d] >= high]
        assert found.get("accept at") == (max(accepts) if accepts else None)
        assert found.get("reject at") == (min(rejects) if rejects else None)


def test_trend_agrees_with_scipy() -> None:
    for lot in draws(8):
        span, repairs = lot.uniform(10, 100_000), lot.randint(5, 500)
        mean = span * lot.uniform(0.2, 0.8)
        found = given("repair-trend", {"repairs": repairs, "span": span, "mean": mean})
        spread = stats.uniform(0, span).std() / math.sqrt(repairs)
        assert found["trend"] == close((mean - span / 2) / spread)
        assert found["by luck"] == close(100 * stats.norm.sf(abs(found["trend"])))


def test_spares_agree_with_scipy() -> None:
    for lot in draws(9):
        units, hours = lot.randint(1, 200), lot.uniform(1, 2000)
        mtbf, sure = units * hours / lot.uniform(0.001, 200), lot.uniform(50, 99.9)
        trip = {"units": units, "hours": hours, "mtbf": min(max(mtbf, 1), 500_000)}
        expected = units * hours / trip["mtbf"]
        found = given("spares", {**trip, "sure": sure})
        assert found["spares to take"] == stats.poisson.ppf(sure / 100, expected)
        stock = lot.randint(0, 300)
        enough = given("spares-chance", {**trip, "stock": stock})["enough"]
        assert enough == close(100 * stats.poisson.cdf(stock, expected))


def test_bounds_of_the_mean_time_agree_with_scipy() -> None:
    for lot in draws(10):
        hours, failures = lot.uniform(300, 400_000), lot.randint(1, 300)
        sure, ended = lot.uniform(50, 99.99), lot.choice([0, 1])
        target = hours / lot.uniform(1, 300)
        values = {"hours": hours, "failures": failures, "sure": sure, "ended": ended}
        found = given("mtbf-lower", {**values, "target": target})
        freedom = 2 * failures + 2 - 2 * ended
        lower = 2 * hours / stats.chi2.ppf(sure / 100, freedom)
        upper = 2 * hours / stats.chi2.ppf(1 - sure / 100, 2 * failures)
        above = stats.chi2.cdf(2 * hours / target, freedom)
        assert found["mtbf at least"] == close(lower)
        assert found["mtbf at most"] == close(upper)
        assert found["sure of target"] == close(100 * above)


def test_laws_and_their_inverses_agree_with_scipy() -> None:
    for lot in draws(11):
        chance = lot.uniform(0.5, 0.99999)
        assert normal_reach(chance) == close(stats.norm.ppf(chance))
        trials = lot.randint(1, 2000)
        failed, share = lot.randint(0, trials), lot.random()
        upper = stats.binom.sf(failed - 1, trials, share)
        assert at_least(failed, trials, share) == close(upper)
        expected, count = lot.uniform(0, 900), lot.randint(0, 1000)
        assert at_most(count, expected) == close(stats.poisson.cdf(count, expected))
        wanted = stats.chi2.ppf(chance, 2 * count + 2) / 2
        assert worst_expected(count, chance) == close(wanted)


def test_halving_ends_at_the_edges_when_nothing_reaches() -> None:
    assert solve(lambda x: x, 5, 1) == pytest.approx(1)
    assert solve(lambda x: x + 1, 0.5, 1) == pytest.approx(0)


CLEAN_NEEDED = {
    80: (3, 4, 5, 8, 16, 32, 161, 1609),
    90: (4, 5, 7, 11, 22, 45, 230, 2302),
    95: (5, 6, 9, 14, 29, 59, 299, 2995),
    99: (7, 10, 13, 21, 44, 90, 459, 4603),
}
"""The project's own table, worked out apart from this code."""


@pytest.mark.parametrize("sure", CLEAN_NEEDED)
def test_table_of_clean_trials_comes_out_as_worked_by_hand(sure: int) -> None:
    shares = (50, 60, 70, 80, 90, 95, 99, 99.9)
    for share, wanted in zip(shares, CLEAN_NEEDED[sure], strict=True):
        found = figures("success-run", f"share={share}% sure={sure}%")
        assert found["runs needed"] == wanted


@pytest.mark.parametrize(
    ("name", "line", "figure", "wanted"),
    [
        ("clean-trials", "onein=2", "clean trials needed", 5),
        ("clean-trials", "onein=3", "clean trials needed", 8),
        ("clean-trials", "onein=5", "clean trials needed", 14),
        ("hidden-fault", "clean=14", "may still show", 19.26),
        ("hidden-fault", "clean=14", "rule of three", 21.43),
        ("hidden-fault", "clean=100", "may still show", 2.951),
        ("failure-share", "failed=8 trials=10", "share at most", 94.33),
        ("failure-share", "failed=8 trials=10", "exact at least", 44.39),
        ("failure-share", "failed=4 trials=20 sure=90%", "exact at most", 40.10),
        ("cure-chance", "onein=5 clean=5", "cured", 75.32),
        ("cure-chance", "onein=5 clean=10", "cured", 90.30),
        ("stop-testing", "good=2% bad=30%", "clean trials to accept", 9),
        ("repair-trend", "repairs=10 span=1500h mean=568.3h", "trend", -1.327),
        ("repair-trend", "repairs=10 span=1500h mean=568.3h", "by luck", 9.225),
        ("spares", "units=3 hours=8760h mtbf=8760h", "spares to take", 6),
        ("spares-chance", "units=3 hours=8760h mtbf=8760h stock=3", "enough", 64.72),
        ("mtbf-lower", "hours=8760h failures=1 sure=60%", "mtbf at least", 4332),
        ("mtbf-lower", "hours=367h failures=0 sure=80%", "mtbf at least", 228.0),
        ("mtbf-lower", "hours=500h failures=0 target=250h", "sure of target", 86.47),
        ("mtbf-lower", "hours=300h failures=3", "mtbf at least", 38.69),
        ("mtbf-lower", "hours=300h failures=3 sure=90%", "mtbf at least", 44.90),
    ],
)
def test_sum_gives_what_was_worked_out_apart_from_this_code(
    name: str, line: str, figure: str, wanted: float
) -> None:
    assert figures(name, line)[figure] == pytest.approx(wanted, rel=2e-4)


def test_trend_of_27_failures_is_as_worked_out_from_their_times() -> None:
    times = (
        "2.6 16.5 16.5 17 21.4 29.1 33.3 56.5 63.1 70.6 73 77.7 93.9 95.5 98.1 101.1 "
        "132 142.2 147.7 149 167.2 190.7 193 198.7 251.9 282.5 286.1"
    )
    hours = [float(word) for word in times.split()]
    values = {"repairs": 27, "span": 300, "mean": sum(hours) / 27}
    assert given("repair-trend", values)["trend"] == pytest.approx(-2.318, abs=5e-4)


def test_interval_is_not_the_one_with_continuity_correction() -> None:
    found = figures("failure-share", "failed=3 trials=10")
    assert abs(found["share at least"] - 8.09) > 1
    assert abs(found["share at most"] - 64.63) > 1


def test_hidden_share_undoes_the_clean_trials_needed() -> None:
    for clean in (1, 5, 29, 59, 300):
        share = figures("hidden-fault", f"clean={clean}")["may still show"]
        values = {"onein": 100 / share, "sure": 95}
        assert given("clean-trials", values)["clean trials needed"] == clean


def test_exact_ends_leave_each_tail_its_chance() -> None:
    found = figures("failure-share", "failed=4 trials=20")
    low, high = found["exact at least"] / 100, found["exact at most"] / 100
    assert at_least(4, 20, low) == pytest.approx(0.025)
    assert 1 - at_least(5, 20, high) == pytest.approx(0.025)


def test_failures_and_clean_trials_swap_the_ends_of_the_interval() -> None:
    failed = figures("failure-share", "failed=3 trials=17")
    clean = figures("failure-share", "failed=14 trials=17")
    for kind in ("share", "exact"):
        swapped = 100 - clean[f"{kind} at least"]
        assert failed[f"{kind} at most"] == pytest.approx(swapped)


def test_more_confidence_asks_more_and_promises_less() -> None:
    grows = (
        ("clean-trials", "onein=10", "clean trials needed"),
        ("success-run", "share=90%", "runs needed"),
        ("hidden-fault", "clean=30", "may still show"),
        ("failure-share", "failed=3 trials=10", "share at most"),
        ("cure-chance", "onein=10 clean=5", "clean trials needed"),
        ("spares", "units=20 hours=90day mtbf=10000h", "spares to take"),
    )
    for name, line, figure in grows:
        found = [figures(name, f"{line} sure={s}%")[figure] for s in (60, 80, 95, 99.9)]
        assert found == sorted(found)
        assert found[0] < found[-1]
    line = "hours=800h failures=2"
    bounds = [
        figures("mtbf-lower", f"{line} sure={s}%")["mtbf at least"] for s in (60, 95)
    ]
    assert bounds[0] > bounds[1]


def test_each_clean_trial_makes_a_cure_more_likely_and_none_leaves_the_belief() -> None:
    chances = [
        figures("cure-chance", f"before=30% onein=8 clean={k}")["cured"]
        for k in range(40)
    ]
    assert chances == sorted(chances)
    assert chances[0] == pytest.approx(30)


def test_clean_trials_until_a_cure_is_sure_are_the_fewest() -> None:
    line = "before=40% onein=7"
    needed = round(figures("cure-chance", f"{line} clean=0")["clean trials needed"])
    assert figures("cure-chance", f"{line} clean={needed}")["cured"] >= 95
    assert figures("cure-chance", f"{line} clean={needed - 1}")["cured"] < 95


def test_proof_stage_nears_the_simple_formula_as_the_share_gets_known() -> None:
    simple = figures("cure-chance", "onein=5 clean=10")["cured"]
    assert 100 * cured_chance(0.5, (20_000, 100_000), 10) == close_to_share(simple)


def close_to_share(value: float) -> object:
    return pytest.approx(value, rel=1e-3)


def test_proof_stage_asks_for_more_trials_than_the_simple_formula() -> None:
    simple = figures("cure-chance", "onein=10 clean=0")["clean trials needed"]
    assert enough_cycles(0.5, (1, 10)) > simple


def test_a_cure_is_sure_at_once_where_belief_already_is() -> None:
    found = figures("cure-chance", "before=97% onein=5 clean=0")
    assert found["clean trials needed"] == 0


def test_huge_error_of_the_confidence_stays_in_its_range() -> None:
    for line in (
        "mtbf-lower hours=800h failures=2 sure=95+-5%",
        "spares units=20 hours=90day mtbf=10000h sure=95+-40%",
        "clean-trials onein=10 sure=95+-40%",
        "failure-share failed=3 trials=10 sure=95+-40%",
    ):
        found = sums.worked(line).result
        assert 0 < found.error < 10 * found.value
    values = {"hours": 800.0, "failures": 2.0}
    many = work_out(SHEETS["mtbf-lower"], values, {"failures": 1e200})
    assert many.result.error < 800


def test_early_on_neither_line_of_the_sequential_test_is_given() -> None:
    found = figures("stop-testing", "good=2% bad=30% trials=1")
    assert "accept at" not in found
    assert "reject at" not in found


def test_trend_turns_its_sign_when_time_runs_backwards() -> None:
    late = figures("repair-trend", "repairs=12 span=1000h mean=700h")
    early = figures("repair-trend", "repairs=12 span=1000h mean=300h")
    assert late["trend"] == pytest.approx(-early["trend"])
    assert late["trend"] > 0
    middle = figures("repair-trend", "repairs=12 span=1000h mean=500h")
    assert middle["trend"] == 0
    assert middle["by luck"] == pytest.approx(50)


def test_trend_keeps_in_any_unit_of_time_and_grows_with_the_root_of_repairs() -> None:
    hours = figures("repair-trend", "repairs=12 span=960h mean=600h")
    days = figures("repair-trend", "repairs=12 span=40day mean=25day")
    assert days["trend"] == pytest.approx(hours["trend"])
    more = figures("repair-trend", "repairs=48 span=960h mean=600h")
    assert more["trend"] == pytest.approx(2 * hours["trend"])


def test_trend_alone_never_clears() -> None:
    sheet = SHEETS["repair-trend"]
    for mean in (100, 500, 620):
        line = f"repairs=12 span=1000h mean={mean}h"
        for said in work_out(sheet, *typed(sheet, line.split())).verdicts:
            assert "no pass" in said
    line = "repairs=12 span=1000h mean=900h"
    worse = work_out(sheet, *typed(sheet, line.split())).verdicts
    assert worse[0].startswith("NOT within")


def test_spares_keep_in_any_unit_and_depend_on_the_product_only() -> None:
    days = figures("spares", "units=20 hours=90day mtbf=10000h")
    hours = figures("spares", "units=20 hours=2160h mtbf=10000h")
    other = figures("spares", "units=40 hours=1080h mtbf=10000h")
    for figure, value in days.items():
        assert hours[figure] == pytest.approx(value)
        assert other[figure] == pytest.approx(value)


def test_spares_are_the_fewest_that_are_enough() -> None:
    for sure in (50, 80, 95, 99, 99.9):
        found = figures("spares", f"units=8 hours=300h mtbf=900h sure={sure}%")
        assert found["enough"] >= sure > found["enough with one fewer"]
    none = figures("spares", "units=1 hours=1h mtbf=9000h")
    assert none["spares to take"] == 0
    assert "enough with one fewer" not in none


def test_stock_and_shortfall_share_the_whole() -> None:
    found = figures("spares-chance", "units=8 hours=300h mtbf=900h stock=4")
    assert found["enough"] + found["runs out"] == pytest.approx(100)


def test_mean_time_scales_with_hours_and_bounds_enclose_what_was_seen() -> None:
    one = figures("mtbf-lower", "hours=800h failures=2")
    ten = figures("mtbf-lower", "hours=8000h failures=2")
    assert ten["mtbf at least"] == pytest.approx(10 * one["mtbf at least"])
    assert one["mtbf at least"] < one["mtbf seen"] < one["mtbf at most"]
    minutes = figures("mtbf-lower", "hours=48000min failures=2")
    assert minutes == pytest.approx(one)


def test_sure_of_the_lower_bound_is_the_confidence_asked() -> None:
    for ended in ("time", "failure"):
        line = f"hours=9000h failures=4 sure=80% ended={ended}"
        bound = figures("mtbf-lower", line)["mtbf at least"]
        found = figures("mtbf-lower", f"{line} target={bound:.4f}h")
        assert found["sure of target"] == pytest.approx(80, abs=1e-4)


@pytest.mark.parametrize("name", SHEETS)
def test_every_sheet_warns_that_statistics_clear_no_truck(name: str) -> None:
    cautions = " ".join(SHEETS[name].cautions)
    assert cautions.startswith("WARNING: ")
    for word in ("steering", "brakes", "wheel ends", "lifting"):
        assert word in cautions


def one_sentence(refuse: Callable[[], object]) -> str:
    with pytest.raises(SheetError) as refused:
        refuse()
    said = str(refused.value)
    assert "\n" not in said
    assert ". " not in said.replace("e.g. ", "")
    assert len(said) < 200
    return said


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize("text", ["nan", "inf", "9**9**9", "1e400", "", "-3", "5 bar"])
def test_odd_text_for_any_input_is_refused_in_one_sentence(
    name: str, text: str
) -> None:
    sheet = SHEETS[name]
    for asked in sheet.inputs:
        words = [w for w in sheet.example if not w.startswith(f"{asked.name}=")]
        words.append(f"{asked.name}={text}")
        one_sentence(lambda words=words: work_out(sheet, *typed(sheet, words)))  # type: ignore[misc]


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, -1.0, 1e300])
def test_odd_numbers_for_any_input_are_refused_in_one_sentence(
    name: str, value: float
) -> None:
    sheet = SHEETS[name]
    values, _ = typed(sheet, sheet.example)
    for asked in sheet.inputs:
        one_sentence(lambda n=asked.name: work_out(sheet, {**values, n: value}))  # type: ignore[misc]


@pytest.mark.parametrize(
    ("name", "line", "word"),
    [
        ("failure-share", "failed=11 trials=10", "clean trials"),
        ("by-chance", "failed=11 trials=10 share=5%", "clean trials"),
        ("failure-share", "failed=1.5 trials=10", "whole number"),
        ("hidden-fault", "clean=2.5", "whole number"),
        ("repair-trend", "repairs=9 span=100h mean=101h", "from one start"),
        ("repair-trend", "repairs=4 span=100h mean=50h", "repairs"),
        ("stop-testing", "good=30% bad=30%", "smaller"),
        ("mtbf-lower", "hours=100h failures=0 ended=failure", "without a failure"),
        ("spares", "units=1000 hours=9000h mtbf=10h", "check the mean time"),
        ("spares-chance", "units=1000 hours=9000h mtbf=10h stock=1", "mean time"),
        ("clean-trials", "onein=1", "proves little"),
        ("cure-chance", "onein=1 clean=1", "proves little"),
        ("clean-trials", "onein=10 sure=0.95", "sure"),
        ("success-run", "share=0.9", "share"),
    ],
)
def test_inputs_at_odds_are_refused_with_what_to_do(
    name: str, line: str, word: str
) -> None:
    assert word in one_sentence(lambda: figures(name, line))


def corners(sheet: Sheet) -> list[dict[str, float]]:
    """Inputs with one at its least or most, the others as in the example."""
    values = work_out(sheet, *typed(sheet, sheet.example)).values
    ends = [(i.name, end) for i in sheet.inputs for end in (i.least, i.most)]
    return [{**values, name: end} for name, end in ends]


@pytest.mark.parametrize("name", SHEETS)
def test_ends_of_every_range_give_figures_or_one_plain_sentence(name: str) -> None:
    sheet = SHEETS[name]
    for values in corners(sheet):
        try:
            found = sheet.work(values)  # an arithmetic slip would not be refused here
        except SheetError:
            continue
        for figure in found:
            assert math.isfinite(figure.value)
            if figure.unit == "%":
                assert -1e-9 <= figure.value <= 100 + 1e-9, figure
