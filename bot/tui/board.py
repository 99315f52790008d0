"""The place of the step: its title, its danger in a line, and below that all of it."""

from collections.abc import Iterable

from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.geometry import Size
from textual.message import Message
from textual.widgets import Static

from bot.tui.leaves import Leaf, leaf
from bot.tui.pages import Matter, Part
from bot.tui.prose import Paragraph

KEPT_IN_SIGHT = 1
"""Lines of the old page that stay when a page is turned."""


class Reader(VerticalScroll, can_focus=False):
    """Text that is read from its first line on."""

    def turn_page(self, pages: int) -> None:
        """Up or down by pages, less a little that stays in sight."""
        step = max(self.scrollable_content_region.height - KEPT_IN_SIGHT, 1)
        self.scroll_relative(y=pages * step, animate=False, immediate=True)

    @property
    def is_at_end(self) -> bool:
        """Whether there is nothing below the view."""
        return self.scroll_y >= self.max_scroll_y


class Sheet(Reader):
    """All of the step. `is_read`: its end has been on the screen."""

    class Moved(Message):
        """The view moved, or what is under it changed."""

    def __init__(self) -> None:
        super().__init__(id="sheet")
        self.is_read = True
        self._is_placed = True
        self._was_at_end = True
        self._placed_at = Size(0, 0)

    async def lay(self, parts: Iterable[Part], *, is_read: bool) -> None:
        """Show other parts, which begin when the screen has its final shape."""
        self._is_placed = False
        await self.query(Leaf).remove()
        await self.mount_all(leaf(part) for part in parts)
        self.is_read = is_read

    def begin(self) -> None:
        """Show what was laid from its first line, now that its place is known."""
        if not self._is_placed:
            self._is_placed, self._placed_at = True, self.size
            self.scroll_to(y=0, animate=False, immediate=True)
        self.look()

    def look(self) -> None:
        """Note whether the end has been seen."""
        if not self._is_placed:
            return
        self._was_at_end = self.is_at_end
        self.is_read = self.is_read or self._was_at_end
        self.post_message(self.Moved())

    def _keep_place(self) -> None:
        """After a change of size: the end stays the end."""
        self._placed_at = self.size
        if self._is_placed and self._was_at_end and self.is_read:
            self.scroll_to(y=self.max_scroll_y, animate=False, immediate=True)
        self.look()

    def watch_scroll_y(self, old_value: float, new_value: float) -> None:
        """Note what has been seen as the view moves, but not in mid-resize."""
        super().watch_scroll_y(old_value, new_value)
        if self.size == self._placed_at:
            self.look()

    def on_resize(self) -> None:
        """Find the place again once everything is set out anew."""
        self.call_after_refresh(self._keep_place)


class Board(Vertical, can_focus=False):
    """What is on the table; for a while something else may lie over it."""

    def __init__(self) -> None:
        super().__init__(id="board")
        self._matter = Matter()
        self._was_read = True
        self.is_covered = False

    def compose(self) -> ComposeResult:
        """Title and danger stay; the rest scrolls under them."""
        yield Leaf((), "title")
        yield Static(id="peril", markup=False)
        yield Sheet()

    @property
    def sheet(self) -> Sheet:
        """The part that scrolls."""
        return self.query_one(Sheet)

    @property
    def is_read(self) -> bool:
        """Whether all that guards a life has been on the screen."""
        return self._was_read if self.is_covered else self.sheet.is_read

    @property
    def lines(self) -> int:
        """The lines that all of it needs."""
        pinned = self.size.height - self.sheet.outer_size.height
        ends = [part.virtual_region_with_margin.bottom for part in self.sheet.children]
        return pinned + max(ends) if ends else 0

    @property
    def matter(self) -> Matter:
        """What is on the table, whatever lies over it."""
        return self._matter

    async def lay(self, matter: Matter, *, is_read: bool = False) -> None:
        """Put something else on the table; it may be that it was read before."""
        self._matter, self.is_covered = matter, False
        head = (Paragraph(matter.head),) if matter.head else ()
        self.query_one(".title", Leaf).change(head)
        peril = self.query_one("#peril", Static)
        peril.update(matter.danger)
        peril.set_class(bool(matter.danger), "-shown")
        await self.sheet.lay(matter.parts, is_read=is_read or not matter.guards)

    async def cover(self, parts: Iterable[Part]) -> None:
        """Lay an answer to an aside over the step, whose title and danger stay."""
        self._was_read, self.is_covered = self.is_read, True
        await self.sheet.lay(parts, is_read=True)

    async def uncover(self) -> None:
        """The step again."""
        self.is_covered = False
        await self.sheet.lay(self._matter.parts, is_read=self._was_read)
