"""Run the transcript and the table of moves in the README again: they tell the truth.

    python tools/transcript.py            print it as it comes out now
    python tools/transcript.py --write    put that into README.md

The lines that begin with `> ` in the README's first block of kind `text` are typed into
a fresh store on the project's own knowledge base; everything else is what chock says.
"""

import argparse
import re
import shutil
import tempfile
from pathlib import Path

from bot.cli.lines import lines
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.store.journal import Journal
from bot.talk.table import markdown

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
BLOCK = re.compile(r"```text\n(.*?)```", re.DOTALL)
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
        README.write_text(text.replace(moves_of(text), f"{markdown()}\n", 1))
    else:
        print(now, end="")


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
