"""`chock sum`: the trade's sums, listed, explained, worked out."""

import json
import re
from argparse import Namespace
from collections.abc import Callable, Iterable, Iterator, Sequence
from difflib import get_close_matches
from pathlib import Path

from bot.calc.book import DRAWERS, SHEETS
from bot.calc.sheet import Sheet, SheetError, Worked, work_out
from bot.calc.shown import explained, preferred, result, verdicts
from bot.calc.typed import typed, units_typed
from bot.cards.sources import Record, read_source, told
from bot.cli.lines import columns, wrapped
from bot.desk.lint import records
from bot.desk.truck import note
from bot.model.place import NOWHERE, BotError, Fault
from bot.model.truck import Truck
from bot.store.folders import home_folder, kb_folder

WIDTH = 78
MOST_OFFERED = 6


def sums(asked: Namespace) -> int:
    """List all sums, explain one, or work it out."""
    if not asked.words:
        _print(_listed())
        return 0
    name, *given = asked.words
    name, wants_help = name.lower(), given in (["help"], ["?"])
    drawer = next((d for d in DRAWERS if name in re.findall("[a-z]+", d)), None)
    if drawer and not given:
        _print(_listed(drawer))
        return 0
    sheet = _sheet(name, given)
    if asked.explain or wants_help or not given:
        units, named = _preferred_units(home_folder(asked.home)), _named(asked.kb)
        _print(explained(sheet, units, named))
        return 0
    noted = _preferred_units(home_folder(asked.home))
    values, errors = typed(sheet, given, noted)
    worked = work_out(sheet, values, errors)
    wanted = (*units_typed(given), *noted)
    if asked.json:
        print(json.dumps(_row(sheet, worked, wanted)))
    else:
        _print((*sheet.cautions, *result(sheet, worked, wanted)))
    return 0


def _sheet(name: str, given: Sequence[str]) -> Sheet:
    if name in SHEETS:
        return SHEETS[name]
    asked = [name, *(word for word in given if "=" not in word)]
    found = _about(asked) or get_close_matches(name, SHEETS, 1, cutoff=0.75)
    hint = f"did you mean {' or '.join(found)}?" if found else "'chock sum' lists all"
    raise SheetError(f"there is no sum '{' '.join(asked)[:40]}'; {hint}")


STEM = 5
"""So many first letters tell a word: leaks, leaking; volts, voltage."""


def _about(words: Iterable[str]) -> list[str]:
    """The sums whose descriptions hold the most of some words, best first."""
    stems = {word.lower()[:STEM] for word in words if len(word) > 2} - _SMALL

    def held(sheet: Sheet) -> int:
        inputs = " ".join(asked.says for asked in sheet.inputs)
        own = _stems(f"{sheet.name} {sheet.about}")
        return 2 * len(stems & own) + len(stems & _stems(inputs))

    ranked = sorted(SHEETS.values(), key=held, reverse=True)
    best = held(ranked[0])
    return [s.name for s in ranked[:MOST_OFFERED] if best and 2 * held(s) > best]


def _stems(text: str) -> set[str]:
    return {word[:STEM] for word in re.findall(r"[a-z0-9]{3,}", text.lower())}


_SMALL = frozenset(
    ("how", "long", "the", "what", "does", "this", "for", "many", "much")
)


def _preferred_units(home: str) -> tuple[str, ...]:
    """The units noted for the truck; none where there is no note to be read."""
    found = note(home)
    return found.units if isinstance(found, Truck) else ()


def _listed(*drawers: str) -> Iterator[str]:
    """The sums of some drawers, or of all."""
    for drawer in drawers or DRAWERS:
        yield f"{drawer.capitalize()}:"
        for sheet in DRAWERS[drawer]:
            yield f"  {sheet.name}: {sheet.about}"
    yield ""
    yield "chock sum NAME tells what it needs; chock sum NAME name=value ... does it."
    if not drawers:
        yield "chock sum tyres lists one drawer alone."


def _named(kb: str | None) -> Callable[[str], str]:
    """How a source is told: its documents by name, where there are records."""
    try:
        found = records(Path(kb_folder(kb)))
    except BotError:
        return str
    by_key = {record.key: record for record in found if isinstance(record, Record)}

    def named(text: str) -> str:
        source = read_source(text, NOWHERE)
        return text if isinstance(source, Fault) else told(source, by_key)

    return named


def _row(sheet: Sheet, worked: Worked, wanted: tuple[str, ...]) -> dict[str, object]:
    figures = [preferred(figure, wanted) for figure in worked.figures]
    return {
        "sum": sheet.name,
        "figures": [
            {"name": f.name, "value": f.value, "error": f.error, "unit": f.unit}
            for f in figures
        ],
        "verdicts": list(verdicts(worked, wanted)),
        "holds": sheet.holds,
        "sources": list(sheet.sources),
        "cautions": list(sheet.cautions),
    }


def _print(lines: Iterable[str]) -> None:
    width = columns(WIDTH)
    for line in lines:
        indent = " " * (len(line) - len(line.lstrip()))
        for piece in wrapped(line, width, indent, indent + "  "):
            print(piece)
