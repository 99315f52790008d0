"""`chock` on a real terminal of its own; what it writes there, byte for byte."""

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterable
from pathlib import Path

CODE = "from bot.cli.main import run; run()"
QUIET_S = 0.35
LONGEST_S = 30.0

_STRING = re.compile(r"\x1b[\]PX^_][^\x07\x1b]*(?:\x07|\x1b\\)?|[\x9d\x90\x98\x9e\x9f]")
_CSI = re.compile(r"\x1b\[([<-?]?)([0-9;:]*)([ -/]*[@-~])")


def shown(
    kb: Path, home: Path, typed: Iterable[bytes], size: tuple[int, int] = (40, 120)
) -> str:
    """All that a session writes while some keys are pressed, until it is left."""
    outer, inner = pty.openpty()
    fcntl.ioctl(inner, termios.TIOCSWINSZ, struct.pack("HHHH", *size, 0, 0))
    run = subprocess.Popen(
        [sys.executable, "-c", CODE, "--kb", str(kb), "--home", str(home)],
        stdin=inner,
        stdout=inner,
        stderr=inner,
        start_new_session=True,
        env={**os.environ, "TERM": "xterm-256color", "PYTHONUTF8": "1"},
    )
    os.close(inner)
    try:
        said = _until_quiet(outer, first=True)
        for keys in (*typed, *[b"\x03"] * 99):
            if run.poll() is not None:
                break
            os.write(outer, keys)
            said += _until_quiet(outer)
        said += _until_quiet(outer)
        run.wait(timeout=LONGEST_S)
    finally:
        run.kill()
        run.wait()
        os.close(outer)
    return said.decode("utf-8", "surrogateescape")


def _until_quiet(outer: int, *, first: bool = False) -> bytes:
    """What comes until nothing has come for a while; the first screen is waited for."""
    said, until = b"", time.monotonic() + LONGEST_S
    while time.monotonic() < until:
        wait = LONGEST_S if first and b"\x1b[?1049h" not in said else QUIET_S
        if not select.select([outer], [], [], wait)[0]:
            break
        try:
            more = os.read(outer, 65_536)
        except OSError:  # the other end is closed
            break
        if not more:
            break
        said += more
    return said


def strings(text: str) -> set[str]:
    """The titles, clipboards, links and other strings that a terminal is given."""
    return set(_STRING.findall(text))


def orders(text: str) -> set[str]:
    """What a terminal is bidden; colours and places of the cursor apart."""
    bidden = {f"{p}{n}{end}" for p, n, end in _CSI.findall(text) if end not in "mH"}
    rest = _CSI.sub("", _STRING.sub("", text))
    return bidden | set(re.findall(r"\x1b.?", rest))


def letters(text: str) -> str:
    """What is left of a session's writing when all orders are taken out."""
    return re.sub(r"\x1b.?", "", _CSI.sub("", _STRING.sub("", text)))
