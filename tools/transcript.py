"""Run the transcript and the table of moves in the README again: they tell the truth.

    python tools/transcript.py            print it as it comes out now
    python tools/transcript.py --write    put that into README.md

The lines that begin with `> ` in the README's first block of kind `text` are typed into
a fresh store on the project's own knowledge base; everything else is what chock says.
The picture of the screen is what 80 columns by 24 show after the words in the comment
above it. The block below `<!-- club -->` is what several members type, each before his
`$`, and what chock answers; keys and days are made up there, so that it stays the same.
"""

from __future__ import annotations

import argparse
import asyncio
import io
import os
import re
import shlex
import shutil
import tempfile
from contextlib import ExitStack, contextmanager, redirect_stderr, redirect_stdout
from datetime import date
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import patch

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from screenshots import desk

from bot.cli.lines import lines
from bot.cli.main import main as chock
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.store.journal import Journal
from bot.talk.table import markdown
from bot.tui.cab import Cab

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
BLOCK = re.compile(r"```text\n(.*?)```", re.DOTALL)
SCREEN = re.compile(r"<!-- screen: (.*?) -->\n```text\n(.*?)```", re.DOTALL)
CLUB = re.compile(r"<!-- club -->\n```text\n(.*?)```", re.DOTALL)
TYPED = re.compile(
    r"(?P<who>[a-z]+)\$ chock (?P<words>.*?)(?: \| head -(?P<most>\d+))?"
)
DAY = date(2026, 12, 1)
CLOCKS = ("desk.vetting", "desk.packing", "desk.standing", "cli.cards", "cli.sharing")
"""Modules that ask what day it is."""

SIZE = (80, 24)
MOVES = re.compile(r"\| mark \|.*\n(?:\|.*\n)+")
NOW = "2026-11-25T10:00:00+00:00"


def main() -> None:
    """Print or write the transcript."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--write", action="store_true")
    asked = parser.parse_args()
    text = README.read_text()
    now = transcript(block_of(text))
    if asked.write:
        text = text.replace(block_of(text), now, 1)
        found = SCREEN.search(text)
        if found:
            now = screen(screen_of(text)[0])
            text = f"{text[: found.start(2)]}{now}{text[found.end(2) :]}"
        text = text.replace(club_of(text), club(club_of(text)), 1)
        README.write_text(text.replace(moves_of(text), f"{markdown()}\n", 1))
    else:
        print(now, end="")
        print(screen(screen_of(text)[0]), end="")
        print(club(club_of(text)), end="")


def club_of(readme: str) -> str:
    """What members of a club type and read, as the README has it."""
    found = CLUB.search(readme)
    if found is None:
        raise SystemExit("README.md has no block below a line <!-- club -->")
    return found[1]


def club(block: str) -> str:
    """What typing the block's own commands gives now."""
    typed = [found for line in block.splitlines() if (found := TYPED.fullmatch(line))]
    out: list[str] = []
    with _same_every_time(), tempfile.TemporaryDirectory() as folder:
        back = Path.cwd()
        os.chdir(folder)
        try:
            for found in typed:
                out += [found[0], *_answered(found), ""]
        finally:
            os.chdir(back)
    return "\n".join(line.rstrip() for line in out[:-1]) + "\n"


@contextmanager
def _same_every_time() -> Iterator[None]:
    """Keys by their turn, and one day."""
    turns = count(1)

    def key() -> Ed25519PrivateKey:
        return Ed25519PrivateKey.from_private_bytes(bytes([next(turns)]) * 32)

    with ExitStack() as patches:
        patches.enter_context(patch.object(Ed25519PrivateKey, "generate", key))
        for module in CLOCKS:
            patches.enter_context(patch(f"bot.{module}.today", lambda: DAY))
        yield


def _answered(typed: re.Match[str]) -> list[str]:
    """What chock prints to a member's command."""
    said = io.StringIO()
    words = [*shlex.split(typed["words"]), "--home", typed["who"]]
    phrase = io.StringIO("four words of my own\n")
    with redirect_stdout(said), redirect_stderr(said), patch("sys.stdin", phrase):
        chock(words)
    printed = said.getvalue().splitlines()
    return printed[: int(typed["most"])] if typed["most"] else printed


def screen_of(readme: str) -> tuple[tuple[str, ...], str]:
    """What is typed for the picture of the screen, and the picture in the README."""
    found = SCREEN.search(readme)
    if found is None:
        raise SystemExit("README.md has no block below a line <!-- screen: ... -->")
    return tuple(found[1].split(" | ")), found[2]


def screen(said: Sequence[str], index: Path | None = None) -> str:
    """What the screen shows now after those words."""
    with tempfile.TemporaryDirectory() as home:
        made = index or Path(home, "index")
        made.mkdir(exist_ok=True)
        cab = Cab(desk(ROOT / "kb", Path(home), str(made)))
        return asyncio.run(_shown(cab, said))


async def _shown(cab: Cab, said: Sequence[str]) -> str:
    async with cab.run_test(size=SIZE) as pilot:
        await pilot.pause()
        for words in said:
            while not cab.board.is_read:
                await pilot.press("enter")
                await pilot.pause()
            cab.box.value = words
            await pilot.press("enter")
            await pilot.pause()
        strips = cab.screen._compositor.render_strips()
        return "\n".join(strip.text.rstrip() for strip in strips) + "\n"


def block_of(readme: str) -> str:
    """The transcript as the README has it."""
    found = BLOCK.search(readme)
    if found is None:
        raise SystemExit("README.md has no block that begins with ```text")
    return found[1]


def moves_of(readme: str) -> str:
    """The table of moves as the README has it."""
    found = MOVES.search(readme)
    if found is None:
        raise SystemExit("README.md has no table that begins with | mark |")
    return found[0]


def transcript(block: str, index: Path | None = None) -> str:
    """What typing the block's own lines gives now.

    `index` is a folder with an index of the knowledge base that is made already.
    """
    typed = [line[2:] for line in block.splitlines() if line.startswith("> ")]
    first = block.splitlines()[0]
    with tempfile.TemporaryDirectory() as home:
        if index is not None:
            shutil.copytree(index, home, dirs_exist_ok=True)
        journal = Journal(Path(home))
        library = KbLibrary(str(ROOT / "kb"), home, journal)
        talk = Conversation(library, journal, lambda: NOW)
        out = [first, *lines(talk.open())]
        for words in typed:
            out += [f"> {words}", *lines(talk.hear(words))]
    return "\n".join(line.rstrip() for line in out) + "\n"


if __name__ == "__main__":
    main()
