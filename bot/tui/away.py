"""Where one can go from a job and come back: each shows a text and rows to pick from.

Nothing here draws. A place says what stands on the board and what is asked, and what
comes of what was typed or picked: another place, a job, or the way back.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from textual.content import Content

from bot.model.place import BotError
from bot.talk.clean import clean
from bot.tui.pages import SEARCHED, Matter, Option, Part, Question
from bot.tui.prose import Paragraph

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from bot.desk.browse import Find, Shelves


@dataclass(frozen=True, slots=True)
class Open:
    """Go on with that job, or look at it again."""

    number: int


@dataclass(frozen=True, slots=True)
class Begin:
    """A new job, with these words."""

    words: str


@dataclass(frozen=True, slots=True)
class Back:
    """To where one came from."""


@dataclass(frozen=True, slots=True)
class Stay:
    """Nothing comes of it, and why."""

    note: str


class Place(Protocol):
    """A place beyond the job."""

    def matter(self) -> Matter:
        """What stands on the board."""

    def question(self, typed: str = "") -> Question:
        """The rows to pick from, while that much is typed."""

    def take(self, typed: str) -> Came:
        """What comes of a key, or of words."""


Came = Place | Open | Begin | Back | Stay


def heading(text: str) -> Content:
    """The heading of a place."""
    return Content.styled(clean(text), "bold")


def _said(*lines: str) -> tuple[Part, ...]:
    return (Part("say", tuple(Paragraph(Content(clean(line))) for line in lines)),)


BACK = Option("<", "back")
NO_SUCH_ROW = "There is no such row; pick one with an arrow, or type < to go back."


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


def opened(shelves: Shelves, found: Find) -> Place:
    """What was found, as a place."""
    if found.kind == "job":
        return JobTold(shelves, found.name)
    if found.kind == "sum":
        return Sum(shelves, found.name, found.about)
    return PageShown(shelves, found.name)


@dataclass(frozen=True, slots=True)
class Start:
    """Everything there is: open jobs, pages by system, jobs, sums, the truck."""

    shelves: Shelves

    def matter(self) -> Matter:
        """How to begin."""
        return Matter(heading("Start"), parts=_said(HOW))

    def question(self, typed: str = "") -> Question:
        """The rows; or, while words are typed, what is called something like it."""
        if typed and not _is_key(typed):
            found = [Option(f"{SEARCHED}{n}", _named(f)) for n, f in self._found(typed)]
            return Question(FOUND if found else NOTHING_FOUND, tuple(found), (BACK,))
        jobs = tuple(
            Option(str(n), f"Job {f.name}: {f.about}") for n, f in self._jobs()
        )
        others = (
            Option(str(len(jobs) + n), says) for n, (says, _) in enumerate(_GO, 1)
        )
        return Question("", (*jobs, *others), (BACK,))

    def take(self, typed: str) -> Came:
        """A job, a list, or what was found; other words begin a new job."""
        if typed == BACK.key:
            return Back()
        jobs = dict(self._jobs())
        if typed.isdigit():
            nth = int(typed) - len(jobs)
            if nth <= 0 and int(typed) in jobs:
                return Open(int(jobs[int(typed)].name))
            return (
                _GO[nth - 1][1](self.shelves) if 0 < nth <= len(_GO) else Stay(NO_ROW)
            )
        return Begin(typed)

    def pick(self, key: str, typed: str) -> Came:
        """What was found for some words, by its key."""
        found = dict(self._found(typed)).get(int(key[1:]) if key[1:].isdigit() else 0)
        return opened(self.shelves, found) if found else Stay(NO_ROW)

    def _jobs(self) -> Iterable[tuple[int, Find]]:
        return enumerate(self.shelves.open_jobs()[:MOST_JOBS], 1)

    def _found(self, typed: str) -> Iterable[tuple[int, Find]]:
        return enumerate(self.shelves.found(typed), 1)


MOST_JOBS = 4
HOW = (
    "Say what is wrong and press Enter: a new job begins. Or type a word to look "
    "something up, and pick what is found with an arrow."
)
FOUND = "Enter begins a new job with these words. Or open, with an arrow:"
NOTHING_FOUND = "Nothing is called like that. Enter begins a new job with these words."
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
    return Told("The truck", shelves.truck())


_GO: tuple[tuple[str, Callable[[Shelves], Place]], ...] = (
    ("Pages, by system", systems),
    ("All jobs and their stories", past),
    ("Sums", sums),
    ("The truck", truck),
)


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
        names = (name.replace("-", " ").capitalize() for name in self.groups)
        rows = tuple(Option(str(n), name) for n, name in enumerate(names, 1))
        return Question("Of what?", rows, (BACK,))

    def take(self, typed: str) -> Came:
        """The list in that row."""
        if typed == BACK.key:
            return Back()
        if not typed.isdigit() or not 0 < int(typed) <= len(self.groups):
            return Stay(NO_SUCH_ROW)
        group = self.groups[int(typed) - 1]
        name = f"{self.name}: {group.replace('-', ' ')}"
        return Rows(self.shelves, name, "Which one?", self.rows(group))


@dataclass(frozen=True, slots=True)
class PageShown:
    """A page as paper shows it, and the pages that it leads to."""

    shelves: Shelves
    page: str

    def matter(self) -> Matter:
        """All of it."""
        text = self.shelves.page
        shown = Part("paper", (), lay=lambda width: text(self.page, width))
        title = heading(self.shelves.title(self.page))
        return Matter(title, parts=(shown,), is_read_through=True)

    def question(self, typed: str = "") -> Question:
        """To work by it, and its links."""
        work = (WORK,) if self.shelves.works(self.page) else ()
        linked = enumerate(self.shelves.links(self.page), len(work) + 1)
        rows = (Option(str(n), clean(f"page: {f.about}")) for n, f in linked)
        return Question("", (*work, *rows), (BACK,))

    def take(self, typed: str) -> Came:
        """A job by this page, or the page that a link leads to."""
        if typed == BACK.key:
            return Back()
        works = self.shelves.works(self.page)
        if works and typed == WORK.key:
            return Begin(self.shelves.title(self.page))
        links = self.shelves.links(self.page)
        nth = int(typed) - works if typed.isdigit() else 0
        if not 0 < nth <= len(links):
            return Stay(NO_SUCH_ROW)
        return PageShown(self.shelves, links[nth - 1].name)


WORK = Option("1", "Begin a job with this complaint")


@dataclass(frozen=True, slots=True)
class JobTold:
    """The story of a job: what to read out when calling for help."""

    shelves: Shelves
    number: str

    def matter(self) -> Matter:
        """From its first words to where it stands."""
        text = self.shelves.job
        shown = Part("paper", (), lay=lambda width: text(self.number, width))
        title = heading(f"Job {self.number}")
        return Matter(title, parts=(shown,), is_read_through=True)

    def question(self, typed: str = "") -> Question:
        """To go on with it."""
        return Question("", (Option("1", "Go on with this job"),), (BACK,))

    def take(self, typed: str) -> Came:
        """The job itself."""
        if typed == BACK.key:
            return Back()
        return Open(int(self.number)) if typed == "1" else Stay(NO_SUCH_ROW)


@dataclass(frozen=True, slots=True)
class Told:
    """A text, and no more."""

    name: str
    text: str

    def matter(self) -> Matter:
        """The text, line for line."""
        return Matter(heading(self.name), parts=_said(*self.text.splitlines()))

    def question(self, typed: str = "") -> Question:
        """The way back."""
        return Question("", (), (BACK,))

    def take(self, typed: str) -> Came:
        """The way back, whatever is typed."""
        return Back()


@dataclass(frozen=True, slots=True)
class Sum:
    """A sum: what it needs, and what comes out of what was typed."""

    shelves: Shelves
    name: str
    about: str
    done: tuple[str, ...] = ()
    typed: str = ""

    def matter(self) -> Matter:
        """What came out, or what it needs."""
        told = self.done or self.shelves.sum_told(self.name)
        title = heading(f"Sum {self.name}: {self.about}")
        return Matter(title, parts=_said(*told), is_read_through=True)

    def question(self, typed: str = "") -> Question:
        """How it is typed."""
        like = self.typed or self.shelves.example(self.name)
        again = (Option("1", "What it needs, formula and limits"),) if self.done else ()
        return Question(f"Type what you know, such as: {like}", again, (BACK,))

    def take(self, typed: str) -> Came:
        """The sum worked out, or why it cannot be."""
        if typed == BACK.key:
            return Back()
        if self.done and typed == "1":
            return Sum(self.shelves, self.name, self.about)
        try:
            done = self.shelves.sum_done(self.name, typed)
        except BotError as error:
            return Stay(f"{error}.")
        return Sum(self.shelves, self.name, self.about, done, typed)
