"""What can be looked up beside a job: pages, jobs, sums, the truck; and one search."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from bot.calc.book import DRAWERS, SHEETS
from bot.calc.sheet import work_out
from bot.calc.shown import explained, result
from bot.calc.typed import typed, units_typed
from bot.cards.truck import write_truck
from bot.desk.report import job_report
from bot.desk.truck import in_use, note
from bot.match.titles import called
from bot.model.card import Card
from bot.model.pages import Procedure
from bot.model.rule import StopRule
from bot.model.truck import Truck
from bot.paper import sheet
from bot.paper.pieces import Plain
from bot.paper.text import set_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bot.desk.library import KbLibrary
    from bot.paper.pieces import Piece
    from bot.store.journal import Journal
    from bot.store.second import Listed

MOST_FOUND = 8
MOST_JOBS = 200


class Find(NamedTuple):
    """Something to be opened: its kind (page, job, sum), its name, what it is about."""

    kind: str
    name: str
    about: str


class Shelves:
    """Everything that can be read beside a job; nothing here changes a job."""

    def __init__(self, home: str, journal: Journal, library: KbLibrary) -> None:
        self._home = home
        self._journal = journal
        self._library = library

    # --- pages

    def systems(self) -> tuple[str, ...]:
        """The folders that pages stand in, procedures last."""
        folders = {folder for _, folder in self._library.titles().values()}
        return tuple(sorted(folders, key=lambda name: (name == PROCEDURES, name)))

    def pages(self, system: str) -> tuple[Find, ...]:
        """The pages of a system, by title."""
        found = self._library.titles().items()
        rows = [
            Find("page", p, self._marked(p, title))
            for p, (title, at) in found
            if at == system
        ]
        return tuple(sorted(rows, key=lambda row: row.about))

    def _marked(self, page_id: str, title: str) -> str:
        """A title with how its page stands; without a club all are not vetted."""
        if not self._library.has_club:
            return title
        return f"{title}, {self._library.standing(page_id)[0]}"

    def page(self, page_id: str, columns: int) -> str:
        """A page as paper shows it, below its title, for so many columns.

        How it stands with the club comes first.
        """
        how, why = self._library.standing(page_id)
        said = f"Page {how}: {why}." if why else f"Page {how}."
        told = [Plain((said,))] if how else []
        return set_text([*told, *[*self._pieces(page_id)][1:]], columns)

    def _pieces(self, page_id: str) -> Iterator[Piece]:
        held = self._library.page(page_id)
        if isinstance(held, Card):
            yield from sheet.page(held, notes=self._library.notes(held.id))
        elif isinstance(held, Procedure):
            yield from sheet.procedure(held)
        elif isinstance(held, StopRule):
            yield from sheet.rule(held)

    def title(self, page_id: str) -> str:
        """What a page is called."""
        held = self._library.page(page_id)
        return held.title if isinstance(held, Card | Procedure | StopRule) else page_id

    def works(self, page_id: str) -> bool:
        """Whether a job can be worked by that page."""
        return isinstance(self._library.page(page_id), Card)

    def links(self, page_id: str) -> tuple[Find, ...]:
        """The other pages that a page leads to, in its own order."""
        named = _LINK.findall(self._library.text(page_id))
        other = dict.fromkeys(name for name in named if name != page_id)
        kept = (name for name in other if self._library.page(name))
        return tuple(Find("page", name, self.title(name)) for name in kept)

    # --- jobs

    def jobs(self) -> tuple[Find, ...]:
        """All jobs, the newest first, each with its page, stage and last day."""
        return self._jobs(only_open=False)

    def open_jobs(self) -> tuple[Find, ...]:
        """Those that are not closed."""
        return self._jobs(only_open=True)

    def _jobs(self, *, only_open: bool) -> tuple[Find, ...]:
        titles = self._library.titles()
        listed = self._journal.listed(only_open=only_open)[:MOST_JOBS]
        return tuple(Find("job", str(r.number), _of_job(r, titles)) for r in listed)

    def job(self, number: str, columns: int) -> str:
        """The story of a job, to be read out when calling for help."""
        told = job_report(int(number), self._journal, self._library)
        return set_text(told[1:], columns)

    # --- sums

    def drawers(self) -> tuple[str, ...]:
        """What the sums are sorted by."""
        return tuple(DRAWERS)

    def sums(self, drawer: str) -> tuple[Find, ...]:
        """The sums of a drawer."""
        return tuple(Find("sum", s.name, s.about) for s in DRAWERS[drawer])

    def sum_told(self, name: str) -> tuple[str, ...]:
        """What a sum needs, its formula and limits."""
        return tuple(explained(SHEETS[name], self._units(), str))[1:]

    def sum_done(self, name: str, words: str) -> tuple[str, ...]:
        """A sum worked out of "name=value" typed in a line.

        Raises:
            BotError: something is missing or cannot be, in one sentence.
        """
        asked, given = SHEETS[name], words.split()
        noted = self._units()
        worked = work_out(asked, *typed(asked, given, noted))
        told = result(asked, worked, (*units_typed(given), *noted))
        return (*asked.cautions, *told)

    def example(self, name: str) -> str:
        """A sum as one would type it."""
        return " ".join(SHEETS[name].example)

    def _units(self) -> tuple[str, ...]:
        found = note(self._home)
        return found.units if isinstance(found, Truck) else ()

    # --- the truck, and search

    def truck(self) -> str:
        """The note of the truck in use, or its mistakes, or how to begin one."""
        found = note(self._home, in_use(self._home))
        if found is None:
            return NO_TRUCK
        if isinstance(found, Truck):
            return write_truck(found)
        return "\n".join(map(str, found))

    def found(self, words: str) -> tuple[Find, ...]:
        """Pages, procedures, sums and jobs that sound like some words, best first."""
        pages = self._library.titles().items()
        every = [Find("page", page, title) for page, (title, _) in pages]
        every += [Find("sum", name, s.about) for name, s in SHEETS.items()]
        every += self.jobs()
        titles = [f"{row.name} {row.about}" for row in every]
        return tuple(every[n] for n in called(words, titles)[:MOST_FOUND])


PROCEDURES = "procedures"
NO_TRUCK = (
    "There is no note of a truck yet. On the command line, begin with: chock truck "
    "name Heron; then what it has: chock truck fitted air brakes, hand lever."
)
_LINK = re.compile(r"\]\((?:[^()\s]*/)?([a-z0-9-]+)\.md\)")


def _of_job(row: Listed, titles: dict[str, tuple[str, str]]) -> str:
    title = titles.get(row.card, (row.words[:60], ""))[0]
    return f"{title or 'no words yet'}, {row.stage}, {row.last[:10]}"
