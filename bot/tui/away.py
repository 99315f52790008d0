"""Lists to pick from away from the job: the start of all, groups, rows, settings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bot.desk.settings import NIGHT, SUN, Settings
from bot.talk.clean import clean
from bot.tui import words as own
from bot.tui.noted import TruckForm
from bot.tui.pages import SEARCHED, Matter, Option, Question
from bot.tui.places import (
    BACK,
    NO_SUCH_ROW,
    Back,
    Begin,
    Came,
    Change,
    Hear,
    Open,
    Place,
    Stay,
    heading,
    said,
)
from bot.tui.texts import opened

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from bot.desk.bench import OpenJob
    from bot.desk.browse import Find, Shelves


@dataclass(frozen=True, slots=True)
class Rows:
    """A list of things to be opened, ten or two hundred."""

    shelves: Shelves
    name: str
    asks: str
    rows: tuple[Find, ...]

    def matter(self) -> Matter:
        """Its name."""
        return Matter(heading(self.name))

    def question(self, typed: str = "") -> Question:
        """A row each; what is typed leaves those that hold it."""
        shown = _numbered(self.rows)
        if typed and not _is_key(typed):
            shown = [o for o in shown if typed.lower() in o.label.lower()]
        return Question(self.asks, tuple(shown), (BACK,))

    def take(self, typed: str) -> Came:
        """The thing in that row, or the only one that holds the words."""
        if typed == BACK.key:
            return Back()
        left = self.question(typed).options
        keys = [o.key for o in left]
        picked = typed if _is_key(typed) else keys[0] if len(keys) == 1 else ""
        if not picked.isdigit() or not 0 < int(picked) <= len(self.rows):
            return Stay(NO_SUCH_ROW)
        return opened(self.shelves, self.rows[int(picked) - 1])


def _is_key(typed: str) -> bool:
    return typed.isdigit() or typed == BACK.key


def _numbered(rows: Iterable[Find]) -> list[Option]:
    return [Option(str(n), clean(row.about)) for n, row in enumerate(rows, 1)]


@dataclass(frozen=True, slots=True)
class Start:
    """Everything there is: open jobs, pages by system, jobs, sums, the truck."""

    shelves: Shelves
    settings: Settings

    def matter(self) -> Matter:
        """How to begin."""
        return Matter(heading("Start"), parts=said(HOW))

    def question(self, typed: str = "") -> Question:
        """The rows; or, while words are typed, what is called something like it."""
        if typed and not _is_key(typed):
            found = [Option(f"{SEARCHED}{n}", _named(f)) for n, f in self._found(typed)]
            asks = FOUND if found else NOTHING_FOUND
            return Question(asks, tuple(found), (BACK,), words=BEGINS)
        jobs = tuple(Option(str(n), own.told(job)) for n, job in self._jobs())
        says = (*(name for name, _ in _GO), SETTINGS)
        others = (Option(str(len(jobs) + n), name) for n, name in enumerate(says, 1))
        return Question("", (*jobs, *others), (BACK,))

    def take(self, typed: str) -> Came:
        """A job, a list, or what was found; other words begin a new job."""
        if typed == BACK.key:
            return Back()
        jobs = dict(self._jobs())
        if typed.isdigit():
            nth = int(typed) - len(jobs)
            if nth == len(_GO) + 1:
                return Wanted(self.settings)
            if nth <= 0 and int(typed) in jobs:
                return Open(jobs[int(typed)].number)
            return (
                _GO[nth - 1][1](self.shelves) if 0 < nth <= len(_GO) else Stay(NO_ROW)
            )
        return Begin(typed)

    def pick(self, key: str, typed: str) -> Came:
        """What was found for some words, by its key."""
        found = dict(self._found(typed)).get(int(key[1:]) if key[1:].isdigit() else 0)
        return opened(self.shelves, found) if found else Stay(NO_ROW)

    def _jobs(self) -> Iterable[tuple[int, OpenJob]]:
        return enumerate(self.shelves.open_jobs()[:MOST_JOBS], 1)

    def _found(self, typed: str) -> Iterable[tuple[int, Find]]:
        return enumerate(self.shelves.found(typed), 1)


MOST_JOBS = 4
HOW = (
    "Say what is wrong and press Enter: a new job begins. Or type a word to look "
    "something up, and pick what is found with an arrow."
)
BEGINS = "Enter begins a new job with these words"
FOUND = "Open one with an arrow, then Enter; or begin a new job with these words:"
NOTHING_FOUND = "Nothing is called like that; as it stands it begins a new job."
NO_ROW = "There is no such row here."


def _named(found: Find) -> str:
    name = f" {found.name}" if found.kind != "page" else ""
    return clean(f"{found.kind}{name}: {found.about}")


def systems(shelves: Shelves) -> Place:
    """The pages, a row for each system."""
    return Groups(shelves, "Pages", shelves.systems(), shelves.pages)


def past(shelves: Shelves) -> Place:
    """All jobs."""
    return Rows(shelves, "Jobs", "Which job?", shelves.jobs())


def sums(shelves: Shelves) -> Place:
    """The sums, a row for each drawer."""
    return Groups(shelves, "Sums", shelves.drawers(), shelves.sums)


def truck(shelves: Shelves) -> Place:
    """The note of the truck in use."""
    return TruckForm(shelves.garage)


_GO: tuple[tuple[str, Callable[[Shelves], Place]], ...] = (
    ("Pages, by system", systems),
    ("All jobs and their stories", past),
    ("Sums", sums),
    ("The truck", truck),
)


SETTINGS = "Colours, bell and signs"


@dataclass(frozen=True, slots=True)
class Wanted:
    """How the screen is wanted; a row is turned over when it is picked."""

    settings: Settings

    def matter(self) -> Matter:
        """Its name."""
        return Matter(heading(SETTINGS), parts=said(KEPT))

    def question(self, typed: str = "") -> Question:
        """A row for each."""
        bell = "rings" if self.settings.bell else "is silent"
        signs = "plain letters" if self.settings.is_plain else "drawn"
        dark = self.settings.theme == NIGHT
        rows = (
            Option("1", f"Colours: {'light on dark' if dark else 'dark on light'}"),
            Option("2", f"The bell {bell} when a wait is over"),
            Option("3", f"Lines and signs: {signs}"),
        )
        return Question("Pick one to turn it over.", rows, (BACK,))

    def take(self, typed: str) -> Came:
        """The other way round."""
        if typed == "1":
            other = SUN if self.settings.theme == NIGHT else NIGHT
            return Change(replace(self.settings, theme=other))
        if typed == "2":
            return Change(replace(self.settings, bell=not self.settings.bell))
        if typed == "3":
            plain = not self.settings.is_plain
            return Change(replace(self.settings, is_plain=plain))
        return Back() if typed == BACK.key else Stay(NO_SUCH_ROW)


KEPT = "Kept for the next time. Dark on light reads best in the sun."


@dataclass(frozen=True, slots=True)
class Entered:
    """What was answered so far; a check that is picked is answered anew."""

    rows: tuple[tuple[str, str], ...]

    def matter(self) -> Matter:
        """What picking does."""
        return Matter(heading("Answered so far"), parts=said(MENDS))

    def question(self, typed: str = "") -> Question:
        """A row for each check."""
        rows = (f"{check}: {answer}" for check, answer in self.rows)
        told = tuple(Option(str(n), clean(row)) for n, row in enumerate(rows, 1))
        return Question("Which answer is not right?", told, (BACK,))

    def take(self, typed: str) -> Came:
        """That check again."""
        if typed == BACK.key:
            return Back()
        if not typed.isdigit() or not 0 < int(typed) <= len(self.rows):
            return Stay(NO_SUCH_ROW)
        return Hear(self.rows[int(typed) - 1][0])


MENDS = "Pick one to be asked that check again; the new answer takes its place."


@dataclass(frozen=True, slots=True)
class Groups:
    """Lists, by name."""

    shelves: Shelves
    name: str
    groups: tuple[str, ...]
    rows: Callable[[str], tuple[Find, ...]]

    def matter(self) -> Matter:
        """Its name."""
        return Matter(heading(self.name))

    def question(self, typed: str = "") -> Question:
        """A row for each list."""
        names = (_spoken(name).capitalize() for name in self.groups)
        rows = tuple(Option(str(n), name) for n, name in enumerate(names, 1))
        return Question("Of what?", rows, (BACK,))

    def take(self, typed: str) -> Came:
        """The list in that row."""
        if typed == BACK.key:
            return Back()
        if not typed.isdigit() or not 0 < int(typed) <= len(self.groups):
            return Stay(NO_SUCH_ROW)
        group = self.groups[int(typed) - 1]
        name = f"{self.name}: {_spoken(group)}"
        return Rows(self.shelves, name, "Which one?", self.rows(group))


def _spoken(group: str) -> str:
    """What a group is called: two things have an "and" between them."""
    return group.replace("-", " and " if group in _PAIRS else " ")


_PAIRS = frozenset(("tyres-wheels", "steering-suspension", "cab-body"))
