"""Two faults at once."""

from itertools import product
from math import prod
from random import Random

import pyagrum
import pytest

from bot.diagnose.pairs import noisy_or, pair_behind, sets, together

ODDS = [0.05 / 0.95, 0.05 / 0.95, 0.01 / 0.99]
SIGNS = ((0.9, 0.05, 0.8), (0.05, 0.9, 0.8))
LEAK = 0.05


def test_worked_example_of_three_causes_and_two_signs() -> None:
    """Worked out apart from this program: parsimony falls out of the arithmetic."""

    def fits(members: tuple[int, ...]) -> float:
        return prod(noisy_or([sign[n] for n in members], LEAK) for sign in SIGNS)

    found = sets(ODDS, fits, most=3)
    wanted = {
        (2,): 0.4519,
        (0,): 0.1656,
        (1,): 0.1656,
        (0, 1): 0.1569,
        (0, 2): 0.0291,
        (1, 2): 0.0291,
        (0, 1, 2): 0.0019,
    }
    assert found == pytest.approx(wanted, abs=1e-4)
    marginals = [sum(p for s, p in found.items() if n in s) for n in range(3)]
    assert marginals == pytest.approx([0.3534, 0.3534, 0.5120], abs=2e-4)
    alone = sets(ODDS, fits, most=1)
    assert list(alone.values()) == pytest.approx([0.2114, 0.2114, 0.5771], abs=1e-4)


@pytest.mark.parametrize("seed", range(20))
def test_noisy_or_is_that_of_a_bayes_net_library(seed: int) -> None:
    """Source: pyAgrum's noisy-or node, its leak as one more cause that is there."""
    draw = Random(seed)
    leak = draw.uniform(0.02, 0.3)
    chances = [draw.uniform(leak, 0.95) for _ in range(draw.randint(1, 4))]
    net = pyagrum.BayesNet()
    shown = net.addNoisyORCompound(pyagrum.LabelizedVariable("shown", "", 2), leak)
    for number, p in enumerate(chances):
        cause = net.add(pyagrum.LabelizedVariable(f"cause{number}", "", 2))
        net.addWeightedArc(cause, shown, p)
    exact = pyagrum.LazyPropagation(net)
    exact.setEvidence({f"cause{number}": 1 for number in range(len(chances))})
    exact.makeInference()
    wanted = exact.posterior("shown").tolist()[1]
    assert noisy_or(chances, leak) == pytest.approx(min(0.98, wanted), abs=1e-9)


def test_two_answers_that_bear_evenly_stay_even_together() -> None:
    table = ((0.9, 0.1, 0.5), (0.1, 0.9, 0.5))
    assert together(table, (0, 1)) == pytest.approx([0.5, 0.5])


def test_columns_of_a_pair_are_probabilities() -> None:
    draw = Random(3)
    for _ in range(50):
        raw = [[draw.uniform(0.02, 1) for _ in range(4)] for _ in range(3)]
        sums = [sum(column) for column in zip(*raw, strict=True)]
        table = tuple(
            tuple(p / s for p, s in zip(row, sums, strict=True)) for row in raw
        )
        for members in product(range(3), repeat=2):
            found = together(table, members)
            assert sum(found) == pytest.approx(1.0)
            assert min(found) > 0


WEIGHTS = (0.4, 0.3, 0.2, 0.1)
FOR_FIRST = (((0.9, 0.05, 0.05, 0.05), (0.1, 0.95, 0.95, 0.95)), 0)
FOR_SECOND = (((0.05, 0.9, 0.05, 0.05), (0.95, 0.1, 0.95, 0.95)), 0)


def test_two_confirmed_causes_are_both_there() -> None:
    found = pair_behind(WEIGHTS, [FOR_FIRST, FOR_SECOND, FOR_FIRST, FOR_SECOND])
    assert found is not None
    members, sure = found
    assert members == (0, 1)
    assert sure > 0.8


def test_one_confirmed_cause_is_enough() -> None:
    assert pair_behind(WEIGHTS, [FOR_FIRST, FOR_FIRST, FOR_FIRST]) is None
    assert pair_behind(WEIGHTS, []) is None
