"""One truck as its keeper notes it: its place, parts aboard, prices."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import Enum

from bot.model.card import Duration, PartChoice
from bot.model.fitted import Only, suits


class Where(Enum):
    """Where the truck is to be mended."""

    AT_HOME = "at home"
    ON_THE_TRAIL = "on the trail"


class Rather(Enum):
    """What the keeper would rather spend."""

    TIME = "rather time than money"
    ALIKE = "both alike"
    MONEY = "rather money than time"


@dataclass(frozen=True, slots=True)
class Truck:
    """The profile of one truck.

    `aboard` are parts carried, one named twice is carried twice; `lacks` tools that are
    not. `prices`, `waits` and `weights` overrule a card's price words, and common
    weights, for one part: (part, money), (part, how long it takes to get), (part, kg).
    `units` are the symbols that figures are shown in, the first that fits; `fitted` and
    `without` what it has for sure and has not, in the words of `model.fitted`. `since`
    is the day from which its jobs are written down, `yearly_km` how far it goes in a
    year.
    """

    name: str
    where: Where = Where.ON_THE_TRAIL
    rather: Rather = Rather.ALIKE
    aboard: tuple[str, ...] = ()
    prices: tuple[tuple[str, float], ...] = ()
    waits: tuple[tuple[str, Duration], ...] = ()
    lacks: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    fitted: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    weights: tuple[tuple[str, float], ...] = ()
    since: date | None = None
    yearly_km: float | None = None

    def suits(self, only: Only) -> bool:
        """Whether what is for such trucks only may be for this one."""
        return suits(only, self.fitted, self.without)

    def has(self, part: PartChoice) -> bool:
        """Whether that part is carried."""
        return any(same_part(part.name, name) for name in self.aboard)

    def price(self, part: PartChoice) -> float | None:
        """What that part costs in money, if it is noted."""
        found = (money for name, money in self.prices if same_part(part.name, name))
        return next(found, None)

    def weight_kg(self, part: str) -> float | None:
        """What such a part weighs, if it is noted."""
        return next((kg for name, kg in self.weights if same_part(part, name)), None)

    def wait(self, part: PartChoice) -> Duration | None:
        """How long that part takes to get, if it is noted."""
        found = (wait for name, wait in self.waits if same_part(part.name, name))
        return next(found, None)


def out_of_reach(tools: Iterable[str], lacking: Iterable[str]) -> bool:
    """Whether one of the tools can be had in none of its forms.

    >>> out_of_reach(["meter or lamp"], ["meter"]), out_of_reach(["meter"], ["meter"])
    (False, True)
    """
    gone = tuple(lacking)
    needed = (tool for tool in tools if not tool.endswith(IF_AT_HAND))
    return any(
        all(any(same_part(form, name) for name in gone) for form in tool.split(" or "))
        for tool in needed
    )


IF_AT_HAND = " if at hand"


def same_part(one: str, other: str) -> bool:
    """Whether two names mean the same part: all words of the shorter, in any order.

    >>> same_part("sealing ring", "Sealing rings, copper"), same_part("hose", "belt")
    (True, False)
    """
    mine, theirs = part_words(one), part_words(other)
    return bool(mine and theirs) and (mine <= theirs or theirs <= mine)


_SMALL = frozenset(("a", "an", "the", "of", "for", "and", "or"))


def part_words(name: str) -> frozenset[str]:
    """The words that tell one part from another, in any order and number.

    >>> part_words("Sealing rings") == part_words("ring, sealing")
    True
    """
    kept = "".join(c if c.isalnum() else " " for c in name.lower()).split()
    return frozenset(word.removesuffix("s") for word in kept if word not in _SMALL)
