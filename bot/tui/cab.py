"""The whole screen. It passes words to the conversation and shows what comes back."""

from collections.abc import Awaitable, Callable, Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import Input, Static

from bot.desk.conversation import Conversation
from bot.model.place import BotError
from bot.talk import phrases
from bot.talk.clean import clean
from bot.talk.messages import Message, Say
from bot.tui import words as own
from bot.tui.box import Box
from bot.tui.frame import Desk, Frame
from bot.tui.leaves import Leaf, Note, Picked
from bot.tui.log import Log, Turn
from bot.tui.pages import Part, Question, parts, question
from bot.tui.suspects import side, status

ENOUGH_WORDS = 3
"""Words that are a new complaint, not a stray remark, after a job is closed."""


SLICE_S = 0.05
"""Between two slices of work that nobody waits for. Our choice."""


class Cab(Frame):
    """Log, suspicions, question and answer box."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pageup", "turn_page(-1)", show=False),
        Binding("pagedown", "turn_page(1)", show=False),
        Binding("escape", "menu", show=False),
    ]

    def __init__(self, desk: Desk, theme: str = "night") -> None:
        super().__init__(desk, theme)
        self.talk: Conversation | None = None
        self.question: Question | None = None
        self._hear: Callable[[str], Awaitable[None]] = self._take_offer
        self._draft = ""

    async def on_mount(self) -> None:
        """Offer the open jobs, or begin."""
        self.box.focus()
        self.set_interval(1.0, self._tick)
        if self.desk.offers:
            await self._show(
                own.hello(self.desk.remark)[:-2], own.resume(self.desk.offers)
            )
        else:
            await self._begin(self.desk.number)

    def _tick(self) -> None:
        """Count down while a reading is waited for."""
        due = self.question.due if self.question else ""
        if self.talk and due:
            self.query_one("#status", Static).update(status(self.talk, due))

    # --- the conversation -------------------------------------------------------------

    async def _take_offer(self, words: str) -> None:
        number, rest = own.taken(self.desk.offers, words)
        await self._begin(number, rest, "" if rest else self._echo(words))

    async def _begin(
        self,
        number: int | None,
        words: str = "",
        said: str = "",
        left: tuple[Message, ...] = (),
    ) -> None:
        try:
            self.talk = self.desk.begin(number)
            messages = self.talk.open()
        except BotError as error:
            self.trouble = str(error)
            self.exit(return_code=1)
            return
        self._hear = self._take_answer
        if words:
            await self._take_answer(words)
            return
        first = own.hello(self.desk.remark) if number is None else ()
        await self._answer(said, (*left, *messages), first)

    async def _take_answer(self, words: str) -> None:
        assert self.talk is not None
        said = self._echo(words)
        if self.talk.asks_for_another(words):
            await self._begin(None, said=said, left=self.talk.left())
            return
        try:
            messages = self.talk.hear(words)
        except BotError as error:
            messages = (Say(f"{error}."),)
        await self._answer(said, messages)

    async def _answer(
        self, said: str, messages: Iterable[Message], first: tuple[Part, ...] = ()
    ) -> None:
        messages = tuple(messages)
        asked = question(messages) or self.question
        if self.talk and self.talk.is_over:
            asked, self._hear = own.AFTER, self._take_next
        await self._show((*first, *parts(messages)), asked, said)

    async def _take_next(self, words: str) -> None:
        """What comes after a closed job: another one, or leaving."""
        if words == "1":
            await self._begin(None, said=self._echo(words))
        elif words == "2" or words.lower() in phrases.DISSENT:
            self._leave()
        elif len(words.split()) >= ENOUGH_WORDS:
            await self._begin(None, words)
        else:
            self._note("Press 1 or 2, or say what is wrong now.")

    async def _show(
        self, shown: tuple[Part, ...], asked: Question | None, said: str = ""
    ) -> None:
        self.question = asked
        with self.batch_update():
            if self.talk:
                due = asked.due if asked else ""
                self.query_one("#status", Static).update(status(self.talk, due))
                self.query_one("#side Leaf", Leaf).change(side(self.talk))
            await self.chat.add(Turn(said, shown, asked))
            self.box.await_answer(asked)
        self.set_timer(SLICE_S, self._prepare)

    def _prepare(self) -> None:
        """While the person reads, make the next answers ready, a slice at a time."""
        if self.talk and self.talk.prepare():
            self.set_timer(SLICE_S, self._prepare)

    def _echo(self, words: str) -> str:
        label = self.question.label(words) if self.question else None
        return f"{words}  {label}" if label else words

    # --- keys and taps ----------------------------------------------------------------

    async def on_picked(self, picked: Picked) -> None:
        """Take an answer's key, unless it is a double press or not yet read."""
        self._note("")
        if self.box.is_guarded:
            return
        act = self.menu.act(picked.key)
        if act:
            await self.action_menu()
            await act()
        elif self._is_unread(picked.key):
            self.chat.read_on()
        else:
            await self._hear(picked.key)

    async def on_input_submitted(self, typed: Input.Submitted) -> None:
        """Take what was typed."""
        words = " ".join(clean(typed.value).split())
        act = self.menu.act(words)
        if self.menu.is_open:
            await self._close_menu()
        if act:
            await act()
            return
        if words.lower() in phrases.EOF:
            self._leave()
        elif self._is_unread(words):
            self.box.value = ""
            self.chat.read_on()
        else:
            await self._hear(words)

    def _is_unread(self, words: str) -> bool:
        """Whether this picks an answer whose question was not on the screen yet."""
        options = self.question.options if self.question else ()
        return not self.chat.is_read and any(o.key == words for o in options)

    async def on_box_read_on(self) -> None:
        """Turn the page; at its end say what can be done."""
        if self.menu.is_open:
            await self._close_menu()
        elif self.chat.is_at_end:
            self._note(own.NOTHING_TYPED)
        else:
            self.chat.read_on()

    def on_input_changed(self, changed: Input.Changed) -> None:
        """Show which answer Enter would take."""
        if changed.value:
            self._note("")
        asked = self.chat.asked
        if asked:
            asked.light(changed.value.strip())

    def on_log_moved(self, moved: Log.Moved) -> None:
        """Say in the empty box what comes next."""
        for box in self.query(Box):
            box.placeholder = own.prompt(self.question, is_read=moved.is_read)

    def action_turn_page(self, pages: int) -> None:
        """Read back or on."""
        self.chat.turn_page(pages)

    # --- the menu, and leaving --------------------------------------------------------

    async def action_menu(self) -> None:
        """Open the menu, or close it."""
        self._note("")
        if self.menu.is_open:
            await self._close_menu()
            return
        items = [("Go on", self._go_on)]
        if self.talk and not self.talk.is_over:
            items.append(("Pause the job and leave", self._pause))
        items.append(("What the keys do", self._keys))
        items.append(("Leave; all that was said is kept", self.action_quit))
        self._draft = self.box.value
        self.box.await_answer(await self.menu.open(*items))

    async def _close_menu(self) -> None:
        await self.menu.close()
        self.box.await_answer(self.question)
        self.box.value = self._draft
        self.box.action_end()

    async def _go_on(self) -> None:
        """Nothing to do: the menu is closed."""

    async def _keys(self) -> None:
        await self._show((own.keys(),), self.question)

    async def _pause(self) -> None:
        assert self.talk is not None
        try:
            self.talk.pause()
        except BotError as error:
            self._note(f"{error}.")
            return
        self._leave()

    async def action_quit(self) -> None:
        """Leave; the job stays where it is."""
        self._leave()

    def action_help_quit(self) -> None:
        """Say how to leave; the second time leave."""
        if self.query_one(Note).says == own.LEAVING:
            self._leave()
        else:
            self._note(own.LEAVING)

    def _leave(self) -> None:
        self.exit(return_code=0)

    def _note(self, words: str) -> None:
        self.query_one(Note).say(clean(words))
