"""Worksheets: inputs as typed, errors carried through, limits, and the units."""

from dataclasses import replace
from math import inf, nan
from random import Random

import pint
import pytest
from uncertainties import ufloat

from bot.calc.air import LEAK_RATE
from bot.calc.book import SHEETS
from bot.calc.sheet import (
    Figure,
    Input,
    Limit,
    Sheet,
    SheetError,
    Side,
    Worked,
    judged,
    verdict,
    work_out,
)
from bot.calc.shown import amount, explained, preferred, result
from bot.calc.typed import typed
from bot.cli.main import main
from bot.units import SYMBOLS, convert
from tests import sums


def worked(words: list[str]) -> Worked:
    values, errors = typed(LEAK_RATE, words)
    return work_out(LEAK_RATE, values, errors)


def product_sheet() -> Sheet:
    """a x b / c, to carry errors through."""
    inputs = tuple(
        Input(name, "", 0.1, 1000.0, name, error=e)
        for name, e in (("a", 0.1), ("b", 0.2), ("c", 0.05))
    )
    return Sheet(
        "product",
        "A product.",
        inputs,
        lambda v: [Figure("result", v["a"] * v["b"] / v["c"], "")],
        ("result = a x b / c",),
        "Always.",
        ("(definition)",),
        ("a=1", "b=2", "c=3"),
    )


@pytest.mark.parametrize("seed", range(50))
def test_errors_add_up_as_in_a_library_of_uncertain_numbers(seed: int) -> None:
    """Source: the package uncertainties, linear theory; ours takes the worse side."""
    draw = Random(seed)
    a, b, c = (draw.uniform(50, 900) for _ in range(3))
    found = work_out(product_sheet(), {"a": a, "b": b, "c": c}).result
    wanted = ufloat(a, 0.1) * ufloat(b, 0.2) / ufloat(c, 0.05)
    assert found.value == pytest.approx(wanted.nominal_value)
    assert found.error == pytest.approx(wanted.std_dev, rel=2e-3)


def test_error_that_was_typed_counts_in_place_of_the_usual_one() -> None:
    values, errors = typed(
        LEAK_RATE, ["start=8bar+-0.02bar", "end=7.9+-0.02", "time=5min"]
    )
    found = work_out(LEAK_RATE, values, errors).result
    assert found.error == pytest.approx((2 * 2.0**2) ** 0.5 / 5, rel=0.02)


@pytest.mark.parametrize(
    ("value", "error", "said"),
    [
        (10.0, 0.5, "Within the limit"),
        (14.0, 0.5, "NOT within the limit"),
        (12.2, 0.5, "Too close to call"),
        (12.0, 0.0, "NOT within the limit"),
        (11.99, 0.0, "Within the limit"),
    ],
)
def test_limit_is_called_only_beyond_the_error(
    value: float, error: float, said: str
) -> None:
    limit = Limit(12.0, Side.BELOW, "a law")
    assert verdict(Figure("x", value, "bar", error=error), limit).startswith(said)


def test_limit_that_is_worked_out_is_no_surer_than_its_inputs() -> None:
    """A bound of 2 mohm x (500 +- 100 A) once passed 0.95 V as under 1.00 V."""
    sure = sums.worked("cranking-drop drop=0.90V current=500A").verdicts
    loose = sums.worked("cranking-drop drop=0.90V current=500+-100A").verdicts
    assert any(said.startswith("Within") for said in sure)
    assert any(said.startswith("Too close") for said in loose)


def test_worst_verdict_stands_first_and_no_laxer_limit_passes() -> None:
    limits = [
        Limit(30.0, Side.BELOW, "a lax rule"),
        Limit(14.0, Side.BELOW, "a strict rule", do="stop"),
    ]
    said = judged([Figure("play", 20.0, "deg")], limits)
    assert said == ("NOT within the limit: over 14 deg (a strict rule). Stop.",)
    said = judged([Figure("play", 14.1, "deg", error=0.5)], limits)
    assert [word[:9] for word in said] == ["Too close", "Within th"]


def test_step_of_an_error_stays_in_the_range_of_its_input() -> None:
    """A share of 95 +- 5 % once stepped to certainty, and the error exploded."""
    found = sums.worked("mtbf-lower hours=1000h failures=1 sure=95+-5%").result
    assert found.error < 100 * found.value


def test_limit_from_memory_never_clears() -> None:
    limit = Limit(12.0, Side.BELOW, "from memory", clears=False)
    assert "no pass" in verdict(Figure("x", 1.0, "bar"), limit)
    assert "NOT within" in verdict(Figure("x", 20.0, "bar"), limit)
    assert "no pass" in verdict(
        Figure("x", 20.0, "bar"), replace(limit, side=Side.ABOVE)
    )


@pytest.mark.parametrize("value", [nan, inf, -inf, 1e300, -1.0])
def test_nonsense_is_refused_in_one_sentence(value: float) -> None:
    with pytest.raises(SheetError) as refused:
        work_out(LEAK_RATE, {"start": value, "end": 0.0, "time": 1.0})
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["start=9**9**9"], "no amount"),
        (["start=8bar abs"], "bar abs is absolute pressure, not pressure"),
        (["start=20degC"], "degC is temperature, not pressure; write it in kPa"),
        (["begin=8bar"], "the names are start"),
        (["stat=8bar"], "did you mean start?"),
        (["start=1,200kPa"], "thousands without a comma"),
        (["start=8bar+--1"], "without a sign"),
        (["start"], "write name=value"),
        (["brakes=maybe"], "one of: released, applied"),
        (["start=8bar", "end=7bar"], "needs time"),
        (["start=8bar", "end=9bar", "time=1min"], "pressure rose"),
        (["start=800bar", "end=9bar", "time=1min"], "must be 0 to 16 bar"),
        (["start=8bar", "end=7bar", "time=0min"], "must be 0.1 to"),
    ],
)
def test_what_cannot_be_says_what_to_do(words: list[str], said: str) -> None:
    with pytest.raises(SheetError) as refused:
        worked(words)
    assert said in str(refused.value)


@pytest.mark.parametrize(
    "line",
    [
        "start = 8.2 bar end= 8 bar time =5 min",
        "Start=8.2bar END=8bar time=5",
        "start=8.2 end=8 bar time=300 s",
    ],
)
def test_spaces_that_a_shell_cuts_at_change_nothing(line: str) -> None:
    plain = worked(["start=8.2bar", "end=8bar", "time=5min"])
    assert worked(line.split()).result == plain.result


def test_marking_of_a_tyre_stands_for_its_volume_wherever_it_is_typed() -> None:
    for line in (
        "14.00R20 count=4 start=0.3 bar end=85psi plate=439L/min",
        "count=4 start=0.3 bar 14.00R20 end=85psi plate=439L/min",
    ):
        found = sums.worked(f"tyre-fill {line}")
        assert found.values["volume"] == pytest.approx(269, abs=1)
        assert found.values["start"] == pytest.approx(30)


def test_share_under_one_percent_is_asked_for_its_unit() -> None:
    with pytest.raises(SheetError, match="Write 40% or"):
        typed(SHEETS["freeze-point"], ["glycol=0.4"])
    with pytest.raises(SheetError, match="not temperature; write it in degC"):
        typed(SHEETS["tyre-temperature"], ["set=298K"])


def test_what_a_wrench_a_label_or_a_meter_says_is_understood() -> None:
    nut, drop = SHEETS["wheel-nut"], SHEETS["volt-drop"]
    for text in ("61 mkg", "61kgm", "598.2Nm", "441.2 ft-lb"):
        assert typed(nut, [f"torque={text}"])[0]["torque"] == pytest.approx(598.2, 1e-3)
    assert typed(drop, ["area=2,5mm²"])[0] == {"area": 2.5}
    assert typed(SHEETS["rested-volts"], ["system=24V"])[0] == {"system": 24}
    assert typed(LEAK_RATE, ["end=0"])[0] == {"end": 0}
    assert typed(nut, ["size=M22x1.5"])[0] == {"size": 22, "pitch": 1.5}
    assert typed(SHEETS["coolant-mix"], ["have=0L"])[0] == {"have": 0}
    with pytest.raises(SheetError, match="or 90s"):
        typed(LEAK_RATE, ["time=1:30"])
    with pytest.raises(SheetError, match="write it in mm2"):
        typed(drop, ["area=6mm"])


def test_bare_number_takes_the_unit_typed_beside_it() -> None:
    values, _ = typed(LEAK_RATE, ["start=120psi", "end=118", "time=2min"])
    assert values["end"] == pytest.approx(118 * 6.894757, rel=1e-6)
    values, _ = typed(LEAK_RATE, ["start=8", "end=7"], ["bar"])
    assert values["start"] == pytest.approx(800)
    with pytest.raises(SheetError, match="of what"):
        typed(LEAK_RATE, ["start=800"])
    long = replace(LEAK_RATE, inputs=(Input("size", "mm", 1, 100, "a bolt"),))
    assert typed(long, ["size=12"], ["in"])[0] == {"size": 12}


@pytest.mark.parametrize("unit", ["bar", "psi", "kPa", "MPa"])
def test_unit_of_an_input_never_changes_the_result(unit: str) -> None:
    scale = SYMBOLS["kPa"].scale / SYMBOLS[unit].scale
    words = [f"start={800 * scale:.4f}{unit}", f"end={780 * scale:.4f}{unit}", "time=5"]
    values, errors = typed(LEAK_RATE, words)
    found = work_out(LEAK_RATE, values, errors).result
    assert found.value == pytest.approx(4.0, abs=0.05)


def test_preferred_unit_serves_rates_and_absolute_pressures_too() -> None:
    assert preferred(Figure("x", 100.0, "kPa"), ["psi"]).unit == "psi"
    assert preferred(Figure("x", 100.0, "kPa/min"), ["psi"]).unit == "psi/min"
    assert preferred(Figure("x", 100.0, "kPa abs"), ["psi"]).unit == "psi abs"
    assert preferred(Figure("x", 100.0, "degC"), ["psi", "degF"]).unit == "degF"
    assert preferred(Figure("x", 100.0, "V"), ["psi"]).unit == "V"
    turned = preferred(Figure("x", 10.0, "K", error=1.0), ["degF difference"])
    assert [turned.value, turned.error] == pytest.approx([18, 1.8])


def test_result_and_explanation_say_all_that_is_needed() -> None:
    values, errors = typed(LEAK_RATE, LEAK_RATE.example)
    said = "\n".join(result(LEAK_RATE, work_out(LEAK_RATE, values, errors), ["psi"]))
    for part in ("From: start", "leak: ", "psi/min", "limit", "Holds:"):
        assert part in said
    told = "\n".join(explained(LEAK_RATE))
    for part in ("Inputs:", "Formula:", "Source:", "Example: chock sum", "WARNING"):
        assert part in told


def test_amount_shows_no_more_digits_than_the_error_allows() -> None:
    assert amount(Figure("x", 12.3456, "bar", error=0.2)) == "12.3 +- 0.2 bar"
    assert amount(Figure("x", 12.3456, "bar")) == "12.3 bar"
    assert amount(Figure("x", 5.0, "")) == "5"


def test_command_lists_explains_works_out_and_refuses(
    tmp_path: object,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("CHOCK_HOME", str(tmp_path))
    assert main(["sum"]) == 0
    assert "leak-rate: How fast" in capsys.readouterr().out
    assert main(["sum", "tyres"]) == 0
    tyres = capsys.readouterr().out
    assert "fill-again: " in tyres
    assert "leak-rate" not in tyres
    assert main(["sum", "leak-rate", "--help"]) == 0
    assert "Formula:" in capsys.readouterr().out
    words = ["sum", "leak-rate", "start=8bar", "end=7bar", "time=2min"]
    assert main(words) == 0
    assert "bar/min" in capsys.readouterr().out
    assert main([*words, "--json"]) == 0
    assert '"sum": "leak-rate"' in capsys.readouterr().out
    for said, meant in (
        ("leakrate", "leak-rate"),
        ("puncture", "tyre-leak"),
        ("how long to fill tyres", "tyre-fill"),
        ("hot hub", "hub-heat"),
    ):
        assert main(["sum", *said.split()]) == 1
        assert f"did you mean {meant}" in capsys.readouterr().err


NAMES = {
    "kPa": "kilopascal",
    "bar": "bar",
    "psi": "psi",
    "mbar": "millibar",
    "MPa": "megapascal",
    "inHg": "inch_Hg_32F",
    "bar/h": "bar/hour",
    "psi/day": "psi/day",
    "kPa/h": "kilopascal/hour",
    "in": "inch",
    "ft": "foot",
    "mile": "mile",
    "in2": "inch**2",
    "in3": "inch**3",
    "ft3": "foot**3",
    "US gal": "gallon",
    "ft3/min": "foot**3/minute",
    "L/h": "liter/hour",
    "mph": "mile/hour",
    "m/s": "meter/second",
    "N m": "newton*meter",
    "lbf ft": "force_pound*foot",
    "lbf": "force_pound",
    "lb": "pound",
    "hp": "horsepower",
    "kg/s": "kilogram/second",
    "g/h": "gram/hour",
    "min": "minute",
    "day": "day",
    "mm": "millimeter",
    "m": "meter",
    "L": "liter",
    "L/min": "liter/minute",
    "km/h": "kilometer/hour",
    "mm2": "millimeter**2",
    "kN": "kilonewton",
    "kg": "kilogram",
    "kW": "kilowatt",
    "kPa/min": "kilopascal/minute",
}
BASE = {
    "pressure": "kilopascal",
    "pressure rate": "kilopascal/minute",
    "length": "millimeter",
    "area": "millimeter**2",
    "volume": "liter",
    "flow": "liter/minute",
    "mass flow": "gram/hour",
    "speed": "kilometer/hour",
    "torque": "newton*meter",
    "force": "kilonewton",
    "mass": "kilogram",
    "power": "kilowatt",
    "time": "minute",
}


def test_conversions_are_those_of_a_units_library() -> None:
    """Source: pint, over 1,000 random values; temperatures by its offset units."""
    registry: pint.UnitRegistry[float] = pint.UnitRegistry(
        autoconvert_offset_to_baseunit=True
    )
    draw = Random(1)
    for _ in range(1000):
        symbol = draw.choice(list(NAMES))
        value = draw.uniform(-1000, 1000)
        unit = SYMBOLS[symbol]
        wanted = registry.Quantity(value, NAMES[symbol]).to(BASE[unit.kind]).magnitude
        assert value * unit.scale == pytest.approx(wanted, rel=1e-6), symbol
    for value in (-40.0, 0.0, 100.0, 212.0):
        wanted = registry.Quantity(value, "degF").to("degC").magnitude
        found = convert(value, SYMBOLS["degF"], SYMBOLS["degC"])
        assert found == pytest.approx(wanted, abs=1e-9)


def test_one_unit_serves_a_value_and_its_error() -> None:
    """120+-1psi was once taken as 120 kPa: a bad brake passed."""
    for text in ("120+-1psi", "120psi+-1", "120psi+-1psi", "120 ± 1 psi"):
        values, errors = typed(LEAK_RATE, [f"start={text}"])
        assert values["start"] == pytest.approx(120 * 6.894757, rel=1e-6)
        assert errors["start"] == pytest.approx(6.894757, rel=1e-6)
    drain = SHEETS["standing-drain"]
    values, errors = typed(drain, ["capacity=140Ah", "drain=60+-2mA"])
    assert [values["drain"], errors["drain"]] == pytest.approx([0.06, 0.002])


def test_input_that_is_given_twice_is_refused() -> None:
    with pytest.raises(SheetError, match="time is given twice"):
        typed(LEAK_RATE, ["time=5min", "time=10min"])


def test_leak_test_from_a_low_system_or_over_a_night_clears_nothing() -> None:
    for words in ("start=60psi end=59psi time=5min", "start=8bar end=7bar time=500min"):
        (said,) = worked(words.split()).verdicts
        assert said.startswith("No fault seen: under")
    (said,) = worked(["start=120psi", "end=119psi", "time=5min"]).verdicts
    assert said.startswith("Within")
    assert said.endswith("It alone clears no truck.")


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("steering-play play=125mm wheel=500mm steering=powered", "NOT within"),
        ("hub-heat left=200 right=195", "NOT within"),
        ("wheel-nut torque=900 class=10.9 maker=600", "NOT within"),
        ("acid-density density=1.10 temperature=-20", "NOT within"),
        ("boiling-point glycol=40 cap=0.9bar height=3500m reading=116", "as boiling"),
        ("coil-resistance power=18W measured=9ohm", "NOT within"),
        ("fuse-share load=20A fuse=15A", "NOT within"),
        ("pair-imbalance first=12.7V second=12.3V", "NOT within"),
        ("fill-again found=67psi recommended=85psi damage=none", "Add no air"),
        ("push-rod-stroke released=2+-0.1in applied=4.5+-0.1in pressure=87psi "
         "type=30", "NOT within"),
    ],
)  # fmt: skip
def test_what_can_kill_is_told(line: str, says: str) -> None:
    """Each once passed without a word, to somebody who had never seen the program."""
    assert any(says in verdict for verdict in sums.worked(line).verdicts)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("fill-again found=5.5bar recommended=4bar damage=none", "swapped"),
        ("push-rod-stroke released=60mm applied=60mm pressure=6bar type=30", "hardly"),
        ("push-rod-stroke released=60mm applied=99mm pressure=6bar limit=90mm", "64"),
    ],
)
def test_slip_that_would_pass_is_refused(line: str, says: str) -> None:
    with pytest.raises(SheetError, match=says):
        sums.worked(line)


def test_figure_on_the_good_side_of_a_least_is_not_under_it() -> None:
    least = Limit(0.03, Side.ABOVE, "the maker's least")
    assert "over 0.03 mm" in verdict(Figure("play", 0.23, "mm"), least)
    weak = replace(least, clears=False)
    assert "No fault seen: over 0.03 mm" in verdict(Figure("play", 0.23, "mm"), weak)


def test_strange_unit_beside_a_bare_number_leaves_it_in_doubt() -> None:
    """443 lbf ft beside a bare 600 was once taken for 74 % of the maker's torque."""
    nut = SHEETS["wheel-nut"]
    with pytest.raises(SheetError, match="maker=600 of what"):
        typed(nut, ["torque=443lbft", "maker=600", "class=10.9"])
    height = SHEETS["tyre-altitude"]
    with pytest.raises(SheetError, match="low=1500 of what"):
        typed(height, ["pressure=85psi", "low=1500", "high=10000ft"])


def test_system_under_its_low_air_mark_is_not_tested() -> None:
    for line in (
        "leak-rate start=3bar end=2.9bar time=5min",
        "supply-loss start=3bar end=2.9bar time=10min",
    ):
        with pytest.raises(SheetError, match="do not drive"):
            sums.worked(line)


def test_what_is_stamped_on_the_part_or_shown_by_the_meter_is_understood(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert typed(SHEETS["bolt-torque"], ["size=M14", "class=10.9"])[0]["size"] == 14
    with pytest.raises(SheetError, match="open circuit"):
        typed(SHEETS["coil-resistance"], ["power=18W", "measured=OL"])
    assert main(["sum", "LEAK-RATE", "help"]) == 0
    assert "Formula:" in capsys.readouterr().out
