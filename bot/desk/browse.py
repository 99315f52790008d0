"""What can be looked up beside a job: pages, jobs, sums, the truck; and one search."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from bot.calc.book import DRAWERS, SHEETS
from bot.calc.curve import curve
from bot.calc.sheet import Input as Input
from bot.calc.sheet import work_out
from bot.calc.shown import explained, result
from bot.calc.typed import named, one_of, typed, units_typed
from bot.desk.bench import OpenJob, open_jobs
from bot.desk.garage import Garage
from bot.desk.report import job_report
from bot.desk.truck import note
from bot.match.titles import called
from bot.model.card import Card
from bot.model.pages import Procedure
from bot.model.rule import StopRule
from bot.model.truck import Truck
from bot.paper import sheet
from bot.paper.pieces import Plain
from bot.paper.text import set_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

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
        self.garage = Garage(home, library)

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
            rules = map(self._library.rule, sorted(sheet.led_to(held)))
            notes = self._library.notes(held.id)
            yield from sheet.page(held, [r for r in rules if r], notes=notes)
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

    def open_jobs(self) -> tuple[OpenJob, ...]:
        """Those that are not closed, and how they stand."""
        return open_jobs(self._journal, self._library)

    def jobs(self) -> tuple[Find, ...]:
        """All jobs, the newest first, each with its page, stage and last day."""
        titles = self._library.titles()
        listed = self._journal.listed()[:MOST_JOBS]
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

    def sum_asks(self, name: str) -> tuple[Input, ...]:
        """The inputs of a sum, in their order."""
        return SHEETS[name].inputs

    def sum_reads(self, name: str, words: str) -> dict[str, str]:
        """What was typed in a line of "name=value", taken apart: input -> text."""
        return named(SHEETS[name], words.split())

    def sum_takes(self, name: str, asked: Input, text: str) -> None:
        """Look whether a text can be the value of an input.

        Raises:
            BotError: it cannot, in one sentence.
        """
        one_of(SHEETS[name], asked, text, self._units())

    def sum_done(self, name: str, given: Mapping[str, str]) -> tuple[str, ...]:
        """A sum worked out of its inputs as typed.

        Raises:
            BotError: something is missing or cannot be, in one sentence.
        """
        asked, words, noted = SHEETS[name], _in_words(given), self._units()
        worked = work_out(asked, *typed(asked, words, noted))
        told = result(asked, worked, (*units_typed(words), *noted))
        return (*asked.cautions, *told)

    def sum_drawn(
        self, name: str, given: Mapping[str, str], along: str
    ) -> tuple[str, ...]:
        """The result against one of the inputs, as a chart; () where none is drawn.

        Raises:
            BotError: as for `sum_done`.
        """
        asked, words, noted = SHEETS[name], _in_words(given), self._units()
        worked = work_out(asked, *typed(asked, words, noted))
        by = asked.input(along)
        if by is None or by.choices or along not in worked.values:
            return ()
        return curve(asked, worked.values, by, (*units_typed(words), *noted))

    def example(self, name: str) -> str:
        """A sum as one would type it."""
        return " ".join(SHEETS[name].example)

    def _units(self) -> tuple[str, ...]:
        found = note(self._home)
        return found.units if isinstance(found, Truck) else ()

    # --- search

    def found(self, words: str) -> tuple[Find, ...]:
        """Pages, procedures, sums and jobs that sound like some words, best first."""
        pages = self._library.titles().items()
        every = [Find("page", page, title) for page, (title, _) in pages]
        every += [Find("sum", name, s.about) for name, s in SHEETS.items()]
        every += self.jobs()
        titles = [f"{row.name} {row.about}" for row in every]
        return tuple(every[n] for n in called(words, titles)[:MOST_FOUND])


def _in_words(given: Mapping[str, str]) -> list[str]:
    said = (f"{name}={text}" if name else text for name, text in given.items())
    return " ".join(said).split()


PROCEDURES = "procedures"
_LINK = re.compile(r"\]\((?:[^()\s]*/)?([a-z0-9-]+)\.md\)")


def _of_job(row: Listed, titles: dict[str, tuple[str, str]]) -> str:
    title = titles.get(row.card, (row.words[:60], ""))[0]
    return f"{title or 'no words yet'}, {row.stage}, {row.last[:10]}"
