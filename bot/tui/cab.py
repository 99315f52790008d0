"""The whole screen. It passes words to the conversation and shows what comes back."""

from collections.abc import Awaitable, Callable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import Input, Static

from bot.desk.conversation import Conversation
from bot.model.place import BotError
from bot.talk import phrases
from bot.talk.clean import clean
from bot.talk.messages import Message, Say
from bot.talk.table import BACK
from bot.tui import words as own
from bot.tui.frame import Desk
from bot.tui.leaves import Leaf, Picked
from bot.tui.log import Turn
from bot.tui.pages import (
    Matter,
    Part,
    Question,
    is_long,
    matter,
    parts,
    question,
    remarks,
)
from bot.tui.roam import Roaming
from bot.tui.suspects import reason, side, standing, sure
from bot.tui.wait import Wait

ENOUGH_WORDS = 3
"""Words that are a new complaint, not a stray remark, after a job is closed."""


SLICE_S = 0.05
"""Between two slices of work that nobody waits for. Our choice."""


class Cab(Roaming):
    """What is typed goes to the conversation; what comes back goes to its place."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "keys", "keys"),
        Binding("f2", "talking", "all the talk"),
        Binding("f3", "start", "look up"),
        Binding("f4", "entered", "so far"),
        Binding("escape", "menu", "menu"),
        Binding("ctrl+z", "undo", "undo", priority=True),
        Binding("ctrl+f", "find", show=False, priority=True),
        Binding("ctrl+l", "repaint", show=False),
        Binding("pageup", "turn_page(-1)", "read", key_display="PgUp PgDn"),
        Binding("pagedown", "turn_page(1)", show=False),
    ]

    def __init__(self, desk: Desk, theme: str = "night") -> None:
        super().__init__(desk, theme)
        self.talk: Conversation | None = None
        self._hear: Callable[[str], Awaitable[None]] = self._take_offer
        self._draft = ""

    async def on_mount(self) -> None:
        """Offer the open jobs, or begin."""
        self.box.focus()
        if self.desk.offers:
            hello = Matter(parts=own.hello(self.desk.remark)[:-2])
            await self._show(None, own.resume(self.desk.offers), hello)
        elif self.desk.is_first and self.desk.shelves:
            await self.ask_first(self.desk.shelves.garage)
        else:
            await self.begin(self.desk.number)

    async def on_wait_over(self) -> None:
        """Ring, and say it in the talk."""
        if self.settings.bell:
            self.bell()
        await self.chat.add(Turn("", (own.remark(own.WAIT_OVER),)))

    # --- the conversation -------------------------------------------------------------

    async def _take_offer(self, words: str) -> None:
        number, rest = own.taken(self.desk.offers, words)
        await self.begin(number, rest, said="" if rest else self._echo(words))

    def entered(self) -> tuple[tuple[str, str], ...]:
        """What was answered so far: each check's title, and the answer."""
        return self.talk.entered() if self.talk else ()

    async def say(self, words: str) -> None:
        """Say something to the conversation."""
        await self._hear(words)

    def leave_job(self) -> tuple[Message, ...]:
        """Leave the job on the screen as it is; what is to be said of it."""
        return self.talk.left() if self.talk else ()

    async def begin(
        self,
        number: int | None,
        words: str = "",
        left: tuple[Message, ...] = (),
        *,
        said: str = "",
    ) -> None:
        """Begin a job, or go on with one, in place of that on the screen."""
        try:
            self.talk = self.desk.begin(number)
            messages = self.talk.open()
        except BotError as error:
            self.trouble = str(error)
            self.exit(return_code=1)
            return
        self._hear = self._take_answer
        if words:
            if left:
                await self.chat.add(Turn("", remarks(left)))
            await self._take_answer(words)
            return
        first = own.hello(self.desk.remark) if number is None else ()
        await self._answer(said, (*left, *messages), first)

    async def _take_answer(self, words: str) -> None:
        assert self.talk is not None
        said, before, was_at = self._echo(words), self.talk.job, self.talk.on_table
        if self.talk.asks_for_another(words):
            await self.begin(None, said=said, left=self.talk.left())
            return
        try:
            messages = self.talk.hear(words)
        except BotError as error:
            messages = (Say(f"{error}."),)
        if self.talk.job is before:
            await self._answer_aside(said, messages)
        else:
            await self._answer(said, messages, goes_on=was_at)

    async def _answer(
        self,
        said: str,
        messages: tuple[Message, ...],
        first: tuple[Part, ...] = (),
        goes_on: object = None,
    ) -> None:
        """Put everything in its place; a step that goes on stays where it is."""
        assert self.talk is not None
        asked = question(messages) or self.question
        if self.talk.is_over:
            asked, self._hear = own.AFTER, self._take_next
        told, laid = remarks(messages), matter(messages)
        if laid is None and goes_on != self.talk.on_table:
            laid = Matter(parts=(*first, *told))
        await self._show(Turn(said, told, parts(messages)), asked, laid)

    async def _answer_aside(self, said: str, messages: tuple[Message, ...]) -> None:
        """Answer what moves nothing; if it is long, over the step."""
        told = tuple(parts(messages))
        await self._show(Turn(said, remarks(messages), told), question(messages))
        if is_long(messages):
            await self._cover(told)

    async def _take_next(self, words: str) -> None:
        """What comes after a closed job: another one, or leaving."""
        if words == "1":
            await self.begin(None, said=self._echo(words))
        elif words == "2" or words.lower() in phrases.DISSENT:
            self._leave()
        elif len(words.split()) >= ENOUGH_WORDS:
            await self.begin(None, words)
        else:
            self.tell("Press 1 or 2, or say what is wrong now.")

    async def _show(
        self,
        turn: Turn | None,
        asked: Question | None,
        laid: Matter | None = None,
    ) -> None:
        with self.batch_update():
            if asked is not None:
                self.question = asked
            if self.talk:
                for place, tells in _TELLING:
                    self.query_one(place, Static).update(tells(self.talk))
                self.query_one("#side Leaf", Leaf).change(side(self.talk))
            if turn:
                await self.chat.add(turn)
            if laid:
                await self.board.lay(laid)
            elif self.board.is_covered:
                await self.board.uncover()
            await self.answers.ask(self.question)
            self.box.await_answer(self.question)
        due = self.question.due if self.question else ""
        self.query_one(Wait).await_moment(self.talk, due)
        self._tell()
        self.call_after_refresh(self.share)
        self.set_timer(SLICE_S, self._prepare)

    async def _cover(self, parts: tuple[Part, ...]) -> None:
        """Lay something over the step till Enter takes it away."""
        await self.board.cover(parts)
        self.call_after_refresh(self.share)
        self._tell()

    async def _uncover(self) -> None:
        await self.board.uncover()
        self.call_after_refresh(self.share)
        self._tell()

    def _tell(self) -> None:
        """Say above the box what Enter would do."""
        typed, must_read = self.box.value.strip(), not self.board.is_read
        does = own.does(self.asked(typed), typed, must_read=must_read)
        if self.board.is_covered and not typed:
            does = own.COVERED
        self.says.tell(does)

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
        self.tell("")
        if self.box.is_guarded:
            return
        act = self.menu.act(picked.key)
        if act:
            await self.action_menu()
            await act()
        elif self.is_away:
            await self.take_away(picked.key)
        elif self._is_unread(picked.key):
            self.board.sheet.turn_page(1)
        else:
            await self._hear(picked.key)

    async def on_input_submitted(self, typed: Input.Submitted) -> None:
        """Take what was typed."""
        words = " ".join(clean(typed.value).split())
        if self.finder.is_on:
            self.find(words)
            return
        act = self.menu.act(words)
        if self.menu.is_open:
            await self._close_menu()
        self.show_talk(False)
        if act:
            await act()
        elif words.lower() in phrases.EOF:
            self._leave()
        elif self.is_away:
            await self.take_away(words)
        elif self._is_unread(words):
            self.box.value = ""
            self.board.sheet.turn_page(1)
        else:
            await self._hear(words)

    def _is_unread(self, words: str) -> bool:
        """Whether this picks an answer below a danger that was not on the screen."""
        options = self.question.options if self.question else ()
        return not self.board.is_read and any(o.key == words for o in options)

    async def on_box_read_on(self) -> None:
        """Turn the page; at its end say what can be done."""
        if self.finder.is_on:
            self.find()
        elif self.menu.is_open:
            await self._close_menu()
        elif self.is_talking:
            self.show_talk(False)
        elif not self.board.sheet.is_at_end:
            self.board.sheet.turn_page(1)
        elif self.board.is_covered:
            await self._uncover()
        else:
            self.tell(own.NOTHING_TYPED)

    async def on_input_changed(self, changed: Input.Changed) -> None:
        """Show which answer Enter would take."""
        if self.finder.is_on:
            return
        if changed.value:
            self.tell("")
        if self.is_away:
            await self.type_away(changed.value.strip())
        self.answers.light(changed.value.strip())
        self._tell()

    def on_sheet_moved(self) -> None:
        """What Enter does may be another thing now."""
        super().on_sheet_moved()
        self._tell()

    async def action_keys(self) -> None:
        """What the keys do, over the step."""
        await self._cover((own.keys(),))

    def action_undo(self) -> None:
        """Choose taking back, which Enter takes."""
        if self.question and self.question.label(BACK.mark):
            self.box.choose(BACK.mark)
        else:
            self.tell(own.NO_UNDO)

    def action_repaint(self) -> None:
        """Draw everything anew."""
        self._repaint()

    # --- the menu, and leaving --------------------------------------------------------

    async def action_menu(self) -> None:
        """Open the menu, or close it; from a place beyond the job, come back."""
        self.tell("")
        if self.finder.is_on:
            self.end_search()
            return
        if self.is_away:
            await self.come_back()
            return
        if self.menu.is_open:
            await self._close_menu()
            return
        items = [("Go on", self._go_on)]
        if self.talk and not self.talk.is_over:
            items.append(("Pause the job and leave", self._pause))
        items.append(("Look up jobs, pages, sums, the truck", self.action_start))
        items.append(("All of the talk", self._all_talk))
        items.append(("What the keys do", self.action_keys))
        items.append(("Leave; all that was said is kept", self.action_quit))
        self._draft = self.box.value
        asked = await self.menu.open(*items)
        self.box.await_answer(asked)
        self.says.tell(own.does(asked, "", must_read=False))

    async def _close_menu(self) -> None:
        await self.menu.close()
        self.box.await_answer(self.question)
        self.box.value = self._draft
        self.box.action_end()
        self._tell()

    async def _go_on(self) -> None:
        """Nothing to do: the menu is closed."""

    async def _all_talk(self) -> None:
        self.show_talk(True)

    async def _pause(self) -> None:
        assert self.talk is not None
        try:
            self.talk.pause()
        except BotError as error:
            self.tell(f"{error}.")
            return
        self._leave()

    async def action_quit(self) -> None:
        """Leave; the job stays where it is."""
        self._leave()

    def action_help_quit(self) -> None:
        """Say how to leave; the second time leave."""
        if self.says.note == own.LEAVING:
            self._leave()
        else:
            self.tell(own.LEAVING)

    def _leave(self) -> None:
        self.exit(return_code=0)


_TELLING = (("#standing", standing), ("#reason", reason), ("#sure", sure))
"""The lines that tell how the job stands, by their places."""
