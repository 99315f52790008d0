"""How many clean cycles make "cured" sure."""

import math

import pytest

from bot.diagnose.proof import cured_chance, enough_cycles

TABLE = [
    ((1, 20), 0.5, 69),
    ((1, 10), 0.5, 36),
    ((1, 5), 0.5, 19),
    ((3, 10), 0.5, 11),
    ((5, 10), 0.5, 6),
    ((1, 20), 0.7, 38),
    ((1, 10), 0.7, 20),
    ((3, 10), 0.7, 7),
    ((3, 5), 0.7, 3),
]


@pytest.mark.parametrize(("showed", "cures", "wanted"), TABLE)
def test_enough_cycles_for_95_per_cent(
    showed: tuple[int, int], cures: float, wanted: int
) -> None:
    """Figures worked out apart from this program, with Beta(1 + k, 1 + n - k)."""
    assert enough_cycles(cures, showed) == wanted


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
