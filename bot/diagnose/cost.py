"""What a step costs, in one number: minutes, with money and waiting turned into them.

The truck's own note of what is aboard, what parts cost and how long they take overrules
the figures here, which are all our choice, no source. Without a note parts are taken
for as good as at hand, at the price of their word.
"""

from types import MappingProxyType

from bot.model.card import Part, PartChoice, Price, Proof
from bot.model.truck import Rather, Truck, Where

PRICE_MINUTES = MappingProxyType(
    {Price.CHEAP: 3.0, Price.FAIR: 15.0, Price.DEAR: 80.0, Price.SCARCE: 300.0}
)
"""What a part's price word is worth in minutes."""

MINUTES_PER_MONEY = 0.4
"""What a unit of money is worth in minutes: two hundred, a tankful, is `dear`."""

PRICE_MONEY = MappingProxyType(
    {word: minutes / MINUTES_PER_MONEY for word, minutes in PRICE_MINUTES.items()}
)
"""The same in money."""

RATHER_FACTOR = MappingProxyType(
    {Rather.TIME: 3.0, Rather.ALIKE: 1.0, Rather.MONEY: 1 / 3}
)
"""How much more money weighs beside time for one who would rather spend time."""

WAIT_MINUTES = MappingProxyType(
    {Price.CHEAP: 240.0, Price.FAIR: 600.0, Price.DEAR: 2880.0, Price.SCARCE: 20160.0}
)
"""How long a part that is not aboard takes to get: from half a day to two weeks."""

WAITING_AT_HOME = 0.02
"""What a minute of waiting counts at home, where life goes on; on the trail it counts
as one of work."""

HELP_MINUTES = 600.0
"""What calling for help costs: a day lost and a recovery to be paid."""


WATCHED_MINUTES = 30.0
"""A trial costs half an hour at most: what takes longer runs by itself, over a night
that comes anyway or on the way to where one goes."""


def trial_cost(proof: Proof) -> float:
    """What it costs, in minutes, to find out whether a repair cured: one cycle."""
    return min(proof.needs.time.minutes, WATCHED_MINUTES)


def part_cost(part: Part, truck: Truck | None = None) -> float:
    """Minutes' worth of the cheapest choice of a part, substitutes among them."""
    return min(_choice_cost(choice, truck) for choice in part.choices)


def _choice_cost(choice: PartChoice, truck: Truck | None) -> float:
    """Money and waiting for one part; one that is aboard must be bought again later."""
    price = PRICE_MINUTES[choice.price]
    if truck is None:
        return price
    money = truck.price(choice)
    if money is not None:
        price = money * MINUTES_PER_MONEY
    return price * RATHER_FACTOR[truck.rather] + _waiting(choice, truck)


def _waiting(choice: PartChoice, truck: Truck) -> float:
    if truck.has(choice):
        return 0.0
    noted = truck.wait(choice)
    wait = noted.minutes if noted else WAIT_MINUTES[choice.price]
    return wait * (WAITING_AT_HOME if truck.where is Where.AT_HOME else 1.0)
