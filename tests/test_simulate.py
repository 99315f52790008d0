"""The simulator's own arithmetic, and a short run of it on a real card."""

import pytest
from simulate import calibration, on_cards
from walks import Walk, as_written, by_planner, likeliest_first

from bot.model.card import Card

MURPHY = [(0.9, n < 7) for n in range(8)] + [(0.7, n < 4) for n in range(6)]
MURPHY += [(0.3, n < 2) for n in range(6)]


def test_calibration_of_a_worked_example() -> None:
    """Worked by hand from Murphy 1973: Brier .178000, ECE .0300, z .344."""
    found = calibration(MURPHY)
    assert found["Brier"] == pytest.approx(0.178)
    assert found["ECE, ten bins"] == pytest.approx(0.03, abs=5e-5)
    assert found["Spiegelhalter z"] == pytest.approx(0.344, abs=5e-4)


@pytest.mark.parametrize(
    ("forecasts", "brier", "z"),
    [((0.2, 0.2), 0.34, 1.06), ((0.4, 0.5), 0.30, 1.22)],
)
def test_spiegelhalter_z_of_two_forecasts(
    forecasts: tuple[float, float], brier: float, z: float
) -> None:
    """Rufibach 2010, "Use of Brier score to assess binary predictions" (seen)."""
    found = calibration(list(zip(forecasts, (True, False), strict=True)))
    assert found["Brier"] == pytest.approx(brier, abs=0.006)
    assert found["Spiegelhalter z"] == pytest.approx(z, abs=0.006)


@pytest.mark.parametrize("walker", [by_planner, as_written, likeliest_first])
def test_every_walk_ends_and_pays_for_what_it_did(
    walker: object, wheel_valve: Card
) -> None:
    assert callable(walker)
    for truth in range(len(wheel_valve.causes) + 1):
        walk = Walk(wheel_valve, truth, f"seed {truth}")
        walker(walk)
        assert walk.cured
        assert walk.minutes > 0
        assert walk.checks == len(walk.heard)


def test_planner_is_cheaper_than_the_written_order(wheel_valve: Card) -> None:
    found, _ = on_cards([wheel_valve], 30)
    ratio = found["planner / written order"]
    assert isinstance(ratio, tuple)
    assert ratio[0] < 0.9
