"""The conversation so far. A new turn is shown from its first line, never its last."""

from collections.abc import Iterable

from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.geometry import Size
from textual.message import Message

from bot.tui.leaves import Asked, Leaf, leaf
from bot.tui.pages import Part, Question
from bot.tui.prose import Paragraph

MOST_MOUNTED = 200
"""Pieces kept on the screen; older ones are in the journal."""

KEPT_IN_SIGHT = 2
"""Lines of the old page that stay when a page is turned."""


class Turn(Vertical, can_focus=False):
    """What the person said, and all that was said back."""

    def __init__(
        self, said: str, parts: Iterable[Part], question: Question | None
    ) -> None:
        super().__init__(classes="turn")
        self._said = said
        self._parts = tuple(parts)
        self._question = question

    def compose(self) -> ComposeResult:
        """The words typed or picked, the answer, the question."""
        if self._said:
            lead = Content.styled("You: ", "bold")
            yield Leaf((Paragraph(Content(self._said), lead),), "you")
        for part in self._parts:
            yield leaf(part)
        if self._question:
            yield Asked(self._question)


class Log(VerticalScroll, can_focus=False):
    """All turns, the newest last. `is_read`: its end has been on the screen."""

    class Moved(Message):
        """The view moved, or the page under it grew."""

        def __init__(self, *, is_read: bool) -> None:
            self.is_read = is_read
            super().__init__()

    def __init__(self) -> None:
        super().__init__(id="log")
        self.is_read = False
        self.was_at_end = False
        self._placed_at = Size(0, 0)
        self._page = Vertical(id="page")

    def compose(self) -> ComposeResult:
        """One inner page, so that short talk stands at the top."""
        yield self._page

    @property
    def asked(self) -> Asked | None:
        """The question on the table."""
        found = self.query(Asked)
        return found.last() if found else None

    async def add(self, turn: Turn) -> None:
        """Put a turn below the others and bring its first line into view.

        It is laid out at once, so that inside a batch all is painted in one go.
        """
        for old in self.query(".turn:last-of-type"):
            old.add_class("past")
        for asked in self.query(Asked):
            await asked.retire()
        self.is_read = False
        await self._page.mount(turn)
        await self._trim()
        self.screen._refresh_layout()
        self.show_newest()

    async def _trim(self) -> None:
        turns = list(self.query(Turn))
        while len(self.query(Leaf)) > MOST_MOUNTED and len(turns) > 1:
            await turns.pop(0).remove()

    def show_newest(self) -> None:
        """The newest turn from its first line; from further up when all of it fits."""
        turns = self.query(Turn)
        if not turns:
            return
        top = turns.last().virtual_region.y
        self.scroll_to(y=min(top, self.max_scroll_y), animate=False, immediate=True)
        self.look()

    def read_on(self) -> None:
        """One page further."""
        self.turn_page(1)

    def turn_page(self, pages: int) -> None:
        """Up or down by pages, less a little that stays in sight."""
        step = max(self.scrollable_content_region.height - KEPT_IN_SIGHT, 1)
        self.scroll_relative(y=pages * step, animate=False, immediate=True)

    @property
    def is_at_end(self) -> bool:
        """Whether there is nothing below the view."""
        return self.scroll_y >= self.max_scroll_y

    def look(self) -> None:
        """Note whether the end has been seen."""
        self.was_at_end = self.is_at_end
        self.is_read = self.is_read or self.was_at_end
        self.post_message(self.Moved(is_read=self.is_read))

    def keep_place(self) -> None:
        """After a change of size: the end stays the end, an unread turn its start."""
        self._placed_at = self.size
        if self.was_at_end:
            self.scroll_to(y=self.max_scroll_y, animate=False, immediate=True)
        elif not self.is_read:
            self.show_newest()
        self.look()

    def watch_scroll_y(self, old_value: float, new_value: float) -> None:
        """Note what has been seen as the view moves, but not in mid-resize."""
        super().watch_scroll_y(old_value, new_value)
        if self.size == self._placed_at:
            self.look()

    def on_resize(self) -> None:
        """Find the place again once everything is set out anew."""
        self.call_after_refresh(self.keep_place)
