"""The answer box. A key chooses, Enter takes; going on typing turns it into words."""

from collections.abc import Callable, Iterable
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import Input

from bot.talk.clean import clean
from bot.tui.pages import SEARCHED, Question

GUARD_S = 0.3
"""A key this soon after a new question is a double press of a gloved hand (ours)."""

MOST_TYPED = 1_000


class Box(Input):
    """Where everything is typed; it never gives up the focus."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", show=False),
        Binding("down", "step(1)", show=False),
        Binding("home", "edge(-1)", show=False),
        Binding("end", "edge(1)", show=False),
        Binding("ctrl+up", "earlier(-1)", show=False),
        Binding("ctrl+down", "earlier(1)", show=False),
    ]

    class ReadOn(Message):
        """Enter was pressed with nothing typed."""

    class Edge(Message):
        """The first line of what is read is wanted (-1), or the last (1)."""

        def __init__(self, step: int) -> None:
            self.step = step
            super().__init__()

    def __init__(
        self,
        clock: Callable[[], float],
        beside: Callable[[str, int], str | None] = lambda *_: None,
    ) -> None:
        """A box that tells double presses by a clock; `beside` is the next key."""
        super().__init__(
            id="box", compact=True, select_on_focus=False, max_length=MOST_TYPED
        )
        self.cursor_blink = False
        self._clock = clock
        self._beside = beside
        self._since = 0.0
        self._offered: frozenset[str] = frozenset()
        self._said: list[str] = []
        self._at = 0

    def await_answer(self, question: Question | None) -> None:
        """Be ready for a new question; what was typed is gone."""
        self.value = ""
        self.take_keys(question)

    def take_keys(self, question: Question | None) -> None:
        """Know the keys of a question, to tell a double press by."""
        offered = (*question.options, *question.marks) if question else ()
        self._offered = frozenset(option.key for option in offered)
        self._since = self._clock()

    @property
    def is_guarded(self) -> bool:
        """Whether a pick now may be a double press."""
        return self._clock() - self._since < GUARD_S

    async def _on_key(self, event: events.Key) -> None:
        key = event.character or ""
        if self.value or not (self.is_guarded and key in self._offered):
            await super()._on_key(event)
            return
        event.stop()
        event.prevent_default()

    def _on_paste(self, event: events.Paste) -> None:
        """Take all lines of a paste as one, without what a terminal would obey."""
        words = " ".join(clean(event.text, MOST_TYPED).split())
        self.insert_text_at_cursor(words)
        event.stop()
        event.prevent_default()

    async def action_submit(self) -> None:
        """Send what is typed; an empty box means: read on."""
        if not self.value.strip():
            self.post_message(self.ReadOn())
            return
        self.remember([self.value])
        await super().action_submit()

    def remember(self, words: Iterable[str]) -> None:
        """Keep what was typed for the arrow keys."""
        self._said = [*self._said, *words][-100:]
        self._at = len(self._said)

    @property
    def is_choosing(self) -> bool:
        """Whether what is typed is nothing, the key of an answer, or searched for."""
        searched = any(key.startswith(SEARCHED) for key in self._offered)
        return not self.value or self.value in self._offered or searched

    def action_step(self, step: int) -> None:
        """Choose the next answer; amid words, or without answers, words said before."""
        key = self._beside(self.value, step)
        if self._offered and self.is_choosing and key:
            self.choose(key)
        else:
            self.action_earlier(step)

    def action_edge(self, step: int) -> None:
        """To the ends of what is typed; of what is read, where nothing is."""
        if not self.value:
            self.post_message(self.Edge(step))
        elif step < 0:
            self.action_home()
        else:
            self.action_end()

    def choose(self, key: str) -> None:
        """Put the key of an answer where it can be taken."""
        self.value = key
        self.cursor_position = len(key)

    def action_earlier(self, step: int) -> None:
        """Bring back what was typed before, or after that."""
        self._at = max(0, min(len(self._said), self._at + step))
        self.value = self._said[self._at] if self._at < len(self._said) else ""
        self.cursor_position = len(self.value)
