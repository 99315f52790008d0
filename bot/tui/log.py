"""The talk so far. Beside a step it shows the last exchange; as a page all of it."""

from collections.abc import Iterable

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content

from bot.tui.board import Reader
from bot.tui.leaves import Leaf, leaf
from bot.tui.pages import Part
from bot.tui.prose import Paragraph

MOST_MOUNTED = 200
"""Pieces kept on the screen; older ones are in the journal."""


class Turn(Vertical, can_focus=False):
    """What the person said, and all that was said back.

    `remarks` always show; `rest`, what has a place of its own on the screen, only where
    all of the talk is read.
    """

    def __init__(
        self, said: str, remarks: Iterable[Part], rest: Iterable[Part] = ()
    ) -> None:
        super().__init__(classes="turn")
        self._said = said
        self._remarks = tuple(remarks)
        self._rest = tuple(rest)

    def compose(self) -> ComposeResult:
        """The words typed or picked, then the answer."""
        if self._said:
            lead = Content.styled("You: ", "bold")
            yield Leaf((Paragraph(Content(self._said), lead),), "you")
        for part in self._remarks:
            yield leaf(part)
        for part in self._rest:
            yield Leaf(part.paragraphs, f"{part.kind} rest")


class Log(Reader):
    """All turns, the newest last."""

    def __init__(self) -> None:
        super().__init__(id="log")
        self._page = Vertical(id="page")

    def compose(self) -> ComposeResult:
        """One inner page, so that short talk stands at the top."""
        yield self._page

    def on_mount(self) -> None:
        """Find the newest turn again whenever what is above it has its size."""
        self.watch(self, "virtual_size", self.show_newest, init=False)

    async def add(self, turn: Turn) -> None:
        """Put a turn below the others and bring its first line into view."""
        for old in self.query(".turn:last-of-type"):
            old.add_class("past")
        await self._page.mount(turn)
        await self._trim()
        self.call_after_refresh(self.show_newest)

    async def _trim(self) -> None:
        turns = list(self.query(Turn))
        while len(self.query(Leaf)) > MOST_MOUNTED and len(turns) > 1:
            await turns.pop(0).remove()

    def show_newest(self) -> None:
        """The newest turn from its first line; from further up when all of it fits."""
        turns = self.query(Turn)
        if turns:
            top = turns.last().virtual_region.y
            self.scroll_to(y=min(top, self.max_scroll_y), animate=False, immediate=True)

    def on_resize(self) -> None:
        """Find the place again once everything is set out anew."""
        self.call_after_refresh(self.show_newest)
