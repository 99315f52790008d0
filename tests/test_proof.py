"""How many clean cycles make "cured" sure."""

import math

import pytest

from bot.diagnose.proof import cured_chance, enough_cycles

TABLE = {
    (1, 20): (69, 38),
    (1, 10): (36, 20),
    (1, 5): (19, 11),
    (2, 10): (17, 11),
    (3, 10): (11, 7),
    (5, 10): (6, 4),
    (3, 5): (5, 3),
    (10, 10): (2, 1),
}


@pytest.mark.parametrize("showed", TABLE)
@pytest.mark.parametrize("cures", [0.5, 0.7])
def test_enough_cycles_for_95_per_cent(showed: tuple[int, int], cures: float) -> None:
    """Figures worked out apart from this program, with Beta(1 + k, 1 + n - k)."""
    assert enough_cycles(cures, showed) == TABLE[showed][cures == 0.7]


@pytest.mark.parametrize(
    ("cures", "clean", "wanted"),
    [
        (0.5, 3, 0.7521),
        (0.5, 5, 0.8465),
        (0.5, 8, 0.9215),
        (0.5, 10, 0.9477),
        (0.5, 15, 0.9784),
        (0.5, 20, 0.9896),
        (0.7, 3, 0.8762),
        (0.7, 10, 0.9769),
        (0.7, 20, 0.9955),
    ],
)
def test_clean_cycles_of_a_fault_that_showed_three_times_in_ten(
    cures: float, clean: int, wanted: float
) -> None:
    """Figures worked out apart from this program, checked by numerical integration."""
    assert cured_chance(cures, (3, 10), clean) == pytest.approx(wanted, abs=5e-5)


@pytest.mark.parametrize("clean", [1, 3, 10, 20])
def test_chance_of_staying_clean_by_luck_is_the_beta_integral(clean: int) -> None:
    """E[(1 - r)^m] under Beta(a, b), by its closed form with the gamma function.

    Source: mean of a power under the beta distribution, any statistics text (from
    memory).
    """
    times, cycles, cures = 3, 10, 0.5
    a, b = 1 + times, 1 + cycles - times
    luck = math.exp(
        math.lgamma(b + clean)
        - math.lgamma(b)
        + math.lgamma(a + b)
        - math.lgamma(a + b + clean)
    )
    wanted = cures / (cures + (1 - cures) * luck)
    assert cured_chance(cures, (times, cycles), clean) == pytest.approx(wanted)


def test_fault_that_never_stayed_away_needs_one_clean_cycle() -> None:
    assert enough_cycles(0.5, (1, 1)) == 1


def test_rarer_faults_need_more_cycles() -> None:
    needed = [enough_cycles(0.6, (times, 20)) for times in range(1, 20)]
    assert needed == sorted(needed, reverse=True)
