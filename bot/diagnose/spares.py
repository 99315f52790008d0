"""Which spares to carry: those that lower the expected cost of a trip most.

How often each part is asked for on the trip follows Poisson's law. A part that is asked
for more often than it is carried leaves the truck without it; which of the faults that
want it go without is a matter of their order, and any order is alike likely.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache

from bot.calc.chances import at_most

HELD = 0.1
"""What a part that is bought for a trip loses of its price by lying aboard: it rusts,
rubs through, ties up money. Our choice."""

MOST_OF_ONE = 9
"""More of one part than this nobody carries. Our choice."""


@dataclass(frozen=True, slots=True)
class Want:
    """A fault, by its page and cause, that asks for parts: all must be aboard.

    `expected` is how often it comes on the trip on average, `loss` what it costs each
    time, in money, if one of the parts is missing.
    """

    card: str
    cause: str
    expected: float
    loss: float
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Spare:
    """A part that may be carried: what one weighs and costs, how many are aboard."""

    name: str
    kg: float
    money: float
    aboard: int = 0


@dataclass(frozen=True, slots=True)
class Limits:
    """What the load may weigh and cost; None for no limit."""

    kg: float | None = None
    money: float | None = None

    def hold(self, kg: float, money: float) -> bool:
        """Whether so much may be carried."""
        slack = 1e-9
        return (self.kg is None or kg <= self.kg + slack) and (
            self.money is None or money <= self.money + slack
        )


@cache
def unmet(stock: int, expected: float) -> float:
    """How often a part is asked for and not there, on average.

    E[(D - stock)+] for D by Poisson's law with that mean.

    >>> round(unmet(0, 3.0), 4), round(unmet(3, 3.0), 4)
    (3.0, 0.6721)
    """
    if stock <= 0:
        return expected
    short = 1 - at_most(stock - 1, expected)
    return max(0.0, expected * short - stock * (1 - at_most(stock, expected)))


Load = Mapping[str, int]
"""Part -> how many more of it are carried."""


@dataclass(frozen=True)
class Trip:
    """The faults that may come, and the parts that may be carried for them.

    `asked` is how often each part is asked for on average, by all faults together;
    `touching` the faults that ask for it.
    """

    wants: tuple[Want, ...]
    spares: Mapping[str, Spare]
    asked: Mapping[str, float] = field(init=False)
    touching: Mapping[str, tuple[Want, ...]] = field(init=False)

    def __post_init__(self) -> None:
        """Add up what is asked for."""
        touching = {
            name: tuple(want for want in self.wants if name in want.parts)
            for name in self.spares
        }
        asked = {n: sum(w.expected for w in some) for n, some in touching.items()}
        object.__setattr__(self, "touching", touching)
        object.__setattr__(self, "asked", asked)

    def loss(self, load: Load) -> float:
        """What going without costs on average, beside what is aboard already.

        Exact for faults that want one part each, and for parts that are asked for
        together only; where a fault wants two parts and others want one of them, it is
        taken that the two run out in step, which is a little too hopeful.
        """
        return sum(self._without(want, load) for want in self.wants)

    def saved(self, load: Load, more: Load) -> float:
        """What goes down when a load grows to `more`."""
        grown = [part for part in more if more[part] != load.get(part, 0)]
        wants = dict.fromkeys(want for part in grown for want in self.touching[part])
        return sum(self._without(w, load) - self._without(w, more) for w in wants)

    def _without(self, want: Want, load: Load) -> float:
        """What a fault costs for want of the part that is likeliest missing."""
        missing = max((self._missing(part, load) for part in want.parts), default=0.0)
        return want.expected * want.loss * missing

    def _missing(self, part: str, load: Load) -> float:
        """The share of the times a part is asked for in which it is not there."""
        asked = self.asked[part]
        stock = self.spares[part].aboard + load.get(part, 0)
        return unmet(stock, asked) / asked if asked > 0 else 0.0

    def weighs(self, load: Load) -> float:
        """Kilograms of a load."""
        return sum(self.spares[part].kg * n for part, n in load.items())

    def costs(self, load: Load) -> float:
        """Money for a load."""
        return sum(self.spares[part].money * n for part, n in load.items())

    def worth(self, load: Load) -> float:
        """What a load saves on average, less what it loses by lying aboard."""
        return self.saved({}, load) - HELD * self.costs(load)


def best_load(trip: Trip, limits: Limits) -> Load:
    """How many of each part to carry.

    Parts, and the parts that a fault wants together, are taken one after the other, the
    one first that saves most for its burden; so from several beginnings, and with
    several weights of a kilogram against a coin. Then it is tried without each part of
    the best load. The tests measure what that misses of the exact optimum.
    """
    filling = _Filling(trip, limits)
    begun = [{}, *sorted(filling.bundles, key=filling.alone, reverse=True)[:BEGINNINGS]]
    tried = (filling.filled(m, _more({}, first)) for first in begun for m in MIXES)
    best = max(tried, key=trip.worth)
    return filling.improved(best)


MIXES = (0.0, 0.5, 1.0)
"""How much a kilogram counts beside a coin, both as shares of their limits."""

BEGINNINGS = 12
"""So many of the parts that are worth most alone are tried as the first. Our choice."""

FORCED = 40
"""So many of the parts that would be worth most are forced into a load, whatever has to
go for them. Our choice."""

NOTHING = 1e-9

Bundle = tuple[str, ...]


def _more(load: Load, bundle: Iterable[str]) -> dict[str, int]:
    more = dict(load)
    for part in bundle:
        more[part] = more.get(part, 0) + 1
    return more


class _Filling:
    """Fills loads for a trip under limits, and remembers what each part is worth."""

    def __init__(self, trip: Trip, limits: Limits) -> None:
        self.trip = trip
        self.limits = limits
        single = ((part,) for part in trip.spares)
        together = (want.parts for want in trip.wants if len(want.parts) > 1)
        self.bundles: list[Bundle] = [*dict.fromkeys((*single, *together))]
        self.first = {bundle: self.gained({}, bundle) for bundle in self.bundles}
        self.near = {part: self._bundles_near(part) for part in trip.spares}

    def _bundles_near(self, part: str) -> set[Bundle]:
        """Those whose worth may change when a part is put in."""
        wants = self.trip.touching[part]
        parts = {part, *(other for want in wants for other in want.parts)}
        return {bundle for bundle in self.bundles if not parts.isdisjoint(bundle)}

    def gained(self, load: Load, bundle: Bundle) -> float:
        """What a bundle more is worth."""
        saved = self.trip.saved(load, _more(load, bundle))
        return saved - HELD * self.trip.costs(_more({}, bundle))

    def alone(self, bundle: Bundle) -> float:
        """What a bundle is worth to begin with."""
        return self.first[bundle]

    def burden(self, bundle: Bundle, mix: float) -> float:
        """What a bundle takes of the limits; of money alone where there is none."""
        load, limits = _more({}, bundle), self.limits
        kg, money = self.trip.weighs(load), self.trip.costs(load)
        if limits.kg and limits.money:
            return mix * kg / limits.kg + (1 - mix) * money / limits.money + NOTHING
        return (kg if limits.kg else money) + NOTHING

    def filled(self, mix: float, begun: Load) -> dict[str, int]:
        """A load with whatever is worth it put in, the best for its burden first.

        Args:
            mix: the weight of a kilogram against a coin.
            begun: what is in it already; where that is too much, nothing is.
        """
        load = dict(begun) if self._holds(begun) else {}
        gains = {b: self.gained(load, b) for b in self.first} if load else self.first
        gains = dict(gains)
        burdens = {bundle: self.burden(bundle, mix) for bundle in gains}
        while True:
            ranked = sorted(
                (b for b, gain in gains.items() if gain > NOTHING),
                key=lambda b: -gains[b] / burdens[b],
            )
            fits = (b for b in ranked if self._holds(_more(load, b)))
            best = next(fits, None)
            if best is None:
                return load
            load = _more(load, best)
            for bundle in set().union(*(self.near[part] for part in best)):
                gains[bundle] = self.gained(load, bundle)

    def _holds(self, load: Load) -> bool:
        trip, most = self.trip, max(load.values(), default=0)
        held = self.limits.hold(trip.weighs(load), trip.costs(load))
        return held and most <= MOST_OF_ONE

    def improved(self, load: dict[str, int]) -> dict[str, int]:
        """The load, or a better one with something put in that pushes others out."""
        while True:
            better = max(self._neighbours(load), key=self.trip.worth, default=load)
            if self.trip.worth(better) <= self.trip.worth(load) + NOTHING:
                return dict(sorted(load.items()))
            load = better

    def _neighbours(self, load: dict[str, int]) -> Iterator[dict[str, int]]:
        """Loads with one bundle forced in, the least worthy parts put out for it."""
        gains = {bundle: self.gained(load, bundle) for bundle in self.bundles}
        for bundle in sorted(gains, key=gains.__getitem__, reverse=True)[:FORCED]:
            for mix in MIXES:
                squeezed = self._squeezed(_more(load, bundle), bundle, mix)
                yield self.filled(mix, squeezed)

    def _squeezed(self, load: dict[str, int], kept: Bundle, mix: float) -> Load:
        """A load that holds, the parts least worth their burden put out; {} if none."""

        def worth(part: str) -> float:
            one_less = {**load, part: load[part] - 1}
            return self.trip.saved(one_less, load) / self.burden((part,), mix)

        while not self._holds(load):
            others = [part for part in load if part not in kept]
            if not others:
                return {}
            out = min(others, key=worth)
            load = {p: n - (p == out) for p, n in load.items() if n > (p == out)}
        return load


def spared_by(trip: Trip, load: Load, part: str) -> float:
    """What the last one of a part in a load saves on average."""
    return trip.saved({**load, part: load[part] - 1}, load)
