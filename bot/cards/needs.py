"""The slanted line under a heading: what a check, a repair or the proof takes.

Time first, the rest parted by semicolons. Reader and writer stand side by side.
"""

import re
from collections.abc import Callable
from types import MappingProxyType
from typing import Any

from bot.cards.fitted import read_only
from bot.model.card import Act, Drive, Duration, Needs, Part, PartChoice, Price, State
from bot.model.fitted import in_words
from bot.model.place import Fault, Place

_DURATION = re.compile(r"([0-9]+(?:\.[0-9]+)?) (s|min|h|days?)")
_STATE = re.compile(r"([^,;()]+?)(?: \(([^()]+)\))?")
_CHECK = re.compile(r"check ([1-9][0-9]?)")
_OR = re.compile(r"(?<=\)) or ")
_CHOICE = re.compile(r"([^,;()]+) \(([a-z]+)\)")
_ACTS = ", ".join(f"'{act.value}'" for act in Act)
_VERDICTS = ", ".join(f"'{drive.value}'" for drive in Drive)
_PRICES = ", ".join(f"'{price.value}'" for price in Price)


def read_duration(text: str) -> Duration | None:
    """A time such as ``10 min``, ``30 s``, ``2 h``, ``1 day``; None for the rest."""
    found = _DURATION.fullmatch(text)
    return Duration(found[1], found[2]) if found else None


_FIELDS = {"do first": "first", "not before": "not_before"}
"""Parts whose name is not that of the field they fill."""


NOTHING_DANGEROUS = "does: nothing dangerous"
"""An author's word, where a harmless step sounds like a dangerous act."""


def read_needs(text: str, place: Place) -> Needs | Fault:
    """What it takes, such as ``10 min; tools: torch; truck: engine off``."""
    first, *others = text.split("; ")
    time = read_duration(first)
    if time is None:
        return Fault(
            place, f"'{first[:40]}' is no time; begin with the work, such as '10 min'"
        )
    found: dict[str, Any] = {}
    for other in others:
        label, _, said = other.partition(": ")
        if label in found:
            return Fault(place, f"'{label}' stands twice; keep one")
        if other == NOTHING_DANGEROUS:
            found["is_harmless"] = True
            continue
        value = _read_need(label, said, place)
        if isinstance(value, Fault):
            return value
        found[_FIELDS.get(label, label)] = value
    return Needs(time, place=place, **found)


def _read_need(label: str, said: str, place: Place) -> object | Fault:
    if label == "do first" and not said:
        return True
    read = _READ.get(label)
    if read is None or not said:
        known = ", ".join(f"'{each}: '" for each in _READ)
        return Fault(
            place,
            f"'{label[:40]}' is not known here; after the time come 'do first', "
            f"{known}, parted by '; '",
        )
    return read(said, place)


def _read_verdict(said: str, place: Place) -> Drive | Fault:
    verdict = next((d for d in Drive if d.value == said), None)
    return verdict or Fault(place, f"'{said}' is no drive verdict; write {_VERDICTS}")


def _read_checks(said: str, place: Place) -> tuple[int, ...] | Fault:
    numbers = [_CHECK.fullmatch(each) for each in said.split(", ")]
    if not all(numbers):
        return Fault(place, f"'{said[:40]}' is no check; write 'not before: check 2'")
    return tuple(int(found[1]) for found in numbers if found)


def _read_parts(said: str, place: Place) -> tuple[Part, ...] | Fault:
    parts: list[Part] = []
    for part in said.split(", "):
        choices: list[PartChoice] = []
        for choice in _OR.split(part):
            found = _CHOICE.fullmatch(choice)
            price = next((p for p in Price if found and p.value == found[2]), None)
            if found is None or price is None:
                says = f"'{choice[:40]}' has no price; write 'name (cheap)' with "
                return Fault(place, says + _PRICES)
            choices.append(PartChoice(found[1], price))
        parts.append(Part(tuple(choices)))
    return tuple(parts)


def _read_acts(said: str, place: Place) -> tuple[Act, ...] | Fault:
    acts: list[Act] = []
    for name in said.split(", "):
        act = next((act for act in Act if act.value == name), None)
        if act is None:
            return Fault(place, f"'{name[:40]}' is no act; write {_ACTS}")
        acts.append(act)
    return tuple(acts)


def _read_states(said: str, place: Place) -> tuple[State, ...] | Fault:
    states: list[State] = []
    for state in said.split(", "):
        found = _STATE.fullmatch(state)
        setup = read_duration(found[2]) if found and found[2] else None
        if found is None or (found[2] and setup is None):
            return Fault(
                place,
                f"'{state[:40]}' is no state; write 'wheel off' or, with the work to "
                "get there, 'wheel off (40 min)'",
            )
        states.append(State(found[1], setup))
    return tuple(states)


_READ: MappingProxyType[str, Callable[[str, Place], object]] = MappingProxyType(
    {
        "only": read_only,
        "not before": _read_checks,
        "parts": _read_parts,
        "tools": lambda said, _: tuple(said.split(", ")),
        "truck": _read_states,
        "fact": lambda said, _: said,
        "does": _read_acts,
        "after": _read_verdict,
        "home": _read_verdict,
    }
)
"""How each part of the line is read, in the order in which they stand."""


def write_needs(needs: Needs) -> str:
    """The line that `read_needs` takes."""
    said = {
        "only": in_words(needs.only),
        "not before": ", ".join(f"check {number}" for number in needs.not_before),
        "parts": ", ".join(map(write_part, needs.parts)),
        "tools": ", ".join(needs.tools),
        "truck": ", ".join(map(write_state, needs.truck)),
        "fact": needs.fact,
        "does": ", ".join(act.value for act in needs.does),
        "after": needs.after.value if needs.after else "",
        "home": needs.home.value if needs.home else "",
    }
    if needs.is_harmless:
        said["does"] = "nothing dangerous"
    first = ["do first"] if needs.first else []
    parts = [f"{label}: {value}" for label, value in said.items() if value]
    return "; ".join([str(needs.time), *first, *parts])


def write_part(part: Part) -> str:
    """A part and its alternatives, best first, each with its price word."""
    return " or ".join(f"{c.name} ({c.price.value})" for c in part.choices)


def write_state(state: State) -> str:
    """A state, with the work to get there if that is known."""
    return f"{state.name} ({state.setup})" if state.setup else state.name
