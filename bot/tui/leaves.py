"""The pieces a page is made of: text, rows to pick, marks, a question, menu, note."""

from collections.abc import Awaitable, Callable, Iterable

from textual import events
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.geometry import Size
from textual.message import Message
from textual.style import Style
from textual.widget import Widget
from textual.widgets import Static

from bot.talk.clean import clean_lines
from bot.tui.pages import Option, Part, Question
from bot.tui.prose import Paragraph, flowed, set_out


class Picked(Message):
    """An answer was tapped or its key was pressed."""

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__()


class Leaf(Widget, can_focus=False):
    """Paragraphs, set out anew at each width."""

    def __init__(self, paragraphs: Iterable[Paragraph], kind: str = "") -> None:
        super().__init__(classes=f"leaf {kind}", markup=False)
        self._paragraphs = tuple(paragraphs)
        self._laid = Content("")
        self._marked: int | None = None

    @property
    def text(self) -> str:
        """The text as last set out, without its styles."""
        return self._laid.plain

    def mark(self, row: int | None) -> None:
        """Set off one line, or none any more."""
        self._marked = row
        self.refresh()

    def change(self, paragraphs: Iterable[Paragraph]) -> None:
        """Show other paragraphs."""
        self._paragraphs = tuple(paragraphs)
        self._laid = self.lay(max(self.size.width, 1))
        self.refresh(layout=True)

    def lay(self, width: int) -> Content:
        """The text as it stands at a width."""
        return set_out(self._paragraphs, width)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """The lines that the text needs; it is set out here."""
        self._laid = self.lay(max(width, 1))
        return self._laid.plain.count("\n") + 1 if self._laid else 0

    def render(self) -> Content:
        """The text as last set out."""
        if self._marked is None:
            return self._laid
        rows = self._laid.split("\n", allow_blank=True)
        if self._marked < len(rows):
            rows[self._marked] = rows[self._marked].stylize("reverse")
        return Content("\n").join(rows)


class Paper(Leaf):
    """A page as paper shows it; warnings, headings and the verdict stand out."""

    def __init__(self, lay: Callable[[int], str]) -> None:
        self._set = lay
        super().__init__((), "paper")

    def lay(self, width: int) -> Content:
        """The lines, those that must not be missed in bold."""
        rows = clean_lines(self._set(width)).rstrip().split("\n")
        return Content("\n").join(
            Content.styled(row, "bold" if _stands_out(row, below) else "")
            for row, below in zip(rows, (*rows[1:], ""), strict=True)
        )


def _stands_out(row: str, below: str) -> bool:
    """Whether it is a warning, the verdict, or a heading with its rule below."""
    ruled = bool(below.strip()) and not below.strip("=-")
    return row.startswith(("!!", "MAY IT MOVE")) or ruled


def leaf(part: Part) -> Leaf:
    """One part of a page."""
    return Paper(part.lay) if part.lay else Leaf(part.paragraphs, part.kind)


class Row(Leaf):
    """One answer over the whole width: tap it, or press its key."""

    ALLOW_SELECT = False

    def __init__(self, option: Option) -> None:
        self.key = option.key
        lead = Content.styled(f" {option.key} ", "bold reverse $key")
        label = Content.styled(option.label, "bold" if option.help else "")
        more = (Paragraph(text, Content("     ")) for text in option.help)
        rows = (Paragraph(label, Content.assemble(lead, "  ")), *more)
        super().__init__(rows, "row")

    def on_click(self, event: events.Click) -> None:
        """Take a tap anywhere on the row as its key."""
        event.stop()
        self.post_message(Picked(self.key))


class Marks(Leaf):
    """The moves beside the answers, side by side; each can be tapped."""

    ALLOW_SELECT = False

    def __init__(self, options: Iterable[Option]) -> None:
        self._chips = [_chip(option) for option in options]
        super().__init__((), "marks")

    def lay(self, width: int) -> Content:
        """As many to a line as fit."""
        return flowed(self._chips, width)

    def on_click(self, event: events.Click) -> None:
        """Take a tap on a move as its key."""
        event.stop()
        key = event.style.meta.get("key")
        if isinstance(key, str):
            self.post_message(Picked(key))


def _chip(option: Option) -> Content:
    key = Content.styled(option.key, "bold $key")
    chip = Content.assemble(key, " ", option.label)
    return chip.stylize(Style.from_meta({"key": option.key}))


class Answers(VerticalScroll, can_focus=False):
    """The question with its answers; a row that is chosen is brought into view."""

    def __init__(self) -> None:
        super().__init__(id="answers")
        self._keys: tuple[str, ...] = ()

    async def ask(self, question: Question | None) -> None:
        """Put another question in place of the last; the same one stays."""
        await self.query(Leaf).remove()
        self._keys = tuple(o.key for o in question.options) if question else ()
        if question is None:
            return
        words = Paragraph(Content.styled(question.text, "bold"))
        rows: list[Leaf] = [Leaf((words,), "words")] if question.text else []
        rows += [Row(option) for option in question.options]
        rows += [Marks(question.marks)] if question.marks else []
        await self.mount_all(rows)
        self.scroll_home(animate=False)

    @property
    def lines(self) -> int:
        """The lines that all of it needs."""
        return self.virtual_size.height + self.gutter.height

    def light(self, key: str) -> None:
        """Set off the row that Enter would take; none for another key."""
        for row in self.query(Row):
            row.set_class(row.key == key, "lit")
            if row.key == key:
                self.scroll_to_widget(row, animate=False)

    def beside(self, key: str, step: int) -> str | None:
        """The key of the row after that one, or before it; None without rows."""
        if not self._keys:
            return None
        if key not in self._keys:
            return self._keys[0 if step > 0 else -1]
        return self._keys[(self._keys.index(key) + step) % len(self._keys)]


Act = Callable[[], Awaitable[None]]


class Menu(Vertical, can_focus=False):
    """Numbered things to do that are no answer to the question."""

    def __init__(self) -> None:
        super().__init__(id="menu")
        self._acts: tuple[Act, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether the menu is on the screen."""
        return bool(self._acts)

    async def open(self, *items: tuple[str, Act]) -> Question:
        """Show the items; their keys come back as a question for the box."""
        self._acts = tuple(act for _, act in items)
        options = tuple(Option(str(n), says) for n, (says, _) in enumerate(items, 1))
        await self.mount_all(Row(option) for option in options)
        self.add_class("-shown")
        self.screen.add_class("-menu")
        return Question("", options)

    async def close(self) -> None:
        """Take the menu away."""
        self._acts = ()
        self.remove_class("-shown")
        self.screen.remove_class("-menu")
        await self.query(Row).remove()

    def act(self, key: str) -> Act | None:
        """What a key of the menu does."""
        if key.isdigit() and 0 < int(key) <= len(self._acts):
            return self._acts[int(key) - 1]
        return None


class Does(Static):
    """The line above the box: what Enter will do, or a note until the next key."""

    def __init__(self) -> None:
        super().__init__(id="does", markup=False)
        self.note = ""
        self._does = ""

    def say(self, words: str) -> None:
        """Show some words of our own till the next key; or what Enter does again."""
        self.note = words
        self.set_class(bool(words), "-note")
        self.update(words or self._does)

    def tell(self, does: str) -> None:
        """Know what Enter will do now."""
        self._does = does
        if not self.note:
            self.update(does)
