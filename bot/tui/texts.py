"""Texts to be read away from the job: a page, a job's story, a sum, the truck."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bot.model.place import BotError
from bot.talk.clean import clean
from bot.tui.pages import Matter, Option, Part, Question
from bot.tui.places import (
    BACK,
    NO_SUCH_ROW,
    Back,
    Begin,
    Came,
    Open,
    Stay,
    heading,
    said,
)

if TYPE_CHECKING:
    from bot.desk.browse import Find, Shelves


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
        return Matter(heading(self.name), parts=said(*self.text.splitlines()))

    def question(self, typed: str = "") -> Question:
        """The way back."""
        return Question("", (), (BACK,))

    def take(self, typed: str) -> Came:
        """The way back."""
        return Back() if typed == BACK.key else Stay(NO_SUCH_ROW)


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
        return Matter(title, parts=said(*told), is_read_through=True)

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


def opened(shelves: Shelves, found: Find) -> PageShown | JobTold | Sum:
    """What was found, as a place."""
    if found.kind == "job":
        return JobTold(shelves, found.name)
    if found.kind == "sum":
        return Sum(shelves, found.name, found.about)
    return PageShown(shelves, found.name)
