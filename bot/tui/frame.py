"""What the screen is made of at every size; who does what is told in the cab."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from time import monotonic

from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Static

from bot.desk.conversation import Conversation
from bot.tui import words as own
from bot.tui.box import Box
from bot.tui.leaves import Leaf, Menu, Note
from bot.tui.log import Log
from bot.tui.shell import Shell


@dataclass(frozen=True, slots=True)
class Desk:
    """What the screen needs: jobs to begin, jobs to offer, a remark, where to crash.

    `begin` takes the number of an open job, or None for a new one.
    """

    begin: Callable[[int | None], Conversation]
    crash_file: Path
    offers: tuple[own.Offer, ...] = ()
    number: int | None = None
    remark: str = ""
    clock: Callable[[], float] = monotonic


class Side(VerticalScroll, can_focus=False):
    """The pane beside the log on a wide screen."""


class Frame(Shell):
    """Status line, log and side pane, menu, a note, the answer box."""

    CSS_PATH = "chock.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (60, "-mid"), (100, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-short"), (22, "-tall"), (34, "-high")]  # noqa: RUF012

    def __init__(self, desk: Desk, theme: str) -> None:
        super().__init__(theme, desk.crash_file)
        self.desk = desk

    def compose(self) -> ComposeResult:
        """Status line, log and side pane, menu, a note, the box."""
        yield Static(id="status", markup=False)
        with Horizontal(id="middle"):
            yield Log()
            with Side(id="side"):
                yield Leaf(())
        yield Menu()
        yield Note()
        with Horizontal(id="foot"):
            yield Static("You:", id="you", markup=False)
            yield Box(self.desk.clock)

    @property
    def chat(self) -> Log:
        """The conversation so far."""
        return self.query_one(Log)

    @property
    def box(self) -> Box:
        """Where everything is typed."""
        return self.query_one(Box)

    @property
    def menu(self) -> Menu:
        """What is no answer to the question."""
        return self.query_one(Menu)
