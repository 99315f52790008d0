"""Cards, rules, outcomes and ears for the conversation, from files and the index."""

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from bot.desk.dangers import dangers
from bot.desk.floor import floored
from bot.desk.lessons import learn
from bot.desk.shelf import Told, nobody, open_index, taught
from bot.desk.standing import Standings
from bot.desk.truck import in_use, note, of_jobs, trucks
from bot.diagnose.belief import Heard, Tried, fits
from bot.diagnose.learning import Outcomes, Report, Standing, Unsolved, outcomes
from bot.job.job import NOT_KNOWN
from bot.language.compare import bears_on
from bot.language.line import Line, listen
from bot.match.agreement import confirms, stated
from bot.match.answers import Choice, choose
from bot.match.danger import Hit, StopRecord
from bot.match.features import Answer, answer
from bot.match.rank import rank
from bot.model.card import Card
from bot.model.pages import Note, Procedure
from bot.model.rule import StopRule
from bot.model.truck import Truck
from bot.store import clock
from bot.store.habits import habits
from bot.store.journal import Journal
from bot.store.pages import page, text_of
from bot.store.pool import Pool
from bot.store.second import Ended
from bot.talk.library import NOWHERE, Earlier, Ranked, Where, sayable
from bot.talk.messages import Candidate

YEAR_S = 365.25 * 86_400

LINES_KEPT = 64
"""So many typed texts are kept as read, and as ranked."""

Key = TypeVar("Key")
Held = TypeVar("Held")

LEAST_MEANT = 0.1
"""A fault page less likely does not stand before a procedure. Our choice."""

OF_OTHER_TRUCKS = 0.1
"""What is left of a page's chance that is for other trucks: the note may be wrong."""

_Asked = tuple[str, tuple[str, ...], Where]
"""Words held against options: asked again at every turn of a job, answered once."""

Teaching = Report | Unsolved

Page = Card | Procedure | Note | StopRule


class KbLibrary:
    """The promise of `bot.talk.library.Library`, kept with a folder and a journal."""

    def __init__(
        self,
        kb: str,
        home: str,
        journal: Journal,
        truck: str = "",
        told: Told = nobody,
    ) -> None:
        """Open the knowledge base.

        Args:
            kb: its folder.
            home: the person's own store.
            journal: the jobs in it.
            truck: the id of the truck that new jobs are about; "" for the one in use.
            told: hears how far the reading is, where pages are read for the first time.
        """
        self.in_use = truck or in_use(home)
        self._index = open_index(kb, home, told)
        self._journal = journal
        self._home = home
        self._standings = Standings(kb, home)
        self._kb = Path(kb).absolute()
        self._lorries: dict[str, Truck | None] = {}
        self._pool = Pool(kb, home)
        self._told: dict[str, Outcomes] = {}
        self._stand: dict[str, tuple[str, str]] = {}
        self._read: dict[str, Page | None] = {}
        self._lines: dict[str, Line] = {}
        self._ranked: dict[tuple[str, str], Ranked] = {}
        self._records: tuple[StopRecord, ...] | None = None
        self._chosen: dict[_Asked, tuple[Choice, ...]] = {}
        self._stated: dict[_Asked, Choice | None] = {}
        self._ready: dict[tuple[tuple[str, ...], Where], tuple[Answer, ...]] = {}

    def faults(self) -> tuple[str, ...]:
        """The mistakes that keep cards off the shelf, one line each."""
        wrong = [f for faults in self._index.faults().values() for f in faults]
        for truck_id in trucks(self._home):
            lorry = note(self._home, truck_id)
            wrong += map(str, lorry) if isinstance(lorry, tuple) else ()
        return tuple(wrong)

    def card(self, card_id: str) -> Card | None:
        """The card with that id, or None when there is none that can be read."""
        held = self.page(card_id)
        return held if isinstance(held, Card) else None

    def titles(self) -> dict[str, tuple[str, str]]:
        """Of each fault page, stub and procedure its title and folder, by its id."""
        known = self._index.titles()
        return {
            page: (title, Path(at).parent.name) for page, (title, at) in known.items()
        }

    def text(self, page_id: str) -> str:
        """The text of a page as its file has it; "" where there is none."""
        path = self._index.paths().get(page_id)
        text = text_of(page(Path(path))) if path else ""
        return text if isinstance(text, str) else ""

    def cards(self) -> tuple[Card, ...]:
        """All fault pages and stubs that can be read, by id."""
        held = (self.card(page_id) for page_id in self._index.paths())
        return tuple(card for card in held if card)

    def rule(self, rule_id: str) -> StopRule | None:
        """The stop rule with that id, or None when there is none."""
        held = self.page(rule_id)
        return floored(held) if isinstance(held, StopRule) else None

    def procedure(self, page_id: str) -> Procedure | None:
        """The procedure with that id, or None when there is none."""
        held = self.page(page_id)
        return held if isinstance(held, Procedure) else None

    def notes(self, card_id: str) -> tuple[Note, ...]:
        """What members saw of that fault: hearsay, never weighed."""
        found = (_read_page(Path(path)) for path in self._index.notes(card_id))
        return tuple(note for note in found if isinstance(note, Note))

    def page(self, page_id: str) -> Page | None:
        """Any page with that id, or None where there is none that can be read."""
        if page_id not in self._read:
            path = self._index.paths().get(page_id)
            self._read[page_id] = _read_page(Path(path)) if path else None
        return self._read[page_id]

    @property
    def has_club(self) -> bool:
        """Whether a club's rule is in force here."""
        return self._standings.rule is not None

    def standing(self, page_id: str) -> tuple[str, str]:
        """How a page stands with the club, and why; "" where it is not here."""
        if page_id not in self._stand:
            path = self._index.paths().get(page_id)
            self._stand[page_id] = ("", "")
            if path and Path(path).is_relative_to(self._kb):
                at = Path(path).relative_to(self._kb).as_posix()
                found = self._standings.of(at)
                self._stand[page_id] = (found.state.value, found.why)
        return self._stand[page_id]

    def now(self) -> str:
        """The present moment, ISO 8601 with its offset from UTC."""
        return clock.now()

    def steady(self) -> str:
        """The present moment by a clock that nobody can set."""
        return clock.steady()

    def wall_clock(self, moment: str) -> str:
        """What a clock on the wall here showed at that moment, such as 14:08."""
        return datetime.fromisoformat(moment).astimezone().strftime("%H:%M")

    def truck(self, truck_id: str = "") -> Truck | None:
        """The note of that truck, or of the one in use; None when it is faulty."""
        meant = truck_id or self.in_use
        if meant not in self._lorries:
            found = note(self._home, meant) if meant else None
            self._lorries[meant] = found if isinstance(found, Truck) else None
        return self._lorries[meant]

    def look_at_trucks(self) -> None:
        """Read the notes of the trucks anew; new jobs are about the one in use."""
        self.in_use = in_use(self._home)
        self._lorries.clear()
        self._ranked.clear()

    def earlier(self, card_id: str, truck_id: str) -> tuple[Earlier, ...]:
        """How that fault ended before on that truck, in order."""
        meant = of_jobs(self._home, truck_id)
        return tuple(
            Earlier(e.job, e.opened, e.cause, e.repair, e.proved)
            for e in self._journal.endings(card_id)
            if e.truck in meant
        )

    def outcomes(self, card_id: str) -> Outcomes:
        """What recorded outcomes tell of a card's causes, and what others shared."""
        if not self._told and self._pool.is_stale():
            self._pool.refresh()
        if card_id not in self._told:
            card, now = self.card(card_id), datetime.fromisoformat(clock.now())
            ended = self._journal.endings(card_id) if card else ()
            told = (self._report(card, ending, now) for ending in ended if card)
            found = outcomes([report for report in told if report])
            self._told[card_id] = found._replace(pool=self._pool.pool(card_id))
        return self._told[card_id]

    def _report(self, card: Card, ending: Ended, now: datetime) -> Teaching | None:
        """An ending of one's own, with its age; one from the future is new."""
        try:
            then = datetime.fromisoformat(ending.at)
        except ValueError:
            then = now
        age = max(0.0, (now - then).total_seconds() / YEAR_S)
        if ending.cause != NOT_KNOWN:
            standing = Standing.PROVED if ending.proved else Standing.REPORTED
            return Report(ending.cause, standing, age)
        entry = self._journal.entry(ending.job)
        if entry is None:
            return None
        heard = [Heard(a.card, a.check, a.answer) for a in entry.job.answers]
        failed = [Tried(t.card, t.repair) for t in entry.job.failed]
        return Unsolved(fits(card, heard, failed), age)

    def line(self, words: str) -> Line:
        """A typed text, read once; the last few are kept."""
        if words not in self._lines:
            _make_room(self._lines)
            self._lines[words] = listen(words, self._index.lexicon, self._index)
        return self._lines[words]

    def rank(self, words: str, truck_id: str = "") -> Ranked:
        """The cards that plain words may mean, said of that truck.

        A turn asks for the same words several times; the last few are kept.
        """
        key = (words, truck_id)
        if key not in self._ranked:
            _make_room(self._ranked)
            self._ranked[key] = self._rank(words, truck_id)
        return self._ranked[key]

    def _rank(self, words: str, truck_id: str) -> Ranked:
        lessons = taught(self._index, str(self._journal.path))
        found = rank(self.line(words), self._index, self._habits(), lessons)
        cards = tuple(
            Candidate(c.card, c.title, c.probability, c.why) for c in found.cards
        )
        kept = self._for_this_truck(cards, truck_id)
        none = 1.0 - sum(card.probability for card in kept)
        none = found.none if kept == cards else none
        if not self.line(words).is_question:
            kept = self._faults_first(kept)
        return Ranked(kept, none, found.fits, found.understood)

    def learn(self) -> None:
        """Learn from a job that was closed just now."""
        self._ranked.clear()
        self._told.clear()
        learn(self._index, str(self._journal.path))

    def _faults_first(self, cards: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
        """Who tells of a fault and asks for nothing wants its page before a procedure.

        A fault page that is hardly meant does not come first for that.
        """

        def key(card: Candidate) -> bool:
            faint = card.probability < LEAST_MEANT
            return faint or self.procedure(card.card) is not None

        return tuple(sorted(cards, key=key))

    def _for_this_truck(
        self, cards: tuple[Candidate, ...], truck_id: str
    ) -> tuple[Candidate, ...]:
        """The cards with little left for pages that are for other trucks."""
        lorry = self.truck(truck_id)
        if lorry is None or not (lorry.fitted or lorry.without):
            return cards
        held = {c.card: self.card(c.card) or self.procedure(c.card) for c in cards}
        told = (
            c
            if (page := held[c.card]) is None or lorry.suits(page.fits)
            else replace(c, probability=c.probability * OF_OTHER_TRUCKS)
            for c in cards
        )
        return tuple(sorted(told, key=lambda card: -card.probability))

    def _habits(self) -> Mapping[str, float]:
        return habits(str(self._journal.path), self._index.shelf().pages)

    def danger(self, words: str) -> tuple[Hit, ...]:
        """The stop rules that plain words raise, surely or maybe."""
        return dangers(self.line(words), self._rules(), self._index)

    def _rules(self) -> tuple[StopRecord, ...]:
        if self._records is None:
            self._records = self._index.rules()
        return self._records

    def confirms(self, words: str, tone: bool | None, guess: str) -> bool | None:
        """Whether words say yes or no to what was read back."""
        (ready,) = self._answers((guess,), NOWHERE)
        return confirms(self.line(words), tone, ready, self._index.lexicon)

    def bears(self, words: str, text: str) -> tuple[float, float]:
        """The most that words say for a text, and the most against it."""
        return bears_on(self.line(words), self.line(text), self._index.lexicon)

    def choose(
        self, words: str, options: Sequence[str], where: Where = NOWHERE
    ) -> tuple[Choice, ...]:
        """The options that plain words may mean, surest first."""
        answers = self._answers(options, where)
        key = (words, tuple(options), where)
        if key not in self._chosen:
            line = self.line(words)
            self._chosen[key] = choose(line, answers, self._index.lexicon)
        return self._chosen[key]

    def prepare(self, card_id: str) -> bool:
        """Read the answers of one more check of a card; False when all are read."""
        card = self.card(card_id)
        for check in card.checks if card else ():
            options, where = sayable(check), Where(card_id, check.id)
            if (tuple(options), where) not in self._ready:
                self._answers(options, where)
                return True
        return False

    def volunteered(
        self, words: str, options: Sequence[str], where: Where = NOWHERE
    ) -> Choice | None:
        """The option that words state outright though nobody asked; or None."""
        key = (words, tuple(options), where)
        if key not in self._stated:
            answers = self._answers(options, where)
            line = self.line(words)
            self._stated[key] = stated(line, answers, self._index.lexicon)
        return self._stated[key]

    def _answers(self, options: Sequence[str], where: Where) -> tuple[Answer, ...]:
        """The options made ready, each once, with what the side file adds."""
        key = (tuple(options), where)
        if key not in self._ready:
            said = self._index.wordings(where.card) if where.card else {}
            check = where.check
            self._ready[key] = tuple(
                answer(o, self._index.lexicon, said.get((check, o), ()), check)
                for o in options
            )
        return self._ready[key]

    def close(self) -> None:
        """Close the index."""
        try:
            self._index.close()
        except sqlite3.Error:
            return


def _make_room(kept: dict[Key, Held]) -> None:
    """Let go of the oldest where another is to be kept."""
    while len(kept) >= LINES_KEPT:
        kept.pop(next(iter(kept)))


def _read_page(path: Path) -> Page | None:
    from bot.desk.upkeep import read  # the reader of cards is slow to load

    found = page(path)
    text = text_of(found)
    held = read(text, found) if isinstance(text, str) else None
    return held if isinstance(held, Card | Procedure | Note | StopRule) else None
