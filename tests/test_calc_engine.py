"""Cooling, fuel and power: laws the sums must obey, refusals, and libraries to agree.

CoolProp 8.0.0 (water; the Melinder mixtures MEG and MPG) and fluids 1.3.1 stand in as
second opinions; a test that needs one is skipped where it is not installed.
"""

import random

import fluids
import pytest
from CoolProp import CoolProp

from bot.calc.book import SHEETS
from bot.calc.cooling import ETHYLENE, PROPYLENE, freezes_c, water_boils_c, water_moles
from bot.calc.engine import head_kpa
from bot.calc.sheet import SheetError, work_out
from bot.calc.typed import typed
from tests.sums import of, result, worked

LOTS = 1000


def test_fahrenheit_and_celsius_give_the_same_margin() -> None:
    metric = worked("freeze-point glycol=50 coldest=-20degC").figures
    assert metric == worked("freeze-point glycol=50 coldest=-4degF").figures


def test_water_boils_as_coolprop_says() -> None:
    """IF97 against IAPWS-95 as CoolProp has it: within 0.02 K, 30 to 400 kPa."""
    draw = random.Random(1)
    for _ in range(LOTS):
        kpa = draw.uniform(30, 400)
        kelvin = CoolProp.PropsSI("T", "P", kpa * 1000, "Q", 0, "Water")
        assert water_boils_c(kpa) + 273.15 == pytest.approx(kelvin, abs=0.02)


def test_a_whole_boiling_sheet_agrees_with_libraries() -> None:
    """Standard air by fluids, water by CoolProp, any cap and height, within 0.05 K."""
    draw = random.Random(2)
    for _ in range(LOTS):
        height, cap = draw.uniform(0, 6000), draw.uniform(0, 250)
        share, kind = draw.uniform(0, 70), draw.choice([ETHYLENE, PROPYLENE])
        air = fluids.ATMOSPHERE_1976(height).P
        pressure = (air + cap * 1000) / water_moles(share, kind)
        kelvin = CoolProp.PropsSI("T", "P", pressure, "Q", 0, "Water")
        found = of("boiling-point", glycol=share, cap=cap, height=height, kind=kind)
        assert found["boiling point"] + 273.15 == pytest.approx(kelvin, abs=0.05)
        assert found["air pressure"] == pytest.approx(air / 1000, rel=1e-4)


def test_ethylene_freezes_between_two_readings_of_the_melinder_mixture() -> None:
    """A share of concentrate lies between that share of pure glycol by mass and volume.

    CoolProp's MEG ends at 56 % by volume and starts to differ below 10 %: within 1 K.
    """
    draw = random.Random(3)
    for _ in range(LOTS):
        share = draw.uniform(0.10, 0.55)
        mass = share * 1.1132 / (share * 1.1132 + (1 - share) * 0.9982)
        by_mass, by_volume = (
            CoolProp.PropsSI("T_freeze", "T", 300, "P", 101325, f"INCOMP::MEG[{x:.6f}]")
            - 273.15
            for x in (share, mass)
        )
        assert by_volume - 1 < freezes_c(100 * share, ETHYLENE) < by_mass + 1


def test_propylene_freezes_as_the_melinder_mixture() -> None:
    """CoolProp's MPG at the share by mass: within 1 K from 10 to 59 %."""
    draw = random.Random(4)
    for _ in range(LOTS):
        share = draw.uniform(0.10, 0.59)
        name = f"INCOMP::MPG[{share:.6f}]"
        kelvin = CoolProp.PropsSI("T_freeze", "T", 300, "P", 101325, name)
        assert freezes_c(100 * share, PROPYLENE) == pytest.approx(
            kelvin - 273.15, abs=1
        )


def test_a_column_of_fuel_weighs_what_a_library_says() -> None:
    draw = random.Random(5)
    for _ in range(LOTS):
        height, density = draw.uniform(-3, 5), draw.uniform(0.75, 1.0)
        pascal = fluids.P_from_head(head=height, rho=density * 1000)
        assert head_kpa(height, density) == pytest.approx(pascal / 1000, rel=1e-9)


def test_thin_air_is_as_a_library_says() -> None:
    draw = random.Random(6)
    for _ in range(LOTS):
        height = draw.uniform(0, 5000)
        part = 100 * fluids.ATMOSPHERE_1976(height).P / 101325
        found = of("altitude-power", power=100, height=height)
        assert found["air pressure left"] == pytest.approx(part, rel=1e-4)


@pytest.mark.parametrize("kind", ["ethylene", "propylene"])
def test_more_glycol_boils_later_and_freezes_later(kind: str) -> None:
    shares = range(0, 61, 3)
    boils = [result(f"boiling-point glycol={s} kind={kind}") for s in shares]
    freezes = [result(f"freeze-point glycol={s} kind={kind}") for s in shares]
    assert boils == sorted(boils)
    assert freezes == sorted(freezes, reverse=True)


def test_a_stronger_cap_raises_and_height_lowers_the_boiling_point() -> None:
    caps = [result(f"boiling-point glycol=50 cap={c}kPa") for c in range(0, 200, 10)]
    highs = [
        result(f"boiling-point glycol=50 height={h}m") for h in range(0, 6000, 500)
    ]
    assert caps == sorted(set(caps))
    assert highs == sorted(set(highs), reverse=True)


def test_the_boiling_point_inverts() -> None:
    """Water at its boiling point again has the pressure that was put in."""
    for kpa in (40.0, 101.325, 250.0):
        kelvin = water_boils_c(kpa) + 273.15
        again = CoolProp.PropsSI("P", "T", kelvin, "Q", 0, "Water") / 1000
        assert again == pytest.approx(kpa, rel=5e-4)


def test_a_freeze_point_is_even_across_the_points_of_its_table() -> None:
    for kind in (ETHYLENE, PROPYLENE):
        for share in range(10, 60, 10):
            below, above = (freezes_c(share + step, kind) for step in (-1e-9, 1e-9))
            assert below == pytest.approx(above, abs=1e-6)


def test_no_chart_of_cooling_or_fuel_ever_clears_a_truck() -> None:
    for line in (
        "boiling-point glycol=50 reading=60degC height=0m",
        "freeze-point glycol=50 coldest=10degC",
        "fuel-suction reading=1kPa",
        "fuel-suction reading=0inHg most=20kPa",
        "fuel-suction reading=30kPa most=50kPa",
        "coolant-mix volume=40L now=30 wanted=50",
    ):
        assert not any(v.startswith("Within") for v in worked(line).verdicts), line


def test_a_gauge_past_the_boiling_point_is_told() -> None:
    said = worked("boiling-point glycol=50 height=4500m reading=105degC").verdicts
    assert said[0].startswith("NOT within the limit")


def test_the_makers_suction_limit_takes_the_place_of_the_family_figures() -> None:
    said = worked("fuel-suction reading=30kPa most=50kPa").verdicts
    assert len(said) == 1
    assert said[0].startswith("No fault seen: under 50 kPa")
    assert "draws air" in said[0]
    assert worked("fuel-suction reading=60kPa most=50kPa").verdicts[0][:3] == "NOT"


@pytest.mark.parametrize(
    ("reading", "starts"),
    [("3inHg", "No fault seen: under"), ("9inHg", "NOT"), ("14inHg", "NOT")],
)
def test_suction_has_one_verdict(reading: str, starts: str) -> None:
    (said,) = worked(f"fuel-suction reading={reading}").verdicts
    assert said.startswith(starts)


def test_suction_is_lift_and_loss_together() -> None:
    found = of("fuel-suction", reading=15, rise=0.3, lift=1.0)
    parts = found["static lift"] + found["lost in pipes and filters"]
    assert parts == pytest.approx(found["suction at the pump"])


def test_a_pump_above_the_gauge_draws_more_than_the_gauge_shows() -> None:
    level = result("fuel-suction reading=10kPa")
    assert result("fuel-suction reading=10kPa rise=1m") > level == 10
    assert result("fuel-suction reading=10kPa rise=-1m") < level


def test_mixing_by_the_sheet_gives_the_share_that_was_wanted() -> None:
    draw = random.Random(7)
    for _ in range(LOTS):
        volume, now = draw.uniform(5, 100), draw.uniform(0, 95)
        wanted = draw.uniform(0, 69)
        fill = draw.uniform(70, 100) if wanted > now else draw.uniform(0, wanted)
        found = of("coolant-mix", volume=volume, now=now, wanted=wanted, fill=fill)
        swap = found["drain and refill"]
        glycol = (volume - swap) * now + swap * fill
        assert 0 <= swap <= volume * 1.000001
        assert glycol == pytest.approx(volume * wanted)


def test_what_is_in_hand_brings_the_mix_as_far_as_it_goes() -> None:
    line = "coolant-mix volume=40L now=30 wanted=50"
    for have, share in (("2L", 33.5), ("5L", 38.75), ("90L", 50)):
        figures = {f.name: f.value for f in worked(f"{line} have={have}").figures}
        assert figures["share with what you have"] == pytest.approx(share)


def test_no_share_given_is_concentrate_or_water_by_need() -> None:
    line = "coolant-mix volume=40L now=40"
    assert result(f"{line} wanted=50") == result(f"{line} wanted=50 fill=100")
    assert result(f"{line} wanted=30") == result(f"{line} wanted=30 fill=0")


@pytest.mark.parametrize("wanted", [20, 70])
def test_mix_outside_the_band_is_told(wanted: int) -> None:
    (said,) = worked(f"coolant-mix volume=40L now=50 wanted={wanted}").verdicts
    assert said.startswith("NOT within the limit")


def test_power_left_scales_with_power_and_falls_with_height() -> None:
    highs = [
        result(f"altitude-power power=100kW height={h}m") for h in range(0, 5001, 500)
    ]
    assert highs == sorted(highs, reverse=True)
    one, two = (result(f"altitude-power power={p}kW height=3000m") for p in (80, 160))
    assert two == pytest.approx(2 * one)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("boiling-point glycol=80", "holds to 70 %"),
        ("boiling-point glycol=50 cap=15psi reading=125degC", "give height="),
        ("coolant-mix volume=40 now=60 wanted=40 fill=50", "use water"),
        ("boiling-point glycol=50 height=100m around=90kPa abs", "not both"),
        ("boiling-point glycol=50 around=-5kPa abs", "around must be 30 to 110"),
        ("boiling-point glycol=50 around=90kPa", "around: kPa is"),
        ("freeze-point glycol=65", "past 60 %"),
        ("coolant-mix volume=40 now=30 wanted=60 fill=50", "use neat"),
        ("fuel-suction reading=1kPa lift=3m", "air in the line"),
        ("altitude-power power=100kW height=9000m", "height must be"),
    ],
)
def test_readings_that_contradict_are_refused_in_one_sentence(
    line: str, says: str
) -> None:
    line = line.replace("kPa abs", "kPa_abs")
    name, *given = (word.replace("_", " ") for word in line.split())
    with pytest.raises(SheetError, match=says):
        work_out(SHEETS[name], typed(SHEETS[name], given)[0])
