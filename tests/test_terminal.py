"""The screen on a real terminal: signals, deaths; the terminal left sane."""

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from pathlib import Path
from shutil import copy, copytree

import pytest

from bot.job.job import Stage
from bot.store.journal import Journal
from tests.ptys import CODE, QUIET_S

LONGEST_S = 60.0
DRAGS = "one wheel stays on after I take my foot off the brake"
BEGUN, LEFT, CURSOR = b"\x1b[?1049h", b"\x1b[?1049l", b"\x1b[?25h"


class Terminal:
    """chock in a terminal of its own; `seen` is all that it wrote."""

    def __init__(self, kb: Path, home: Path) -> None:
        self.outer, inner = pty.openpty()
        self.seen = b""
        self.resize(24, 80)
        self.was = termios.tcgetattr(inner)
        self.inner = inner
        self.run = subprocess.Popen(
            [sys.executable, "-c", CODE, "--kb", str(kb), "--home", str(home)],
            stdin=inner,
            stdout=inner,
            stderr=inner,
            start_new_session=True,
            env={**os.environ, "TERM": "xterm-256color", "PYTHONUTF8": "1"},
        )

    def resize(self, rows: int, columns: int) -> None:
        size = struct.pack("HHHH", rows, columns, 0, 0)
        fcntl.ioctl(self.outer, termios.TIOCSWINSZ, size)

    def until(self, words: str) -> None:
        """Read on until something that was not yet there is written."""
        until, at = time.monotonic() + LONGEST_S, len(self.seen)
        wanted = "".join(words.split())
        while time.monotonic() < until:
            if wanted in "".join(plain(self.seen[at:]).split()):
                return
            self.read(0.1)
        pytest.fail(f"'{words}' never came; last: {plain(self.seen)[-2000:]}")

    def settle(self) -> None:
        """Read on until nothing has come for a while."""
        before = -1
        while before != len(self.seen):
            before = len(self.seen)
            self.read(QUIET_S)

    def read(self, wait: float) -> None:
        if select.select([self.outer], [], [], wait)[0]:
            try:
                self.seen += os.read(self.outer, 65_536)
            except OSError:  # the other end is closed
                time.sleep(wait)

    def type(self, words: str) -> None:
        """Type as a person does, then Enter."""
        self.settle()
        os.write(self.outer, words.encode())
        self.until("Enter ")  # the line above the box says what it will do
        os.write(self.outer, b"\r")

    def send(self, number: int) -> None:
        self.run.send_signal(number)

    def ended(self) -> int:
        """How it ended, everything read."""
        until = time.monotonic() + LONGEST_S
        while self.run.poll() is None and time.monotonic() < until:
            self.read(0.1)
        for _ in range(5):
            self.read(0.1)
        return self.run.wait(timeout=5)

    def is_stopped(self) -> bool:
        """Whether it waits to be woken; Linux tells it."""
        about = Path(f"/proc/{self.run.pid}/stat").read_text()
        return about.rpartition(")")[2].split()[0] == "T"

    def close(self) -> None:
        self.run.kill()
        self.run.wait()
        os.close(self.outer)
        os.close(self.inner)

    def is_sane(self) -> bool:
        """Whether the terminal is as it was: its modes, its screen, its cursor."""
        tail = self.seen[self.seen.rindex(BEGUN) :]
        return (
            termios.tcgetattr(self.inner) == self.was
            and LEFT in tail
            and (CURSOR in tail)
        )


def plain(data: bytes) -> str:
    text = data.decode("utf-8", "replace")
    return re.sub(r"\x1b(?:\[[0-9;?<=>]*[ -/]*[@-~]|\].*?(?:\x07|\x1b\\)|.)", " ", text)


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory, kb: Path) -> Path:
    """A knowledge base of one page, with all that words and dangers need."""
    held = tmp_path_factory.mktemp("kb")
    copytree(kb / "stop-rules", held / "stop-rules")
    for path in kb.glob("*.yaml"):
        copy(path, held)
    to = held / "cards" / "brakes"
    to.mkdir(parents=True)
    for path in (kb / "cards" / "brakes").glob("brake-drags.*"):
        copy(path, to)
    return held


@pytest.fixture(scope="module")
def ready(small: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store whose index is made and whose first questions are asked."""
    home = tmp_path_factory.mktemp("home")
    (home / "settings.txt").write_text("asked: yes\n")
    window = Terminal(small, home)
    window.until("What is wrong?")
    try:
        window.type("quit")
        assert window.ended() == 0
    finally:
        window.close()
    return home


@pytest.fixture
def window(small: Path, ready: Path, tmp_path: Path) -> Iterator[Terminal]:
    home = tmp_path / "home"
    copytree(ready, home)
    opened = Terminal(small, home)
    try:
        opened.until("What is wrong?")
        yield opened
    finally:
        opened.close()


def stage(tmp_path: Path) -> Stage:
    entry = Journal(tmp_path / "home").entry(1)
    assert entry
    return entry.job.stage


def test_quit_leaves_the_terminal_as_it_was(window: Terminal) -> None:
    window.type("quit")
    assert window.ended() == 0
    assert window.is_sane()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_ended_from_outside_all_is_saved_and_the_terminal_sane(
    window: Terminal, tmp_path: Path, number: int
) -> None:
    window.type(DRAGS)
    window.until("A wheel stays braked")
    window.send(number)
    assert window.ended() == 128 + number
    assert window.is_sane()
    assert stage(tmp_path) is Stage.NARROW


def test_ctrl_c_says_how_to_leave_and_leaves_at_the_second(window: Terminal) -> None:
    os.write(window.outer, b"\x03")
    window.until("To leave press Esc")
    os.write(window.outer, b"\x03")
    assert window.ended() == 0
    assert window.is_sane()


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="Linux tells it")
def test_stopped_and_woken_the_screen_comes_back(window: Terminal) -> None:
    window.type(DRAGS)
    window.until("A wheel stays braked")
    at = len(window.seen)
    window.send(signal.SIGTSTP)
    until = time.monotonic() + LONGEST_S
    while not window.is_stopped() and time.monotonic() < until:
        window.read(0.1)
    window.read(0.1)
    assert LEFT in window.seen[at:]
    window.send(signal.SIGCONT)
    window.until("A wheel stays braked")
    window.type("quit")
    assert window.ended() == 0


def test_killed_it_tells_what_was_known_and_goes_on(
    window: Terminal, small: Path, tmp_path: Path
) -> None:
    window.type(DRAGS)
    window.until("A wheel stays braked")
    window.type("1")
    window.until("Look and smell")
    window.send(signal.SIGKILL)
    window.ended()
    again = Terminal(small, tmp_path / "home")
    try:
        again.until("Go on with an open job?")
        assert "DO NOT MOVE" in plain(again.seen)
        again.type("1")
        again.until("Look and smell")
        again.type("quit")
        assert again.ended() == 0
        assert again.is_sane()
    finally:
        again.close()
