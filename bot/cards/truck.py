"""A truck's note, plain YAML -> Truck, or every fault in it by its line; and back."""

import re
from collections.abc import Iterator

from bot.cards.front import Front, scalar, write_front
from bot.cards.strict_yaml import Mapping, parse
from bot.model.card import MINUTES_IN, Duration
from bot.model.fitted import FEATURES
from bot.model.place import Fault
from bot.model.truck import Rather, Truck, Where
from bot.units import unit

_MONEY = re.compile(r"[0-9]{1,7}(?:\.[0-9]{1,2})?")
_KG = re.compile(r"[0-9]{1,4}(?:\.[0-9]{1,3})?")
_KM = re.compile(r"[0-9]{1,6}")
NO_MONEY = "no sum of money; write e.g. 85 or 12.50"
NO_WEIGHT = "no weight in kg; write e.g. 12 or 0.5"
_WAIT = re.compile(r"([0-9]{1,4}) (min|h|day|days)")


def read_truck(text: str, path: str) -> Truck | tuple[Fault, ...]:
    """The truck that a text holds, or all the faults found in it, by line."""
    tree = parse(text, path)
    if isinstance(tree, Fault):
        return (tree,)
    if not isinstance(tree, Mapping):
        return (Fault(tree.place, "write 'name: value', one to a line"),)
    front = Front(tree)
    aboard, _ = front.listing("aboard", needed=False)
    lacks, _ = front.listing("lacks", needed=False)
    truck = Truck(
        front.text("name"),
        front.choice("where", Where) or Where.ON_THE_TRAIL,
        front.choice("rather", Rather) or Rather.ALIKE,
        aboard,
        tuple(_figures(front, "prices", _MONEY, NO_MONEY)),
        tuple(_waits(front)),
        lacks,
        tuple(_units(front)),
        _features(front, "fitted"),
        _features(front, "without"),
        tuple(_figures(front, "weights", _KG, NO_WEIGHT)),
        front.day("since") if front.optional("since") else None,
        _yearly(front),
    )
    front.finish()
    return tuple(sorted(set(front.faults))) or truck


def _features(front: Front, name: str) -> tuple[str, ...]:
    """What it has, or has not, each one known of trucks."""
    texts, places = front.listing(name, needed=False)
    for said, place in zip(texts, places, strict=True):
        if said not in FEATURES:
            known = ", ".join(FEATURES)
            front.fault(place, f"{name}: '{said}' is not known of trucks; use {known}")
    return texts


def _figures(
    front: Front, name: str, form: re.Pattern[str], wrong: str
) -> Iterator[tuple[str, float]]:
    """The `part: figure` lines under a name; `wrong` says what one is not."""
    for part, said, place in front.pairs(name):
        if form.fullmatch(said):
            yield part, float(said)
        else:
            front.fault(place, f"{name}: '{said}' is {wrong}")


YEARLY = "km a year"


def _yearly(front: Front) -> float | None:
    """How far it goes in a year."""
    said = front.optional(YEARLY)
    if said and not (_KM.fullmatch(said) and int(said)):
        says = f"{YEARLY}: '{said}' is no distance; write e.g. 6000"
        front.fault(front.tree.place, says)
        return None
    return float(said) if said else None


def _units(front: Front) -> Iterator[str]:
    """Symbols of units that are known."""
    names, places = front.listing("units", needed=False)
    for name, place in zip(names, places, strict=True):
        known = unit(name)
        if known and known.symbol:
            yield known.symbol
        else:
            front.fault(
                place, f"units: '{name}' is no unit known; write psi, bar, degF"
            )


def _waits(front: Front) -> Iterator[tuple[str, Duration]]:
    """The `part: time` lines."""
    for part, said, place in front.pairs("waits"):
        found = _WAIT.fullmatch(said)
        if found and found[2] in MINUTES_IN:
            yield part, Duration(found[1], found[2])
        else:
            says = f"waits: '{said}' is no time; write e.g. 4 h or 3 days"
            front.fault(place, says)


def write_truck(truck: Truck) -> str:
    """The text that such a truck is read from."""
    front = write_front(
        [
            ("name", scalar(truck.name)),
            ("where", truck.where.value),
            ("rather", truck.rather.value),
            ("aboard", tuple(map(scalar, truck.aboard))),
            ("lacks", tuple(map(scalar, truck.lacks))),
            ("units", tuple(map(scalar, truck.units))),
            ("fitted", tuple(map(scalar, truck.fitted))),
            ("without", tuple(map(scalar, truck.without))),
            ("prices", tuple(f"{scalar(part)}: {p:g}" for part, p in truck.prices)),
            ("waits", tuple(f"{scalar(part)}: {wait}" for part, wait in truck.waits)),
            ("weights", tuple(f"{scalar(p)}: {kg:g}" for p, kg in truck.weights)),
            ("since", truck.since.isoformat() if truck.since else ""),
            (YEARLY, f"{truck.yearly_km:.0f}" if truck.yearly_km else ""),
        ]
    )
    return front.removeprefix("---\n").removesuffix("---")
