"""How many clean cycles make "cured" sure.

A fault that showed k times in n cycles before has a rate that is itself uncertain:
Beta(1 + k, 1 + n - k). The chance of m clean cycles although nothing was cured is
Q(m) = product of (b + t) / (a + b + t) for t = 0 .. m - 1, with a = 1 + k and
b = 1 + n - k. Bayes then gives P(cured | m clean).
"""

SURE_ENOUGH = 0.95
"""The chance of "cured" at which a repair counts as proved. Our choice, no source."""

MOST_CYCLES = 500


def cured_chance(cures: float, showed: tuple[int, int], clean: int) -> float:
    """P(cured) after some clean cycles.

    Args:
        cures: P(the repair cured it) before any cycle, between 0 and 1.
        showed: (times it showed, in how many cycles) before the repair.
        clean: clean cycles since.

    >>> round(cured_chance(0.5, (3, 10), 10), 4)
    0.9477
    """
    times, cycles = showed
    a, b = 1 + times, 1 + cycles - times
    still = 1.0
    for t in range(clean):
        still *= (b + t) / (a + b + t)
    return cures / (cures + (1 - cures) * still)


def enough_cycles(cures: float, showed: tuple[int, int]) -> int:
    """The clean cycles that make a cure sure; one for a fault that never stayed away.

    >>> enough_cycles(0.5, (1, 10)), enough_cycles(0.7, (3, 10))
    (36, 7)
    """
    if showed == (1, 1):
        return 1
    for clean in range(1, MOST_CYCLES):
        if cured_chance(cures, showed, clean) >= SURE_ENOUGH:
            return clean
    return MOST_CYCLES
