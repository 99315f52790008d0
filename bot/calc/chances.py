"""The laws of chance that the workshop's sums share: binomial, normal and Poisson.

Shares and chances are plain numbers from 0 to 1. Inverses are found by halving, in a
bounded number of steps, so that no outside library is needed.
"""

import math
from collections.abc import Callable

MOST_STOCK = 2000
"""Where counting spares up stops. Source: our choice."""


def solve(rising: Callable[[float], float], wanted: float, most: float) -> float:
    """Where a rising function of 0 to `most` reaches `wanted`, by halving.

    The steps are bounded: 100 halvings are finer than a float can hold.

    >>> round(solve(lambda x: x * x, 2, 10), 6)
    1.414214
    """
    least = 0.0
    for _ in range(100):
        middle = (least + most) / 2
        if middle in (least, most):
            break
        if rising(middle) < wanted:
            least = middle
        else:
            most = middle
    return (least + most) / 2


def normal_reach(chance: float) -> float:
    """How many standard deviations above the mean leave `chance` below, 0.5 and up.

    Source: definition of the normal distribution.

    >>> round(normal_reach(0.975), 6)
    1.959964
    """
    return solve(lambda z: 1 - math.erfc(z / math.sqrt(2)) / 2, chance, 10)


def at_least(failed: int, trials: int, share: float) -> float:
    """The chance of so many failures or more, by the binomial law.

    Args:
        failed: failures, 0 to `trials`.
        trials: independent trials.
        share: the true share that fails, 0 to 1.

    >>> round(at_least(3, 15, 0.1), 6)
    0.184061
    """
    if failed <= 0 or share >= 1:
        return 1.0
    if failed > trials or share <= 0:
        return 0.0
    if failed <= trials * share:  # the other tail falls from its first term on
        return max(0.0, 1 - at_least(trials - failed + 1, trials, 1 - share))
    ways = math.lgamma(trials + 1) - math.lgamma(failed + 1)
    ways -= math.lgamma(trials - failed + 1)
    clean = (trials - failed) * math.log1p(-share)
    term = math.exp(ways + failed * math.log(share) + clean)
    total = 0.0
    for count in range(failed, trials + 1):
        total += term
        if term < total * 1e-18:
            break
        term *= (trials - count) / (count + 1) * share / (1 - share)
    return min(1.0, total)


def wilson(failed: int, trials: int, reach: float) -> tuple[float, float]:
    """Wilson's interval of a share, without continuity correction.

    Args:
        failed: failures seen, 0 to `trials`.
        trials: trials made, 1 or more.
        reach: standard deviations either way, such as 1.96.

    >>> [round(end, 4) for end in wilson(3, 10, normal_reach(0.975))]
    [0.1078, 0.6032]
    """
    share, square = failed / trials, reach * reach
    centre = share + square / (2 * trials)
    half = share * (1 - share) / trials + square / (4 * trials * trials)
    half = reach * math.sqrt(half)
    under = 1 + square / trials
    return max(0.0, (centre - half) / under), min(1.0, (centre + half) / under)


def exact(failed: int, trials: int, tail: float) -> tuple[float, float]:
    """The exact (Clopper-Pearson) interval of a share.

    Args:
        failed: failures seen, 0 to `trials`.
        trials: trials made, 1 or more.
        tail: the chance left out at each end, 0 to 0.5.

    >>> [round(end, 4) for end in exact(4, 20, 0.025)]
    [0.0573, 0.4366]
    """
    low, high = 0.0, 1.0
    if failed > 0:
        low = solve(lambda share: at_least(failed, trials, share), tail, 1)
    if failed < trials:
        high = solve(lambda share: at_least(failed + 1, trials, share), 1 - tail, 1)
    return low, high


def at_most(failures: int, expected: float) -> float:
    """The chance of so many failures or fewer, by Poisson's law.

    Args:
        failures: 0 or more.
        expected: how many there are on average, 0 or more.

    >>> round(at_most(3, 3.0), 4)
    0.6472
    """
    if expected <= 0:
        return 1.0
    below = failures < expected
    count = failures if below else failures + 1
    term = math.exp(count * math.log(expected) - expected - math.lgamma(count + 1))
    total = 0.0
    while term > total * 1e-18:  # away from the mean, so that every term is smaller
        total += term
        term *= count / expected if below else expected / (count + 1)
        count += -1 if below else 1
    return total if below else 1 - total


def worst_expected(failures: int, sure: float) -> float:
    """The failures to reckon with where so many were seen: chi-square(2r + 2) / 2.

    Args:
        failures: seen, 0 or more.
        sure: the confidence, under 1.

    >>> round(worst_expected(0, 0.95), 4), round(worst_expected(2, 0.95), 4)
    (2.9957, 6.2958)
    """
    most = 3 * failures + 50.0  # over every bound up to a confidence of 0.99995
    return solve(lambda m: 1 - at_most(failures, m), sure, most)


def stock_needed(expected: float, sure: float) -> int:
    """The fewest spares that are enough with that confidence.

    >>> stock_needed(4.32, 0.95)
    8
    """
    total, stock = math.exp(-expected), 0
    while total < sure and stock < MOST_STOCK:
        stock += 1
        log = stock * math.log(expected) - expected - math.lgamma(stock + 1)
        total += math.exp(log)
    return stock


def sequential(good: float, bad: float, slips: tuple[float, float]) -> list[float]:
    """Wald's sequential test: log ratio, accept offset, reject offset, slope.

    Args:
        good: failure share that is fine, over 0.
        bad: failure share that is not, over `good` and under 1.
        slips: (chance to turn down a good repair, chance to pass a bad one).

    Source: NIST/SEMATECH e-Handbook 6.2.6.

    >>> [round(x, 4) for x in sequential(0.01, 0.10, (0.05, 0.10))]
    [2.3979, 0.9389, 1.2054, 0.0397]
    """
    turn_down, let_pass = slips
    ratio = math.log(bad * (1 - good) / (good * (1 - bad)))
    accept = math.log((1 - turn_down) / let_pass) / ratio
    reject = math.log((1 - let_pass) / turn_down) / ratio
    return [ratio, accept, reject, math.log((1 - good) / (1 - bad)) / ratio]
