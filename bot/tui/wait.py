"""The line that counts down to a reading, at every size; it tells when it is due."""

from textual.message import Message
from textual.widgets import Static

from bot.desk.conversation import Conversation
from bot.tui import words as own


class Wait(Static):
    """How long there is to wait; not there while nothing is waited for."""

    class Over(Message):
        """The moment has come."""

    def __init__(self) -> None:
        super().__init__(id="wait", markup=False)
        self._talk: Conversation | None = None
        self._due = ""
        self._told = ""

    def on_mount(self) -> None:
        """Tick once a second."""
        self.set_interval(1.0, self._tick)

    def await_moment(self, talk: Conversation | None, due: str) -> None:
        """Count down to a moment of that job, ISO 8601; "" for none."""
        self._talk, self._due = talk, due
        self._tick()

    def _tick(self) -> None:
        self.set_class(bool(self._talk and self._due), "-shown")
        if not self._talk or not self._due:
            return
        seconds = self._talk.seconds_to(self._due)
        self.update(own.waiting(own.to_go(seconds)))
        if seconds <= 0 and self._told != self._due:
            self._told = self._due
            self.post_message(self.Over())
