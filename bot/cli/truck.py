"""`chock truck`: where it stands, what is aboard or not, time against money."""

import argparse
import json
import sys
from dataclasses import replace
from difflib import get_close_matches
from enum import Enum
from typing import TypeVar

from bot.desk.truck import NOTE, NoteError, keep, note
from bot.model.fitted import FEATURES, ONE_OF
from bot.model.truck import Rather, Truck, Where, same_part
from bot.store.folders import home_folder
from bot.units import SYMBOLS, unit

Choice = TypeVar("Choice", bound=Enum)

START = "there is no note of a truck yet; begin with: chock truck name Heron"


def truck(asked: argparse.Namespace) -> int:
    """Show the truck, or change one thing about it."""
    home = home_folder(asked.home)
    found = note(home)
    if isinstance(found, tuple):
        print("\n".join(map(str, found)), file=sys.stderr)
        return 1
    words = " ".join(asked.words).strip()
    if asked.what is None:
        if found is None:
            raise NoteError(START)
        _show(found, as_json=asked.json)
        return 0
    if not words:
        raise NoteError(f"say what, e.g. {_EXAMPLES[asked.what]}")
    if asked.what == "name":
        after = replace(found, name=words) if found else Truck(words)
    elif found is None:
        raise NoteError(START)
    else:
        after = _changed(found, asked.what, words)
    print(f"Noted in {keep(home, after)}.")
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
}


def _changed(old: Truck, what: str, words: str) -> Truck:
    if what == "where":
        return replace(old, where=_meant(words, Where))
    if what == "rather":
        return replace(old, rather=_meant(words, Rather))
    if what == "units":
        return replace(old, units=_one_of_each(words.replace(",", " ").split()))
    if what in ("fitted", "without"):
        return _with_features(old, what, words)
    if what == "lacks":
        return replace(old, lacks=(*old.lacks, words))
    return _with_parts(old, what, words)


def _with_parts(old: Truck, what: str, words: str) -> Truck:
    """A part or tool taken aboard, or used up."""
    if what == "aboard":
        back = tuple(tool for tool in old.lacks if not same_part(tool, words))
        if back != old.lacks:
            return replace(old, lacks=back)
        return replace(old, aboard=(*old.aboard, words))
    left = tuple(part for part in old.aboard if not same_part(part, words))
    if len(left) == len(old.aboard):
        raise NoteError(f"'{words}' is not noted as aboard; see chock truck")
    return replace(old, aboard=left)


def _with_features(old: Truck, what: str, words: str) -> Truck:
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


def _one_of_each(words: list[str]) -> tuple[str, ...]:
    """The units named, one of a kind."""
    symbols = tuple(dict.fromkeys(map(_symbol, words)))
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


def _show(found: Truck, *, as_json: bool) -> None:
    if as_json:
        print(
            json.dumps(
                {
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
                }
            )
        )
        return
    print(f"{found.name}: {found.where.value}; {found.rather.value}.")
    print(f"Aboard: {', '.join(found.aboard) or 'nothing noted'}.")
    if found.lacks:
        print(f"Lacks: {', '.join(found.lacks)}.")
    if found.fitted:
        print(f"Fitted: {', '.join(found.fitted)}.")
    if found.without:
        print(f"Without: {', '.join(found.without)}.")
    if found.units:
        print(f"Figures in: {', '.join(found.units)}.")
    for part, money in found.prices:
        print(f"{part}: {money:g}")
    for part, wait in found.waits:
        print(f"{part}: {wait} to get")
    print(f"Prices and waits stand in {NOTE} in your store; edit it freely.")
