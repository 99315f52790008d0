"""The slanted line under a heading: what a check, a repair or the proof takes.

Time first, the rest parted by semicolons. Reader and writer stand side by side.
"""

import re
from typing import Any

from bot.model.card import Act, Drive, Duration, Needs, Part, PartChoice, Price, State
from bot.model.place import Fault, Place

_DURATION = re.compile(r"([0-9]+(?:\.[0-9]+)?) (s|min|h|days?)")
_STATE = re.compile(r"([^,;()]+?)(?: \(([^()]+)\))?")
_OR = re.compile(r"(?<=\)) or ")
_CHOICE = re.compile(r"([^,;()]+) \(([a-z]+)\)")
_ACTS = ", ".join(f"'{act.value}'" for act in Act)
_VERDICTS = ", ".join(f"'{drive.value}'" for drive in Drive)
_PRICES = ", ".join(f"'{price.value}'" for price in Price)


def read_duration(text: str) -> Duration | None:
    """A time such as ``10 min``, ``30 s``, ``2 h``, ``1 day``; None for the rest."""
    found = _DURATION.fullmatch(text)
    return Duration(found[1], found[2]) if found else None


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
        value = _read_need(label, said, place)
        if isinstance(value, Fault):
            return value
        found["first" if label == "do first" else label] = value
    return Needs(time, place=place, **found)


def _read_need(label: str, said: str, place: Place) -> object | Fault:
    if label == "do first" and not said:
        return True
    if label == "parts" and said:
        return _read_parts(said, place)
    if label == "tools" and said:
        return tuple(said.split(", "))
    if label == "truck" and said:
        return _read_states(said, place)
    if label == "fact" and said:
        return said
    if label == "does" and said:
        return _read_acts(said, place)
    if label in ("after", "home"):
        verdict = next((d for d in Drive if d.value == said), None)
        return verdict or Fault(
            place, f"'{said}' is no drive verdict; write {_VERDICTS}"
        )
    return Fault(
        place,
        f"'{label[:40]}' is not known here; after the time come 'do first', 'parts: ', "
        "'tools: ', 'truck: ', 'fact: ', 'does: ', 'after: ' or 'home: ', parted by "
        "'; '",
    )


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


def write_needs(needs: Needs) -> str:
    """The line that `read_needs` takes."""
    out = [str(needs.time)]
    if needs.first:
        out.append("do first")
    if needs.parts:
        out.append(f"parts: {', '.join(map(write_part, needs.parts))}")
    if needs.tools:
        out.append(f"tools: {', '.join(needs.tools)}")
    if needs.truck:
        out.append(f"truck: {', '.join(map(write_state, needs.truck))}")
    if needs.fact:
        out.append(f"fact: {needs.fact}")
    if needs.does:
        out.append(f"does: {', '.join(act.value for act in needs.does)}")
    verdicts = (("after", needs.after), ("home", needs.home))
    out += [f"{label}: {drive.value}" for label, drive in verdicts if drive]
    return "; ".join(out)


def write_part(part: Part) -> str:
    """A part and its alternatives, best first, each with its price word."""
    return " or ".join(f"{c.name} ({c.price.value})" for c in part.choices)


def write_state(state: State) -> str:
    """A state, with the work to get there if that is known."""
    return f"{state.name} ({state.setup})" if state.setup else state.name
