"""The note of a truck as a form: a row a line, changed where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bot.model.fitted import ALONE, KINDS, ONE_OF
from bot.model.place import BotError
from bot.model.truck import Rather, Truck, Where
from bot.talk.clean import clean
from bot.tui.pages import Matter, Option, Question
from bot.tui.places import (
    BACK,
    NO_SUCH_ROW,
    Again,
    Back,
    Came,
    Hear,
    Stay,
    Wrong,
    heading,
    said,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from bot.desk.garage import Garage


def rows(says: Iterable[str]) -> tuple[Option, ...]:
    """Rows that say so, numbered from 1."""
    return tuple(Option(str(n), clean(row)) for n, row in enumerate(says, 1))


def picked(typed: str, rows: int) -> int | None:
    """The number of a row from 0; None where that is no row."""
    return int(typed) - 1 if typed.isdigit() and 0 < int(typed) <= rows else None


def tried(change: Callable[[], None], came: Came) -> Came:
    """What comes of a change; or why it cannot be."""
    try:
        change()
    except BotError as error:
        return Wrong(f"{error}.")
    return came


@dataclass(frozen=True, slots=True)
class TruckForm:
    """The truck in use, a row for each line of its note; or its name, to begin one."""

    garage: Garage

    def matter(self) -> Matter:
        """Whose note it is, and how a line is changed."""
        found = self.garage.note()
        if isinstance(found, Truck):
            title = heading(f"The truck: {found.name}")
            return Matter(title, parts=said(CHANGE))
        lines = (NONE,) if found is None else (*map(str, found), MEND)
        return Matter(heading("The truck"), parts=said(*lines))

    def question(self, typed: str = "") -> Question:
        """The lines, and the other trucks."""
        return Question("", rows(says for says, _ in self._places()), (BACK,))

    def _places(self) -> list[tuple[str, str | Part]]:
        """The rows: what they say, and a place, or the id of another truck."""
        found, lines = self.garage.note(), []
        if isinstance(found, Truck):
            lines = [(f"{p.name}: {p.now(found)}", p) for p in _PARTS]
        others = [(f"Mean another truck: {other}", other) for other in self._others()]
        return [*lines, *others, ("A note of a new truck", _NEW)]

    def _others(self) -> tuple[str, ...]:
        return self.garage.others()

    def take(self, typed: str) -> Came:
        """The line in that row; another truck; a name where there is none yet."""
        if typed == BACK.key:
            return Back()
        lines = self._places()
        at = picked(typed, len(lines))
        if at is None:
            if self.garage.note() is None and not typed.isdigit():
                return tried(lambda: self.garage.begin(typed), Again(NOTED))
            return Stay(NO_SUCH_ROW)
        meant = lines[at][1]
        if isinstance(meant, str):
            return tried(lambda: self.garage.mean(meant), Again(MEANT.format(meant)))
        return meant.place(self.garage, meant)


CHANGE = (
    "Pick a line to change it; it is kept at once. Prices, waits and weights of parts "
    "stand in its file in trucks/, for an editor."
)
NONE = (
    "There is no note of a truck yet. With one, steps that are not for it are left "
    "out, and parts aboard are tried first. Type its name and press Enter."
)
MEND = "Mend the file with an editor; until then nothing is known of the truck."
NOTED = "Noted."
NOTES = "Enter notes this"
MEANT = "From now on {} is meant; a job that is open keeps its own truck."


@dataclass(frozen=True, slots=True)
class Part:
    """One line of the form: its name, how it stands, where it is changed.

    `what` is its name in `desk.noting`, `offers` what can be picked, `how` what is
    typed.
    """

    name: str
    what: str
    now: Callable[[Truck], str]
    place: Callable[[Garage, Part], Came]
    how: str
    offers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Typed:
    """One thing, typed or picked anew."""

    garage: Garage
    part: Part

    def matter(self) -> Matter:
        """How it stands, and what can be typed."""
        found = self.garage.note()
        now = self.part.now(found) if isinstance(found, Truck) else "not told"
        lines = (f"Now: {now}.", self.part.how)
        return Matter(heading(self.part.name), parts=said(*lines))

    def question(self, typed: str = "") -> Question:
        """What can be picked."""
        return Question("", rows(self.part.offers), (BACK,), words=NOTES)

    def take(self, typed: str) -> Came:
        """It is noted, or why it cannot be."""
        if typed == BACK.key:
            return Back()
        at = picked(typed, len(self.part.offers))
        words = typed if at is None else self.part.offers[at]
        if at is None and self.garage.warns(words):
            return Hear(words)
        if self.part is _NEW:
            return tried(lambda: self.garage.begin(words), Back(NOTED))
        return tried(lambda: self.garage.change(self.part.what, words), Back(NOTED))


@dataclass(frozen=True, slots=True)
class Listed:
    """Several things: a row that is picked goes, what is typed comes."""

    garage: Garage
    part: Part

    def matter(self) -> Matter:
        """How things come and go."""
        return Matter(heading(self.part.name), parts=said(self.part.how))

    def _held(self) -> tuple[str, ...]:
        found = self.garage.note()
        if not isinstance(found, Truck):
            return ()
        return found.aboard if self.part.what == "aboard" else found.lacks

    def question(self, typed: str = "") -> Question:
        """A row for each."""
        return Question("", rows(self._held()), (BACK,), words=NOTES)

    def take(self, typed: str) -> Came:
        """One less, or one more."""
        if typed == BACK.key:
            return Back()
        held = self._held()
        at = picked(typed, len(held))
        if at is None and typed.isdigit():
            return Stay(NO_SUCH_ROW)
        if at is None and self.garage.warns(typed):
            return Hear(typed)
        gone = "used" if self.part.what == "aboard" else "aboard"
        what, words = (self.part.what, typed) if at is None else (gone, held[at])
        says = f"Noted: {words}." if at is None else f"Taken off the list: {words}."
        return tried(lambda: self.garage.change(what, words), Again(says))


@dataclass(frozen=True, slots=True)
class Features:
    """What the truck has and has not; a row that is picked is turned over."""

    garage: Garage
    part: Part

    def matter(self) -> Matter:
        """What it is good for."""
        return Matter(heading(self.part.name), parts=said(self.part.how))

    def question(self, typed: str = "") -> Question:
        """First what it has one of, then what it has or has not."""
        found = self.garage.note()
        truck = found if isinstance(found, Truck) else Truck("")
        kinds = zip(KINDS, ONE_OF, strict=True)
        says = [f"{kind.capitalize()}: {_one_of(row, truck)}" for kind, row in kinds]
        says += [f"{_cap(name)}: {_has(name, truck)}" for name in ALONE]
        return Question("", rows(says), (BACK,))

    def take(self, typed: str) -> Came:
        """The next of that row."""
        if typed == BACK.key:
            return Back()
        at = picked(typed, len(ONE_OF) + len(ALONE))
        found = self.garage.note()
        if at is None or not isinstance(found, Truck):
            return Stay(NO_SUCH_ROW)
        what, words = _next_of(at, found)
        return tried(lambda: self.garage.change(what, words), Again())


def _cap(name: str) -> str:
    return name[:1].upper() + name[1:]


def _one_of(row: tuple[str, ...], truck: Truck) -> str:
    return next((name for name in row if name in truck.fitted), "not told")


def _has(name: str, truck: Truck) -> str:
    if name in truck.fitted:
        return "yes"
    return "no" if name in truck.without else "not told"


def _next_of(at: int, truck: Truck) -> tuple[str, str]:
    """The change that turns a row over: to the next of its kind, or yes, no, not told.

    A change and its words, as `desk.noting` has them.
    """
    if at >= len(ONE_OF):
        name = ALONE[at - len(ONE_OF)]
        turns = {"not told": "fitted", "yes": "without", "no": "untold"}
        return turns[_has(name, truck)], name
    row = ONE_OF[at]
    now = _one_of(row, truck)
    after = row.index(now) + 1 if now in row else 0
    return ("fitted", row[after]) if after < len(row) else ("untold", now)


def _all(names: tuple[str, ...]) -> str:
    return ", ".join(names) or "nothing noted"


def _told(truck: Truck) -> str:
    without = [f"no {name}" for name in truck.without]
    return _all((*truck.fitted, *without))


_NEW = Part("A new truck", "", lambda _: "", Typed, "Type what it is called.")
_PARTS = (
    Part("Name", "name", lambda t: t.name, Typed, "Type what it is called."),
    Part(
        "Where it is mended",
        "where",
        lambda t: t.where.value,
        Typed,
        "On the trail parts weigh more than minutes.",
        tuple(where.value for where in Where),
    ),
    Part(
        "What is spent",
        "rather",
        lambda t: t.rather.value,
        Typed,
        "Dear parts are tried late where money counts.",
        tuple(rather.value for rather in Rather),
    ),
    Part(
        "What it has",
        "fitted",
        _told,
        Features,
        "Pick a row till it is right. Steps not meant for such a truck are left out.",
    ),
    Part(
        "Parts aboard",
        "aboard",
        lambda t: _all(t.aboard),
        Listed,
        "Type a part to add it; pick a row to take it off. What is aboard is tried "
        "first.",
    ),
    Part(
        "Tools that are missing",
        "lacks",
        lambda t: _all(t.lacks),
        Listed,
        "Type a tool that you have not; pick a row when you have it again.",
    ),
    Part(
        "Figures in",
        "units",
        lambda t: ", ".join(t.units) or "bar, degC, km/h",
        Typed,
        "The units of your gauges: pick, or type such as: psi degC.",
        ("bar degC", "psi degF"),
    ),
    Part(
        "Jobs are written down since",
        "since",
        lambda t: t.since.isoformat() if t.since else "not told",
        Typed,
        "Type a day such as 2024-05-01; it makes the list of spares truer.",
    ),
    Part(
        "It goes in a year",
        "yearly",
        lambda t: f"{t.yearly_km:,.0f} km" if t.yearly_km else "not told",
        Typed,
        "Type a distance such as 6000 km.",
    ),
)
