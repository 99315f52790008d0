"""Pictures of the chat screen for a maintainer to look at, at every size and theme.

    python3 tools/screenshots.py [DIALOGUE] [--out FOLDER] [--kb DIR] [--last]

DIALOGUE is a text file with one line for each thing typed; without one a short job is
talked through. One SVG is written for each step, and a PNG beside it where cairosvg is
installed. --last writes only the last step.
"""

import argparse
import asyncio
import importlib.util
import itertools
import tempfile
from pathlib import Path

from bot.desk.browse import Shelves
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.store.journal import Journal
from bot.tui.cab import Cab
from bot.tui.frame import Desk

KB = Path(__file__).parent.parent / "kb"
SIZES = ((120, 40), (80, 24), (40, 20))
THEMES = ("night", "sun")
DIALOGUE = ("one tyre goes down overnight, hissing at the hub", "1", "2", "2", "2", "*")


async def pictures(said: list[str], kb: Path, out: Path, *, last: bool) -> None:
    """Write the pictures of one dialogue at all sizes in all themes."""
    index = tempfile.mkdtemp(prefix="chock-pictures-")
    for (width, height), theme in itertools.product(SIZES, THEMES):
        name = f"{width}x{height}-{theme}"
        with tempfile.TemporaryDirectory() as home:
            cab = Cab(desk(kb, Path(home), index), theme)
            async with cab.run_test(size=(width, height)) as pilot:
                await pilot.pause()
                for step, words in enumerate([*said, ""]):
                    if not (last and words):
                        write(cab.export_screenshot(), out / f"{step:02}-{name}.svg")
                    while words and not cab.board.is_read:
                        await pilot.press("enter")
                    cab.box.value = words
                    await pilot.press(*(["enter"] if words else []))
                    await pilot.pause()


def desk(kb: Path, home: Path, index: str) -> Desk:
    """A desk of its own, with a clock on which nobody is ever in a hurry."""
    journal = Journal(home)
    library = KbLibrary(str(kb), index, journal)
    seconds = itertools.count()

    def begin(number: int | None) -> Conversation:
        return Conversation(library, journal, lambda: "2026-01-01T08:00:00+00:00")

    return Desk(
        begin,
        home / "crash.txt",
        clock=lambda: float(next(seconds)),
        shelves=Shelves(str(home), journal, library),
    )


def write(svg: str, path: Path) -> None:
    """Write one picture, twice where cairosvg can be had."""
    path.write_text(svg.replace("Fira Code", "DejaVu Sans Mono"), encoding="utf-8")
    if importlib.util.find_spec("cairosvg"):
        picture = str(path.with_suffix(".png"))
        importlib.import_module("cairosvg").svg2png(url=str(path), write_to=picture)


def main() -> None:
    """Read the command line and write the pictures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("dialogue", nargs="?", type=Path)
    parser.add_argument("--out", type=Path, default=Path("screenshots"))
    parser.add_argument("--kb", type=Path, default=KB)
    parser.add_argument("--last", action="store_true")
    asked = parser.parse_args()
    said = list(DIALOGUE)
    if asked.dialogue:
        said = asked.dialogue.read_text(encoding="utf-8").splitlines()
    asked.out.mkdir(parents=True, exist_ok=True)
    asyncio.run(pictures(said, asked.kb, asked.out, last=asked.last))
    print(f"{len(list(asked.out.glob('*.svg')))} pictures in {asked.out}")


if __name__ == "__main__":
    main()
