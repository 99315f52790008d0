"""Going away from a job to look something up, and back to the very same step."""

from abc import abstractmethod
from collections.abc import Iterable
from dataclasses import replace
from functools import partial

from textual.app import SystemCommand
from textual.screen import Screen

from bot.desk.garage import Garage
from bot.desk.settings import Settings
from bot.model.place import BotError
from bot.talk.messages import Message
from bot.tui import away, places
from bot.tui import words as own
from bot.tui.board import Reader
from bot.tui.box import Box
from bot.tui.find import ASK, Finder
from bot.tui.first import First
from bot.tui.frame import Desk, Frame
from bot.tui.pages import SEARCHED, Matter, Question
from bot.tui.shell import PLAIN

COMMANDS = (
    ("F1", "What the keys do", "keys"),
    ("F2", "All of the talk, and back", "talking"),
    ("F3", "Look up jobs, pages, sums, the truck; and back", "start"),
    ("F4", "What I answered so far", "entered"),
    ("ctrl+z", "Take the last answer back", "undo"),
    ("ctrl+f", "Find words in the text that is read", "find"),
    ("Esc", "The menu", "menu"),
    ("ctrl+l", "Draw the screen anew", "repaint"),
)


ALL_PAGES = 1_000
"""More than there are."""


class Roaming(Frame):
    """The places that were gone to, the last of them on the screen."""

    def __init__(self, desk: Desk, theme: str) -> None:
        super().__init__(desk, theme)
        self.question: Question | None = None
        self.settings = desk.settings
        self.draw_plain(desk.settings.is_plain)
        self.finder = Finder()
        self._places: list[places.Place] = []
        self._step: tuple[Matter, bool] = (Matter(), True)
        self._kept: tuple[places.Place | None, str, Question | None] = (None, "", None)

    @abstractmethod
    async def begin(
        self, number: int | None, words: str = "", left: tuple[Message, ...] = ()
    ) -> None:
        """Begin a job, or go on with one, in place of that on the screen."""

    @abstractmethod
    def leave_job(self) -> tuple[Message, ...]:
        """Leave the job on the screen as it is; what is to be said of it."""

    @abstractmethod
    def entered(self) -> tuple[tuple[str, str], ...]:
        """What was answered so far: each check's title, and the answer."""

    @abstractmethod
    async def say(self, words: str) -> None:
        """Say something to the conversation."""

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """What the list of commands has (ctrl+p): the keys, by what they do."""
        for key, says, act in COMMANDS:
            yield SystemCommand(says, key, partial(self.run_action, act))

    @property
    def is_away(self) -> bool:
        """Whether something else than the job is on the screen."""
        return bool(self._places)

    def asked(self, typed: str = "") -> Question | None:
        """The question on the screen, while that much is typed."""
        if not self._places:
            return self.question
        words = self._looked_for if typed.startswith(SEARCHED) else typed
        if self._kept[:2] != (self._places[-1], words):
            self._kept = self._places[-1], words, self._places[-1].question(words)
        return self._kept[2]

    async def ask_first(self, garage: Garage) -> None:
        """What is asked before the first job of all, and never again."""
        self.settings = replace(self.settings, was_asked=True)
        self._keep()
        await self._enter(First(garage))

    async def action_start(self) -> None:
        """Everything there is; or, from there, back to the job."""
        shelves = self.desk.shelves
        if self._places:
            await self._home()
        elif shelves is None:
            self.tell(own.NOTHING_TO_SEE)
        else:
            await self._enter(away.Start(shelves, self.settings))

    async def action_entered(self) -> None:
        """What was answered so far, to be mended; or, from there, back to the job."""
        rows = self.entered()
        if self._places:
            await self._home()
        elif rows:
            await self._enter(away.Entered(rows))
        else:
            self.tell(own.NOTHING_ENTERED)

    async def _enter(self, place: places.Place) -> None:
        if not self._places:
            self._step = self.board.matter, self.board.is_read
        self._places.append(place)
        await self._show_place()

    async def _show_place(self) -> None:
        place, self._kept = self._places[-1], (None, "", None)
        await self.board.lay(place.matter())
        await self._ask_again()

    async def _ask_again(self, typed: str = "") -> None:
        """The rows for what is typed; the box keeps it."""
        asked = self.asked(typed)
        await self.answers.ask(asked)
        if not typed:
            self.box.await_answer(asked)
        else:
            self.box.take_keys(asked)
        self.call_after_refresh(self.share)

    async def come_back(self) -> None:
        """To the place before, or to the job."""
        self._places.pop()
        if self._places:
            await self._show_place()
        else:
            await self._home()

    async def _home(self) -> None:
        """The job's own step again, read as far as it was; a job if there is none."""
        self._places.clear()
        if self.question is None:
            await self.begin(None)
            return
        matter, was_read = self._step
        await self.board.lay(matter, is_read=was_read)
        await self._ask_again()

    async def take_away(self, typed: str) -> None:
        """Do what a key or words mean at the place on the screen."""
        place = self._places[-1]
        came = self._came(place, typed)
        match came:
            case places.Back(note):
                await self.come_back()
                self.tell(note)
            case places.Again(note):
                await self._show_place()
                self.tell(note)
            case places.Instead(other, many):
                del self._places[-many:]
                await self._enter(other)
            case places.Stay(note) | places.Wrong(note):
                self.tell(note)
            case places.Hear(words):
                await self._home()
                await self.say(words)
            case places.Change(wanted):
                await self._want(wanted)
            case places.Open() | places.Begin():
                await self._turn_to(came)
            case _:
                await self._enter(came)

    async def _turn_to(self, came: places.Open | places.Begin) -> None:
        """Another job in place of that on the screen."""
        self._places.clear()
        left = self.leave_job()
        if isinstance(came, places.Open):
            await self.begin(came.number, left=left)
        else:
            await self.begin(None, came.words, left)

    def _came(self, place: places.Place, typed: str) -> places.Came:
        """What comes of what was typed; a sentence that means nothing here is told."""
        if isinstance(place, away.Start) and typed.startswith(SEARCHED):
            return place.pick(typed, self._looked_for)
        came = place.take(typed)
        if not isinstance(came, places.Stay) or " " not in typed or "=" in typed:
            return came
        narrows = isinstance(place, away.Rows) and place.question(typed).options
        return came if narrows else places.Hear(typed)

    async def _want(self, wanted: Settings) -> None:
        """The screen as it is wanted, now and the next time."""
        self.settings = wanted
        if self.theme != PLAIN:
            self.theme = wanted.theme
        self.draw_plain(wanted.is_plain)
        self._places[-1] = away.Wanted(wanted)
        if self.desk.shelves:
            self._places[0] = away.Start(self.desk.shelves, wanted)
        await self._show_place()
        self._keep()

    def _keep(self) -> None:
        try:
            self.desk.keep(self.settings)
        except BotError as error:
            self.tell(f"{error}.")

    _looked_for = ""

    async def type_away(self, typed: str) -> None:
        """Search while words are typed; a key that is chosen changes nothing."""
        if not typed.startswith(SEARCHED):
            self._looked_for = typed
            await self._ask_again(typed)

    # --- reading

    def action_find(self) -> None:
        """Look for words in the text that is read, until Esc."""
        self.finder.begin()
        self.box.value = ""
        self.tell(ASK)

    def find(self, words: str = "") -> None:
        """Bring the next line with those words, or the same again, into view."""
        self.tell(self.finder.next(self._read, words))

    def end_search(self) -> None:
        """The box is for answers again."""
        self.finder.end()
        self.box.value = ""
        self.tell("")

    def action_turn_page(self, pages: int) -> None:
        """Read back or on."""
        self._read.turn_page(pages)

    def on_box_edge(self, edge: Box.Edge) -> None:
        """To the first line, or to the last."""
        self._read.turn_page(edge.step * ALL_PAGES)

    @property
    def _read(self) -> Reader:
        return self.chat if self.is_talking else self.board.sheet

    @property
    def is_talking(self) -> bool:
        """Whether all of the talk is on the screen."""
        return self.screen.has_class("-talking")

    def show_talk(self, wanted: bool) -> None:
        """All of the talk, or the step."""
        if wanted != self.is_talking:
            self.screen.set_class(wanted, "-talking")
            self.call_after_refresh(self.chat.show_newest)

    def action_talking(self) -> None:
        """All of the talk on one page, and back."""
        self.show_talk(not self.is_talking)
