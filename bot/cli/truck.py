"""`chock truck`: where it stands, what is aboard or not, time against money."""

import argparse
import json
import sys
from collections.abc import Iterator

from bot.desk.noting import CHANGES
from bot.desk.truck import TRUCKS, NoteError, in_use, keep, named, note, trucks, use
from bot.model.place import slug
from bot.model.truck import Truck
from bot.store.folders import home_folder

START = "there is no note of a truck yet; begin with: chock truck name Heron"
WHICH = "say once which truck you mean: chock truck use NAME; there is: {}"


def truck(asked: argparse.Namespace) -> int:
    """Show the truck in use, change one thing about it, or use another."""
    home = home_folder(asked.home)
    words = " ".join(asked.words).strip()
    if asked.what and not words:
        raise NoteError(f"say what, e.g. {_EXAMPLES[asked.what]}")
    if asked.what in ("new", "use"):
        return _turn_to(home, words, new=asked.what == "new")
    truck_id = in_use(home)
    found = note(home, truck_id)
    if isinstance(found, tuple):
        print("\n".join(map(str, found)), file=sys.stderr)
        return 1
    if found is None and asked.what == "name" and not trucks(home):
        return _turn_to(home, words, new=True)
    if found is None:
        raise NoteError(
            WHICH.format(", ".join(trucks(home))) if trucks(home) else START
        )
    if asked.what is None:
        _show(found, asked, [name for name in trucks(home) if name != truck_id])
        return 0
    after = CHANGES[asked.what](found, words)
    print(f"Noted in {keep(home, truck_id, after)}.")
    return 0


def _turn_to(home: str, words: str, *, new: bool) -> int:
    """Mean another truck from now on: one with a note, or with a new one."""
    if new:
        truck_id = slug(words) or "truck"
        if truck_id in trucks(home):
            raise NoteError(f"there is a note of '{truck_id}'; chock truck use {words}")
        print(f"Noted in {keep(home, truck_id, Truck(words))}.")
    else:
        truck_id = named(home, words)
    use(home, truck_id)
    print(f"From now on {truck_id} is meant; a job that is open keeps its own truck.")
    return 0


_EXAMPLES = {
    "name": "chock truck name Heron",
    "where": "chock truck where at home",
    "rather": "chock truck rather money than time",
    "aboard": "chock truck aboard sealing ring",
    "used": "chock truck used sealing ring",
    "lacks": "chock truck lacks meter",
    "units": "chock truck units psi degF",
    "fitted": "chock truck fitted hand lever, three circuits",
    "without": "chock truck without air dryer",
    "since": "chock truck since 2024-05-01",
    "yearly": "chock truck yearly 6000 km",
    "new": "chock truck new Badger",
    "use": "chock truck use Heron",
}


def _show(found: Truck, asked: argparse.Namespace, others: list[str]) -> None:
    if asked.json:
        print(json.dumps({**_row(found), "others": others}))
        return
    print(f"{found.name}: {found.where.value}; {found.rather.value}.")
    print(f"Aboard: {', '.join(found.aboard) or 'nothing noted'}.")
    for label, listed in (
        ("Lacks", found.lacks),
        ("Fitted", found.fitted),
        ("Without", found.without),
        ("Figures in", found.units),
    ):
        if listed:
            print(f"{label}: {', '.join(listed)}.")
    for says in (*_of_time(found), *_of_parts(found)):
        print(says)
    if others:
        print(f"Other trucks: {', '.join(others)}. To mean one: chock truck use NAME")
    print(f"Prices, waits, weights stand in {TRUCKS}/ in your store; edit it freely.")


def _of_time(found: Truck) -> Iterator[str]:
    if found.since:
        yield f"Jobs are written down since {found.since}."
    if found.yearly_km:
        yield f"Goes about {found.yearly_km:,.0f} km a year."


def _of_parts(found: Truck) -> Iterator[str]:
    yield from (f"{part}: {money:g}" for part, money in found.prices)
    yield from (f"{part}: {wait} to get" for part, wait in found.waits)
    yield from (f"{part}: {kg:g} kg" for part, kg in found.weights)


def _row(found: Truck) -> dict[str, object]:
    return {
        "name": found.name,
        "where": found.where.value,
        "rather": found.rather.value,
        "aboard": list(found.aboard),
        "lacks": list(found.lacks),
        "units": list(found.units),
        "fitted": list(found.fitted),
        "without": list(found.without),
        "prices": dict(found.prices),
        "waits": {part: str(wait) for part, wait in found.waits},
        "weights": dict(found.weights),
        "since": found.since.isoformat() if found.since else None,
        "km a year": found.yearly_km,
    }
