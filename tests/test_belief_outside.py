"""Beliefs and clean cycles against general-purpose libraries of mathematics."""

from random import Random

import pyagrum
import pytest
from scipy.integrate import quad
from scipy.stats import beta, betabinom

from bot.diagnose.belief import posterior
from bot.diagnose.proof import cured_chance, enough_cycles


def net(weights: list[float], tables: list[list[list[float]]]) -> "pyagrum.BayesNet":
    """One cause with a child for each check; tables[k][cause][answer]."""
    made = pyagrum.BayesNet()
    cause = made.add(pyagrum.RangeVariable("cause", "", 0, len(weights) - 1))
    made.cpt(cause).fillWith(weights)
    for number, table in enumerate(tables):
        name = f"check{number}"
        child = made.add(pyagrum.RangeVariable(name, "", 0, len(table[0]) - 1))
        made.addArc(cause, child)
        made.cpt(child).fillWith([p for row in table for p in row])
    return made


def shares(draw: Random, count: int) -> list[float]:
    raw = [draw.uniform(0.02, 1) for _ in range(count)]
    return [value / sum(raw) for value in raw]


@pytest.mark.parametrize("seed", range(200))
def test_posterior_is_that_of_a_bayes_net_library(seed: int) -> None:
    """Source: pyAgrum, exact inference (a general-purpose Bayes-net library)."""
    draw = Random(seed)
    causes = draw.randint(2, 9)
    weights = shares(draw, causes)
    checks = draw.randint(1, 6)
    tables = [
        [shares(draw, answers) for _ in range(causes)]
        for answers in (draw.randint(2, 4) for _ in range(checks))
    ]
    answers = [draw.randrange(len(table[0])) for table in tables]
    exact = pyagrum.LazyPropagation(net(weights, tables))
    exact.setEvidence({f"check{n}": answer for n, answer in enumerate(answers)})
    exact.makeInference()
    wanted = exact.posterior("cause").tolist()
    said = [
        [row[answer] for row in table]
        for table, answer in zip(tables, answers, strict=True)
    ]
    assert posterior(weights, said) == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("showed", [(1, 20), (1, 10), (3, 10), (5, 10), (3, 5)])
@pytest.mark.parametrize("clean", [1, 5, 20])
def test_clean_cycles_are_those_of_the_beta_binomial(
    showed: tuple[int, int], clean: int
) -> None:
    """Source: scipy.stats, and numerical integration over the unknown rate."""
    times, cycles = showed
    a, b = 1 + times, 1 + cycles - times
    still = betabinom(clean, a, b).pmf(0)
    assert cured_chance(0.5, showed, clean) == pytest.approx(1 / (1 + still), abs=1e-9)
    by_hand, _ = quad(lambda rate: (1 - rate) ** clean * beta(a, b).pdf(rate), 0, 1)
    assert still == pytest.approx(by_hand, abs=1e-8)


@pytest.mark.parametrize("showed", [(1, 10), (3, 10), (5, 10)])
def test_enough_is_the_first_number_that_is_sure(showed: tuple[int, int]) -> None:
    needed = enough_cycles(0.7, showed)
    assert cured_chance(0.7, showed, needed) >= 0.95
    assert cured_chance(0.7, showed, needed - 1) < 0.95
