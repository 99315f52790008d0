"""What to carry on a trip: pages, a truck's jobs and its note brought together."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time
from pathlib import Path

from bot.cards.weights import read_weights
from bot.desk.library import YEAR_S, KbLibrary
from bot.desk.truck import note, of_jobs, trucks
from bot.diagnose.failures import (
    KM_A_FAULT as KM_A_FAULT,
)
from bot.diagnose.failures import (
    PRIOR_FAULTS as PRIOR_FAULTS,
)
from bot.diagnose.failures import (
    STRANDED_MONEY as STRANDED_MONEY,
)
from bot.diagnose.failures import (
    YEARLY_KM as YEARLY_KM,
)
from bot.diagnose.failures import (
    Asking,
    Store,
    Watched,
    faults_a_km,
    part_names,
    wants,
)
from bot.diagnose.spares import Limits as Limits
from bot.diagnose.spares import Load, Spare, Trip, Want, best_load, spared_by
from bot.model.card import Card
from bot.model.place import Fault
from bot.model.truck import Truck
from bot.store import clock
from bot.store.journal import Journal
from bot.store.pages import page, shown, text_of
from bot.store.scan import PARTS
from bot.store.second import Ended
from bot.talk.library import for_truck
from bot.talk.wording import cause_name


@dataclass(frozen=True, slots=True)
class Journey:
    """How far a trip goes, what may be carried on it, what being stranded costs."""

    km: float
    limits: Limits
    stranded: float = STRANDED_MONEY


@dataclass(frozen=True, slots=True)
class Carried:
    """One line of the list: so many of a part, what for, and what it is worth.

    `wanted` is how often it is asked for on the trip, on average; `saves` what the last
    of them saves on average, in money; `uses` what it is for, complaint and cause, the
    likeliest first; `is_guess` whether its weight is only guessed.
    """

    spare: Spare
    number: int
    wanted: float
    saves: float
    uses: tuple[str, ...]
    is_guess: bool


@dataclass(frozen=True, slots=True)
class Packed:
    """What to carry, the worthiest first, and what it comes to.

    `aboard` is what is carried already and asked for; `left` what would be worth
    carrying and is over a limit. `bare` and `packed` are the average cost of going
    without parts, before and after; `faults` how many faults that ask for parts are to
    be expected. `own` is what was seen of this truck.
    """

    truck: str
    carried: tuple[Carried, ...]
    aboard: tuple[Carried, ...]
    left: tuple[Carried, ...]
    bare: float
    packed: float
    faults: float
    own: Watched
    has_distance: bool


MOST_LEFT = 5
"""So many parts that are over a limit are named. Our choice."""


def pack(
    library: KbLibrary, journal: Journal, home: str, kb: str, journey: Journey
) -> Packed:
    """The list for a trip of the truck that is meant."""
    truck = library.truck() or Truck("your truck")
    seen = _Seen(journal, home, library.in_use, truck)
    faults = tuple(_asking(library, truck, seen, journey.km))
    names = (part for fault in faults for part in part_names(fault.card))
    store = Store(truck, weights(Path(kb)), names)
    asked = wants(faults, store, journey.stranded)
    trip = Trip(asked, store.spares)
    load = best_load(trip, journey.limits)
    free = best_load(trip, Limits()) if journey.limits != Limits() else load
    over = {part: n for part, n in free.items() if n > load.get(part, 0)}
    listed = _Listed(trip, store, {fault.card.id: fault.card for fault in faults})
    here = {part: spare.aboard for part, spare in store.spares.items() if spare.aboard}
    return Packed(
        truck.name,
        listed.rows(load, load),
        listed.rows(here, {}),
        listed.rows(over, free)[:MOST_LEFT],
        trip.loss({}),
        trip.loss(load),
        sum(want.expected for want in asked),
        seen.own,
        truck.yearly_km is not None,
    )


def weights(kb: Path) -> Mapping[str, float]:
    """What parts weigh, as the knowledge base says; nothing where it cannot be read."""
    found = weights_or_faults(kb)
    return found if isinstance(found, dict) else {}


def weights_or_faults(kb: Path) -> dict[str, float] | tuple[Fault, ...]:
    """The same, or what is wrong in the file."""
    path = kb / PARTS
    text = text_of(page(path)) if path.is_file() else ""
    if isinstance(text, Fault):
        return (text,)
    return read_weights(text, shown(path)) if text else {}


def _asking(
    library: KbLibrary, truck: Truck, seen: "_Seen", km: float
) -> Iterable[Asking]:
    """The faults that this truck can have, and how often each comes on the trip."""
    known = [card for card in library.cards() if truck.suits(card.fits)]
    for card in known:
        if not card.is_stub:
            rate = faults_a_km(1 / len(known), seen.times(card), seen.others(card))
            known_of = library.outcomes(card.id)
            yield Asking(for_truck(card, truck), rate * km, known_of)


class _Seen:
    """What the jobs tell of how often faults come, on this truck and on the others."""

    def __init__(self, journal: Journal, home: str, own: str, truck: Truck) -> None:
        mine, now = of_jobs(home, own), clock.now()
        self.own_jobs = journal.history(mine)
        self.own = Watched(len(self.own_jobs), _km(truck, self.own_jobs, now))
        self.other_jobs: list[Ended] = []
        self.other_km = 0.0
        for other in trucks(home):
            if other not in mine:
                jobs, held = journal.history((other,)), note(home, other)
                self.other_jobs += jobs
                self.other_km += _km(held, jobs, now) if isinstance(held, Truck) else 0

    def times(self, card: Card) -> Watched:
        """How often this truck had that fault, and in how many kilometres."""
        return Watched(_count(self.own_jobs, card), self.own.km)

    def others(self, card: Card) -> Watched:
        """The same of all other trucks whose jobs are here."""
        return Watched(_count(self.other_jobs, card), self.other_km)


def _count(jobs: Iterable[Ended], card: Card) -> int:
    return sum(job.card == card.id for job in jobs)


def _km(truck: Truck, jobs: Sequence[Ended], now: str) -> float:
    """How far a truck has gone since its jobs are written down."""
    if truck.since:
        begun = datetime.combine(truck.since, time(), UTC)
    elif jobs:
        begun = datetime.fromisoformat(min(job.opened for job in jobs))
    else:
        return 0.0
    years = (datetime.fromisoformat(now) - begun).total_seconds() / YEAR_S
    return max(0.0, years) * (truck.yearly_km or YEARLY_KM)


@dataclass(frozen=True)
class _Listed:
    """Makes lines of parts."""

    trip: Trip
    store: Store
    cards: Mapping[str, Card]

    def rows(self, parts: Load, load: Load) -> tuple[Carried, ...]:
        """A line each for some parts, the one that saves most first."""
        found = (self._row(part, number, load) for part, number in parts.items())
        return tuple(sorted(found, key=lambda row: (-row.saves, row.spare.name)))

    def _row(self, part: str, number: int, load: Load) -> Carried:
        asked = sorted(self.trip.touching[part], key=lambda want: -want.expected)
        return Carried(
            self.store.spares[part],
            number,
            self.trip.asked[part],
            spared_by(self.trip, load, part) if load.get(part) else 0.0,
            tuple(map(self._use, asked)),
            part in self.store.guessed,
        )

    def _use(self, want: Want) -> str:
        card = self.cards[want.card]
        return f"{card.title}: {cause_name(card, want.cause)}"
