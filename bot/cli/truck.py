"""`chock truck`: where it stands, what is aboard or not, time against money."""

import argparse
import json
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from difflib import get_close_matches
from enum import Enum
from functools import partial
from typing import TypeVar

from bot.desk.truck import TRUCKS, NoteError, in_use, keep, named, note, trucks, use
from bot.model.fitted import FEATURES, ONE_OF
from bot.model.place import slug
from bot.model.truck import Rather, Truck, Where, same_part
from bot.store.folders import home_folder
from bot.units import SYMBOLS, amount, convert, unit

Choice = TypeVar("Choice", bound=Enum)

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
    after = _CHANGES[asked.what](found, words)
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


def _day(words: str) -> date:
    try:
        return date.fromisoformat(words)
    except ValueError:
        raise NoteError(f"'{words}' is no date; write e.g. 2024-05-01") from None


def distance_km(words: str) -> float:
    """A distance as typed, in kilometres; a bare number is one of kilometres.

    Raises:
        NoteError: it is none.
    """
    found, km = amount(words), SYMBOLS["km"]
    given = (found.unit or km) if found else km
    value = 0.0
    if found and given.kind == km.kind:
        value = convert(found.value, given, km)
    if not 1 <= value <= MOST_KM:
        raise NoteError(f"'{words}' is no distance; write e.g. 3000 km, or 1900 miles")
    return value


MOST_KM = 200_000
"""A longer trip or year is a slip of the hand. Our choice."""


def _taken_aboard(old: Truck, words: str) -> Truck:
    """A part taken aboard, or a tool that is no longer lacking."""
    back = tuple(tool for tool in old.lacks if not same_part(tool, words))
    if back != old.lacks:
        return replace(old, lacks=back)
    return replace(old, aboard=(*old.aboard, words))


def _used_up(old: Truck, words: str) -> Truck:
    """One such part less."""
    for nth, part in enumerate(old.aboard):
        if same_part(part, words):
            left = (*old.aboard[:nth], *old.aboard[nth + 1 :])
            return replace(old, aboard=left)
    raise NoteError(f"'{words}' is not noted as aboard; see chock truck")


def _with_features(old: Truck, words: str, what: str) -> Truck:
    """What it has or has not; a feature named anew leaves the other list."""
    named = tuple(dict.fromkeys(map(_feature, words.split(","))))
    rows = {other for name in named for row in ONE_OF if name in row for other in row}
    fitted = [f for f in old.fitted if f not in (*named, *rows)]
    without = [f for f in old.without if f not in named]
    if what == "fitted":
        return replace(old, fitted=(*fitted, *named), without=tuple(without))
    return replace(old, fitted=tuple(fitted), without=(*without, *named))


def _feature(words: str) -> str:
    said = words.strip().lower()
    found = next((name for name in FEATURES if name.lower() == said), None)
    if found is None:
        near = get_close_matches(said, FEATURES, n=1, cutoff=0.5)
        known = f"'{near[0]}'" if near else ", ".join(FEATURES)
        raise NoteError(f"'{words.strip()}' is not known of trucks; say {known}")
    return found


def _one_of_each(words: str) -> tuple[str, ...]:
    """The units named, one of a kind."""
    symbols = tuple(dict.fromkeys(map(_symbol, words.replace(",", " ").split())))
    kinds: dict[str, str] = {}
    for symbol in symbols:
        other = kinds.setdefault(SYMBOLS[symbol].kind, symbol)
        if other != symbol:
            raise NoteError(f"{other} and {symbol} measure the same; name one")
    return symbols


def _symbol(word: str) -> str:
    known = unit(word)
    if known is None or not known.symbol:
        raise NoteError(f"'{word}' is no unit known; say e.g. psi, bar, degF, mph")
    return known.symbol


def _meant(words: str, kind: type[Choice]) -> Choice:
    """The one choice whose words hold all that was said."""
    said = set(words.lower().split())
    starts = (words.lower(), f"rather {words.lower()}")
    near = [c for c in kind if c.value.startswith(starts)]
    near = near or [c for c in kind if words.lower() in c.value]
    near = near or [c for c in kind if said <= set(c.value.split())]
    if len(near) != 1:
        offered = ", ".join(f"'{choice.value}'" for choice in kind)
        raise NoteError(f"'{words}' is not known; say one of {offered}")
    return near[0]


_CHANGES: dict[str, Callable[[Truck, str], Truck]] = {
    "name": lambda old, words: replace(old, name=words),
    "where": lambda old, words: replace(old, where=_meant(words, Where)),
    "rather": lambda old, words: replace(old, rather=_meant(words, Rather)),
    "units": lambda old, words: replace(old, units=_one_of_each(words)),
    "lacks": lambda old, words: replace(old, lacks=(*old.lacks, words)),
    "since": lambda old, words: replace(old, since=_day(words)),
    "yearly": lambda old, words: replace(
        old, yearly_km=float(round(distance_km(words)))
    ),
    "aboard": _taken_aboard,
    "used": _used_up,
    "fitted": partial(_with_features, what="fitted"),
    "without": partial(_with_features, what="without"),
}
"""What changes one thing in the note."""


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
