"""What the screen is made of at every size; who does what is told in the cab."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic

from textual.app import ComposeResult
from textual.containers import Container, Horizontal, Vertical, VerticalScroll
from textual.widgets import Footer, Static

from bot.desk.bench import OpenJob
from bot.desk.browse import Shelves
from bot.desk.conversation import Conversation
from bot.desk.settings import Settings
from bot.talk.clean import clean
from bot.tui.board import Board
from bot.tui.box import Box
from bot.tui.leaves import Answers, Does, Leaf, Menu
from bot.tui.log import Log
from bot.tui.shell import Shell
from bot.tui.wait import Wait


@dataclass(frozen=True, slots=True)
class Desk:
    """What the screen needs: jobs to begin, jobs to offer, a remark, where to crash.

    `begin` takes the number of an open job, or None for a new one; `shelves` is what
    can be looked up, `settings` how the screen is wanted, `keep` keeps them; `is_first`
    when nothing is known yet, and nobody was asked about the truck.
    """

    begin: Callable[[int | None], Conversation]
    crash_file: Path
    offers: tuple[OpenJob, ...] = ()
    number: int | None = None
    remark: str = ""
    clock: Callable[[], float] = monotonic
    shelves: Shelves | None = None
    settings: Settings = field(default_factory=Settings)
    keep: Callable[[Settings], None] = lambda _: None
    is_first: bool = False


class Frame(Shell):
    """Places that never move: verdict, talk, step, answers, how sure, wait, box."""

    CSS_PATH = "chock.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (60, "-mid"), (100, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [  # noqa: RUF012
        *((0, "-least"), (16, "-short"), (22, "-tall"), (34, "-high")),
    ]

    def __init__(self, desk: Desk, theme: str) -> None:
        super().__init__(theme, desk.crash_file)
        self.desk = desk
        self._shared_read = True

    def compose(self) -> ComposeResult:
        """From the top of the screen to its foot."""
        yield Static(id="standing", markup=False)
        yield Static(id="reason", markup=False)
        with Container(id="middle"):
            with Vertical(id="talk"):
                yield Log()
                with VerticalScroll(id="side", can_focus=False):
                    yield Leaf(())
            with Vertical(id="work"):
                yield Board()
                yield Answers()
        yield Static(id="sure", markup=False)
        yield Wait()
        yield Menu()
        yield Does()
        with Horizontal(id="foot"):
            yield Static("You:", id="you", markup=False)
            yield Box(self.desk.clock, self._beside)
        yield Footer(compact=True, show_command_palette=False)

    def _beside(self, key: str, step: int) -> str | None:
        """The key of the answer after that one, or before it."""
        return self.answers.beside(key, step)

    def tell(self, words: str) -> None:
        """Say some words of the screen's own till the next key."""
        self.says.say(clean(words))

    def share(self) -> None:
        """Let the answers have what the step leaves, and at least half of the room.

        A text that is there to be read, or a danger that is not read yet, leaves a
        third of it to the rows below.
        """
        self._shared_read = self.board.is_read
        reads = self.board.matter.is_read_through or not self._shared_read
        room = self.query_one("#work").size.height
        least = room // 3 if reads else room // 2
        self.answers.styles.max_height = max(least, room - self.board.lines)
        self.call_after_refresh(self.board.sheet.begin)
        self.call_after_refresh(self.chat.show_newest)

    def on_sheet_moved(self) -> None:
        """Share the room anew once a danger is read."""
        if self.board.is_read != self._shared_read:
            self.share()

    def on_resize(self) -> None:
        """Share the room anew."""
        self.call_after_refresh(self.share)

    @property
    def chat(self) -> Log:
        """The conversation so far."""
        return self.query_one(Log)

    @property
    def board(self) -> Board:
        """What is on the table."""
        return self.query_one(Board)

    @property
    def answers(self) -> Answers:
        """The question and its answers."""
        return self.query_one(Answers)

    @property
    def box(self) -> Box:
        """Where everything is typed."""
        return self.query_one(Box)

    @property
    def menu(self) -> Menu:
        """What is no answer to the question."""
        return self.query_one(Menu)

    @property
    def says(self) -> Does:
        """The line above the box."""
        return self.query_one(Does)
