"""What a step costs, in one number: minutes, with money and waiting turned into them.

Out on the trail, with the person's own time as the measure. All figures here are our
choice, no source; a truck's own store of parts and prices is to overrule them.
"""

from types import MappingProxyType

from bot.model.card import Part, Price, Proof

PRICE_MINUTES = MappingProxyType(
    {Price.CHEAP: 3.0, Price.FAIR: 15.0, Price.DEAR: 80.0, Price.SCARCE: 300.0}
)
"""What a part's price word is worth in minutes."""

HELP_MINUTES = 600.0
"""What calling for help costs: a day lost and a recovery to be paid."""


WATCHED_MINUTES = 30.0
"""A trial costs half an hour at most: what takes longer runs by itself, over a night
that comes anyway or on the way to where one goes."""


def trial_cost(proof: Proof) -> float:
    """What it costs, in minutes, to find out whether a repair cured: one cycle."""
    return min(proof.needs.time.minutes, WATCHED_MINUTES)


def part_cost(part: Part) -> float:
    """Minutes' worth of the cheapest choice of a part."""
    return min(PRICE_MINUTES[choice.price] for choice in part.choices)
