"""One git command: without a shell, without a prompt, within bounds.

Hooks, remote helpers and changes of ends of lines are switched off for every command,
what it writes is synced, and nothing of git's own variables comes from outside. What a
command may print, bring here and how long it may take is bounded.
"""

import os
import re
import signal
import subprocess
import tempfile
import threading
from collections.abc import Mapping, Sequence
from contextlib import suppress
from functools import cache
from pathlib import Path
from time import monotonic
from types import MappingProxyType
from typing import NamedTuple

from bot.model.place import BotError

LEAST = (2, 38)
"""The oldest git that will do: settings given with a command count in its children."""

SECONDS, SECONDS_AWAY = 120.0, 600.0
"""How long a command may take here, and one that speaks with a remote. Our choice."""

MOST_OUTPUT, MOST_LISTED = 96 * 1024 * 1024, 32 * 1024 * 1024
MOST_FETCHED = 512 * 1024 * 1024
"""More bytes are no knowledge base: a command that brings them is ended."""

_SAFE = (
    "core.hooksPath=/dev/null",
    "protocol.ext.allow=never",
    "protocol.file.allow=always",
    "core.symlinks=false",
    "core.fsync=all",
    "core.fsmonitor=false",
    "core.autocrlf=false",
    "core.quotePath=false",
    "submodule.recurse=false",
    "transfer.fsckObjects=true",
    "fetch.unpackLimit=1",  # so that what is fetched is one file, whose growth is seen
    "core.bigFileThreshold=8m",
    "commit.gpgSign=false",
    "gc.autoDetach=false",
    "maintenance.auto=false",
)
SETTINGS = tuple(part for one in _SAFE for part in ("-c", one))


class GitError(BotError):
    """Git cannot do what is asked of it; nothing was lost."""


class Refused(GitError):  # noqa: N818 - what the other side did, no fault of ours
    """A command ended with an error; its last words are kept."""


@cache
def need_git() -> None:
    """Make sure that there is a git that will do.

    Raises:
        GitError: there is none, or it is too old.
    """
    try:
        said = run(("git", "version"), Path.cwd())
    except OSError:
        raise GitError("git is not installed here; share with packs instead") from None
    found = re.search(rb"([0-9]+)\.([0-9]+)", said)
    version = (int(found[1]), int(found[2])) if found else (0, 0)
    if version < LEAST:
        shown, least = (f"{n[0]}.{n[1]}" for n in (version, LEAST))
        raise GitError(
            f"git {shown} is too old, {least} is needed; share with packs instead"
        )


class Bounds(NamedTuple):
    """How long a command may take, how much it may print, and bring to a folder."""

    seconds: float = SECONDS
    most: int = MOST_OUTPUT
    brings: Path | None = None

    def why(self, since: float) -> str:
        """Why a command that runs since then must end, or ""."""
        if monotonic() - since > self.seconds:
            return f"it took longer than {self.seconds:.0f} s"
        packs = self.brings.glob("tmp_pack_*") if self.brings else ()
        try:
            too_much = any(path.stat().st_size > MOST_FETCHED for path in packs)
        except OSError:  # it has its name by now
            return ""
        return f"it brings more than {MOST_FETCHED >> 20} MiB" if too_much else ""


BOUNDS = Bounds()


def _environment() -> dict[str, str]:
    """What git sees of the world: nothing that begins with its own name."""
    kept = {name: v for name, v in os.environ.items() if not name.startswith("GIT_")}
    return kept | {"GIT_TERMINAL_PROMPT": "0", "LC_ALL": "C", "LANGUAGE": "C"}


def run(
    words: Sequence[str],
    where: Path,
    given: bytes = b"",
    more: Mapping[str, str] = MappingProxyType({}),
    bounds: Bounds = BOUNDS,
) -> bytes:
    """What a command prints; it is ended, with its children, at its bounds."""
    with tempfile.TemporaryFile() as stdin, tempfile.TemporaryFile() as stderr:
        stdin.write(given)
        stdin.seek(0)
        process = subprocess.Popen(
            words,
            cwd=where,
            env={**_environment(), **more},
            stdin=stdin,
            stdout=subprocess.PIPE,
            stderr=stderr,
            start_new_session=True,
        )
        out, why = _read(process, bounds)
        if why:
            raise GitError(f"git was ended: {why}; look at the remote, then try again")
        if process.returncode:
            stderr.seek(0)
            raise Refused(_told(stderr.read(65_536).decode("utf-8", "replace")))
        return out


def _read(process: subprocess.Popen[bytes], bounds: Bounds) -> tuple[bytes, str]:
    """What a process prints until it ends, and why it was ended, if it was."""
    begun, over, why = monotonic(), threading.Event(), [""]

    def watch() -> None:
        while not why[0] and not over.wait(0.2):
            why[0] = bounds.why(begun)
        if why[0]:
            _end(process)

    guard = threading.Thread(target=watch, daemon=True)
    guard.start()
    try:
        assert process.stdout
        with process.stdout as pipe:
            out = pipe.read(bounds.most + 1)
        if len(out) > bounds.most:
            why[0] = f"it printed more than {bounds.most >> 20} MiB"
            _end(process)
        process.wait()
    finally:
        over.set()
        guard.join()
        if process.poll() is None:
            _end(process)
    return out, why[0]


def _end(process: subprocess.Popen[bytes]) -> None:
    """End a process and what it has started."""
    if hasattr(os, "killpg"):
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    else:
        process.kill()


_PLAIN = (
    ("not appear to be a git repo", "there is no git repository; say git init --bare"),
    (
        "dubious ownership",
        "the folder is another user's; let it be yours, or use packs",
    ),
    ("Host key verif", "say ssh to that host once by hand, and look at its key"),
    ("Permission denied", "nothing may be read or written there; ask whose it is"),
    (
        "ead-only file system",
        "nothing can be written there; unlock or change the stick",
    ),
    ("No space left", "the disk is full; make room"),
    ("ould not resolve host", "there is no way to it; look at the network"),
    (".lock': File exists", "git is at work there, or died at it; look, and remove it"),
)
_LABEL = re.compile(r"(?:fatal|error|remote|warning): *")


def _told(stderr: str) -> str:
    """What git complains of, in one line, and what to do."""
    lines = [line.strip() for line in stderr.splitlines() if line.strip()]
    said = next((line for line in reversed(lines) if _LABEL.match(line)), "")
    said = "".join(c for c in _LABEL.sub("", said) if c.isprintable())[:200]
    plain = next((does for sign, does in _PLAIN if sign in stderr), "")
    return f"git says '{said}'; {plain or 'look at the remote, or ask git status'}"
