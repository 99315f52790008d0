"""Two faults at once: how likely it is that no one cause explains what was found.

One fault is the rule, so pairs are looked at beside the causes and "none of these",
with a small prior: faults come independently and seldom. What two faults together bring
about is a noisy "or": each may bring an answer about by itself, and it may come without
either. Source: Pearl 1988 for the noisy-or (from memory).
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import combinations
from math import prod

from bot.diagnose.evidence import LEAST, MOST, Table

MEAN_FAULTS = 0.4
"""How many of a card's faults such a truck has at any time, whether it is complained of
or not: of the complaints about one in six then has two behind it. Our choice, for a
truck that has stood long; one in eleven is a well kept one's share."""

LIKELY = 0.4
"""From so sure on two faults are spoken of. Our choice: in simulated jobs with eight
answers that is one fault in forty for nothing; see tools/simulate.py."""

Members = tuple[int, ...]
"""The numbers of the causes that are there together; empty for none of those named."""


def noisy_or(chances: Iterable[float], leak: float) -> float:
    """P(it shows) when each of several causes may bring it about, or none of them.

    Args:
        chances: P(it shows | that cause alone), for each cause that is there.
        leak: P(it shows) when none is there; below 1.

    >>> round(noisy_or([0.9, 0.8], 0.05), 4)
    0.9789
    """
    missed = (1.0 - leak) * prod((1.0 - p) / (1.0 - leak) for p in chances)
    return min(MOST, max(LEAST, 1.0 - missed))


def together(table: Table, members: Members) -> list[float]:
    """P(answer | those causes together) for each answer of a check, summing to one."""
    shown = [noisy_or([row[n] for n in members], row[-1]) for row in table]
    return [p / sum(shown) for p in shown]


def sets(
    odds: Sequence[float], fits: Callable[[Members], float], most: int = 2
) -> Mapping[Members, float]:
    """P(those causes and no others) after what was found, some cause being there.

    Args:
        odds: prior odds of each cause, as if it came about by itself.
        fits: P(what was found | those causes together).
        most: how many causes can be there together.
    """
    weights = {
        members: prod(odds[n] for n in members) * fits(members)
        for size in range(1, most + 1)
        for members in combinations(range(len(odds)), size)
    }
    whole = sum(weights.values())
    return {members: weight / whole for members, weight in weights.items()}


def pair_behind(
    weights: Sequence[float], said: Sequence[tuple[Table, int]]
) -> tuple[Members, float] | None:
    """The likeliest two causes and P(two are there); None when that is not `LIKELY`.

    Args:
        weights: prior of each cause, none of these last; summing to one.
        said: each answer, as the table of its check and the number of its row.
    """
    odds = [_odds(MEAN_FAULTS * weight) for weight in weights]
    none = len(odds) - 1

    def fits(members: Members) -> float:
        if none in members and len(members) > 1:
            return 0.0
        return prod(together(table, members)[row] for table, row in said)

    found = sets(odds, fits)
    pairs = {members: p for members, p in found.items() if len(members) > 1}
    sure = sum(pairs.values())
    return (max(pairs, key=lambda m: pairs[m]), sure) if sure >= LIKELY else None


def _odds(chance: float) -> float:
    return chance / (1.0 - chance)
