"""Changes of a truck's note in the words of its keeper, each of one thing."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from difflib import get_close_matches
from enum import Enum
from functools import partial
from types import MappingProxyType
from typing import TypeVar

from bot.desk.truck import NoteError
from bot.model.fitted import FEATURES, ONE_OF
from bot.model.truck import Rather, Truck, Where, same_part
from bot.units import SYMBOLS, amount, convert, unit

Choice = TypeVar("Choice", bound=Enum)


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


def _untold(old: Truck, words: str) -> Truck:
    """It is not known any more whether it has that."""
    named = tuple(map(_feature, words.split(",")))
    fitted = tuple(f for f in old.fitted if f not in named)
    return replace(
        old, fitted=fitted, without=tuple(f for f in old.without if f not in named)
    )


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


CHANGES: Mapping[str, Callable[[Truck, str], Truck]] = MappingProxyType(
    {
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
        "untold": _untold,
    }
)
"""What changes one thing in the note; raises `NoteError`, in one sentence."""
