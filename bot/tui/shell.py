"""An application that leaves the terminal as it found it, whatever happens."""

import asyncio
import codecs
import os
import signal
import sys
import traceback
from abc import abstractmethod
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from rich.console import Console
from textual.app import App
from textual.filter import LineFilter

from bot.tui.letters import PlainLetters
from bot.tui.themes import THEMES

if sys.platform != "win32":
    from textual.drivers import linux_driver

CRASHED = 70
"""Exit status after a mistake of ours; EX_SOFTWARE of sysexits.h (from memory)."""


def _forgiving(name: str) -> Callable[[], codecs.IncrementalDecoder]:
    """A reader of what is typed that makes marks of what is no text."""
    return partial(codecs.getincrementaldecoder(name), "replace")


PLAIN = "plain"
"""The theme of the terminal's own colours."""


def _has_few_colours() -> bool:
    """Whether the terminal has sixteen colours, whose contrast only it knows."""
    console = Console(file=sys.__stderr__)
    return console.is_terminal and console.color_system == "standard"


class Shell(App[None]):
    """Colours, stillness, signals, coming back from a stop, and crashes."""

    TITLE = "chock"

    def __init__(self, theme: str, crash_file: Path) -> None:
        is_plain = "NO_COLOR" in os.environ or _has_few_colours()
        super().__init__(ansi_color=True if is_plain else None)
        if sys.platform != "win32":  # textual's own would end on a key in Latin-1
            vars(linux_driver)["getincrementaldecoder"] = _forgiving
        self.animation_level = "none"
        self.trouble = ""
        self._crash_file = crash_file
        self._letters = PlainLetters(enabled=False)
        for known in THEMES.values():
            self.register_theme(known)
        self.theme = PLAIN if is_plain else theme

    def draw_plain(self, wanted: bool) -> None:
        """Draw lines and signs in plain letters from now on, or as they are."""
        self._letters.enabled = wanted
        if self.is_running:
            self.refresh_css(animate=False)

    def copy_to_clipboard(self, text: str) -> None:
        """Hand text to the terminal's clipboard, and say so."""
        super().copy_to_clipboard(text)
        self.tell(f"Copied: {len(text)} letters, if your terminal lets them out.")

    @abstractmethod
    def tell(self, words: str) -> None:
        """Say some words of the screen's own till the next key."""

    def get_line_filters(self) -> Sequence[LineFilter]:
        """What every drawn line goes through."""
        return [*super().get_line_filters(), *[self._letters] * self._letters.enabled]

    async def on_mount(self) -> None:
        """Be ready to be stopped, woken and ended from outside."""
        self.app_resume_signal.subscribe(self, lambda _: self._repaint())
        if self.is_headless or sys.platform == "win32":
            return
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGHUP):
            loop.add_signal_handler(number, self._end, number)

    def _repaint(self) -> None:
        self.refresh(layout=True)

    def _end(self, number: int) -> None:
        self.exit(return_code=128 + number)

    def _handle_exception(self, error: Exception) -> None:
        """One plain line for the person, the whole trace for a maintainer."""
        if self.is_headless:
            super()._handle_exception(error)
            return
        self.trouble = "chock stopped by a mistake of its own; every answer is saved"
        try:
            with self._crash_file.open("a", encoding="utf-8") as file:
                traceback.print_exception(error, file=file)
            self.trouble += f", what went wrong is in '{self._crash_file}'"
        except OSError:
            pass
        self.exit(return_code=CRASHED)
