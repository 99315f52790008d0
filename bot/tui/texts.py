"""Texts to be read away from the job: a page, a job's story, a sum."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

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
)
from bot.tui.sums import Sum

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


def opened(shelves: Shelves, found: Find) -> PageShown | JobTold | Sum:
    """What was found, as a place."""
    if found.kind == "job":
        return JobTold(shelves, found.name)
    if found.kind == "sum":
        return Sum(shelves, found.name, found.about)
    return PageShown(shelves, found.name)
