"""How often each fault may come on a trip, and the parts that it would ask for."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from bot.diagnose.belief import prior_of
from bot.diagnose.cost import HELP_MINUTES, MINUTES_PER_MONEY, PRICE_MONEY
from bot.diagnose.learning import NO_OUTCOMES, Outcomes
from bot.diagnose.spares import Spare, Want
from bot.model.card import Card, Cause, Drive, Part, PartChoice, Price, Repair
from bot.model.truck import Truck, part_words, same_part

KM_A_FAULT = 1500.0
"""An old heavy truck off the road has a fault that is worth a page about every so many
kilometres. Our choice, no source; a truck's own jobs soon weigh more."""

PRIOR_FAULTS = 5.0
"""What is assumed before any job weighs as much as so many faults seen. Our choice."""

OF_OTHERS = 0.3
"""What a fault of another truck, and a kilometre of it, counts beside one's own."""

YEARLY_KM = 5000.0
"""What a truck goes in a year whose note does not say. Our choice."""

STRANDED_MONEY = HELP_MINUTES / MINUTES_PER_MONEY
"""What being stranded costs: a day lost and a recovery paid. Our choice."""

STRANDS = MappingProxyType(
    {
        Drive.ENGINE_OFF: 1.0,
        Drive.DO_NOT_MOVE: 1.0,
        Drive.CREEP: 0.8,
        Drive.CARE: 0.25,
        Drive.NO_LIMIT: 0.05,
    }
)
"""The share of being stranded that a fault comes to which is not mended, by the verdict
of its page. Our choice."""

GETS_HOME = 0.4
"""What is left of it where the page knows a measure that takes the truck home without
parts. Our choice."""

GUESSED_KG = MappingProxyType(
    {Price.CHEAP: 0.2, Price.FAIR: 1.5, Price.DEAR: 6.0, Price.SCARCE: 25.0}
)
"""What a part weighs of which nothing is known, by its price word. Our choice."""

MADE_DO = frozenset(("borrowed", "lent", "loan", "from", "kept"))
"""A choice told with one of these is found where one is, and never bought to carry."""


@dataclass(frozen=True, slots=True)
class Watched:
    """Faults of one kind that were seen, and the kilometres in which they were."""

    times: float
    km: float


def faults_a_km(share: float, own: Watched, others: Watched) -> float:
    """How often a fault comes, per kilometre: a gamma law's mean, brought up to date.

    Args:
        share: this fault's share of all faults beforehand.
        own: what this truck had.
        others: what other trucks had; it weighs `OF_OTHERS`.

    >>> round(1 / faults_a_km(0.01, Watched(0, 0), Watched(0, 0)))
    150000
    >>> round(1 / faults_a_km(0.01, Watched(3, 7500), Watched(0, 0)))
    4918
    """
    seen = share * PRIOR_FAULTS + own.times + OF_OTHERS * others.times
    return seen / (PRIOR_FAULTS * KM_A_FAULT + own.km + OF_OTHERS * others.km)


@dataclass(frozen=True, slots=True)
class Asking:
    """One fault of a truck on a trip: its page, and how often it comes on average."""

    card: Card
    expected: float
    known: Outcomes = NO_OUTCOMES


class Store:
    """The parts that faults ask for, each under one name, with weight and price.

    `guessed` are the parts whose weight nothing tells.
    """

    def __init__(
        self, truck: Truck, kilograms: Mapping[str, float], names: Iterable[str]
    ) -> None:
        """Begin empty.

        Args:
            truck: what is aboard of it, and its keeper's prices and weights.
            kilograms: common weights, by the words of a part.
            names: how the parts are called; of several names of one, the shortest.
        """
        self.truck = truck
        self.spares: dict[str, Spare] = {}
        self.guessed: set[str] = set()
        self._kilograms = kilograms
        told = sorted((_carried(name) for name in names), key=len, reverse=True)
        self._names = {part_words(name): name for name in told}

    def of(self, part: Part) -> Spare | None:
        """The part that is carried for it; None where one makes do with what is there.

        Of several choices it is the cheapest, the lighter of two.
        """
        if any(_makes_do(choice.name) for choice in part.choices):
            return None
        found = [self._spare(choice) for choice in part.choices]
        return min(found, key=lambda s: (s.aboard == 0, s.money, s.kg))

    def _spare(self, choice: PartChoice) -> Spare:
        said = _carried(choice.name)
        name = self._names.get(part_words(said), said)
        if name not in self.spares:
            money = self.truck.price(choice)
            aboard = sum(same_part(name, other) for other in self.truck.aboard)
            self.spares[name] = Spare(
                name,
                self._weight(name, choice.price),
                PRICE_MONEY[choice.price] if money is None else money,
                aboard,
            )
        return self.spares[name]

    def _weight(self, name: str, price: Price) -> float:
        noted = self.truck.weight_kg(name)
        common = noted if noted is not None else weight_of(name, self._kilograms)
        if common is None:
            self.guessed.add(name)
            return GUESSED_KG[price]
        return common


def part_names(card: Card) -> Iterator[str]:
    """The names of all parts that a page's repairs may use up."""
    for repair in card.repairs:
        for part in repair.needs.parts:
            yield from (choice.name for choice in part.choices)


def _carried(name: str) -> str:
    """A part's name without the condition under which it is used."""
    return name.partition(" if ")[0]


def weight_of(name: str, kilograms: Mapping[str, float]) -> float | None:
    """What a part weighs by the entry that shares most words with it, or None.

    >>> weight_of("air hose of the same length", {"hose": 2.0, "air hose": 1.5})
    1.5
    """
    words = part_words(name)
    fits = [known for known in kilograms if part_words(known) <= words]
    best = max(fits, key=lambda known: len(part_words(known)), default=None)
    return None if best is None else kilograms[best]


def _makes_do(name: str) -> bool:
    return not MADE_DO.isdisjoint(name.lower().split())


def wants(
    faults: Iterable[Asking], store: Store, stranded: float = STRANDED_MONEY
) -> tuple[Want, ...]:
    """What the faults ask for; those that are mended without a part are left out.

    Args:
        faults: the pages, and how often each comes.
        store: where the parts are looked up, and put in.
        stranded: what being stranded costs, in money.
    """
    found: list[Want] = []
    for fault in faults:
        card = fault.card
        loss = stranded * STRANDS[card.drive] * (GETS_HOME if _way_home(card) else 1.0)
        belief = prior_of(card, fault.known)
        for cause in card.causes:
            parts = _parts(card, cause, store)
            if parts and store.truck.suits(cause.only):
                expected = fault.expected * belief.of(cause.id)
                found.append(Want(card.id, cause.id, expected, loss, parts))
    return tuple(found)


def _way_home(card: Card) -> bool:
    """Whether the page knows a measure that takes it home without parts."""
    return any(r.is_get_home and not r.needs.parts for r in card.repairs)


def _parts(card: Card, cause: Cause, store: Store) -> tuple[str, ...]:
    """The parts of the repair that asks for least; () where one asks for none."""
    cures = [r for r in card.repairs_for(cause) if not r.is_get_home]
    sets = [_asked(repair, store) for repair in cures]
    if not sets:
        return ()
    least = min(sets, key=lambda parts: sum(spare.money for spare in parts))
    return tuple(dict.fromkeys(spare.name for spare in least))


def _asked(repair: Repair, store: Store) -> Sequence[Spare]:
    found = (store.of(part) for part in repair.needs.parts)
    return [spare for spare in found if spare is not None]
