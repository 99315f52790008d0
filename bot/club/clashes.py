"""Where two edits do not go together, told in the page's own terms."""

from typing import NamedTuple

from bot.club.units import Branch, Leaf, Unit, What

Trail = tuple[Unit, ...]
"""The units that one lies in, from the page down."""


class Clash(NamedTuple):
    """Where two edits do not go together, and what each says there."""

    where: str
    says: str

    def __str__(self) -> str:
        return f"{self.where}: {self.says}"


_LISTS_BY_SECTION = {
    "What people notice": "sign list",
    "When you need it": "sign list",
    "It is not this when": "look-alike list",
    "Sources": "source list",
}
_STEPS_BY_SECTION = {"Checks": "check", "Repairs": "repair"}
_ALONE = (What.ALL, What.TITLE, What.VERDICT, What.FRONT)


def where(trail: Trail, unit: Unit) -> str:
    """What people call the place of a unit: "check 3 'Soap the vent': finding 2"."""
    inner = (*trail[1:], unit)
    entry = next((part for part in inner if part.what is What.ENTRY), None)
    if unit.what in _ALONE or not inner:
        return unit.what.value
    if inner[0].what is What.FRONT:
        return f"front matter: {entry.key}" if entry else "front matter"
    if entry or unit.what in (What.GROUP, What.LINE):
        return f"'{entry.key if entry else unit.key}'"
    section = inner[0].key if inner[0].what is What.SECTION else ""
    step = next((part for part in inner[1:] if part.what is What.STEP), None)
    if step:
        noun = _STEPS_BY_SECTION.get(section, "step")
        head = step.parts[0] if isinstance(step, Branch) else step
        named = f"{noun} {_called(head)}" if isinstance(head, Leaf) else noun
        return named if unit is step else f"{named}: {_nth(trail[-1], unit)}"
    if section in _LISTS_BY_SECTION:
        return _LISTS_BY_SECTION[section]
    if section == "Causes" and unit.what is What.POINT:
        return f"cause {unit.key}"
    if unit is inner[0]:
        return (
            f"section '{section}'" if section else f"opening: {_nth(trail[-1], unit)}"
        )
    return f"'{section}': {_nth(trail[-1], unit)}"


def _called(head: Leaf) -> str:
    words = head.text.removeprefix("### ").removeprefix(". ")
    return f"{head.mark} '{words}'" if head.mark else f"'{words}'"


def _nth(parent: Unit, unit: Unit) -> str:
    """A unit by its kind, with its place where there are more of the kind."""
    beside = parent.parts if isinstance(parent, Branch) else (unit,)
    alike = [part for part in beside if part.what is unit.what]
    noun = "finding" if unit.what is What.POINT else unit.what.value
    noun = "heading" if unit.what is What.STEP else noun
    place = next((n for n, part in enumerate(alike, 1) if part is unit), 1)
    return f"{noun} {place}" if len(alike) > 1 else noun


MOST_SAID = 160


def both_said(ours: str, theirs: str) -> str:
    """What each of two says, shortened to where they part."""
    one, two = " ".join(ours.split()), " ".join(theirs.split())
    pairs = enumerate(zip(one, two, strict=False))
    parts = next((n for n, (a, b) in pairs if a != b), min(len(one), len(two)))
    start = one.rfind(" ", 0, max(parts - 40, 0)) + 1 if parts > MOST_SAID // 2 else 0
    return f"yours says '{_short(one, start)}', theirs says '{_short(two, start)}'"


def _short(words: str, start: int) -> str:
    shown = words[start : start + MOST_SAID]
    dots = ("... " if start else "", "..." if start + MOST_SAID < len(words) else "")
    return f"{dots[0]}{shown}{dots[1]}"
