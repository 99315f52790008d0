"""Random walks over the screen: it never locks, and nothing acts before Enter.

    python tools/screenwalk.py [--walks 500] [--first SEED] [--kb kb] [--json FILE]

Each step types a line, presses keys, goes away and back, or changes the size; after it
an answer must be possible: all of a danger can be read, a row can be chosen and is lit,
and the line above the box says that Enter takes it.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import random
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from screenshots import desk

from bot.tui.cab import Cab
from bot.tui.leaves import Row

if TYPE_CHECKING:
    from textual.pilot import Pilot

    from bot.tui.frame import Desk

SIZES = ((120, 40), (100, 30), (80, 24), (60, 22), (40, 20), (40, 14))
LINES = (
    "one wheel is hot and stinks",
    "the park brake will not let go",
    "28 volts now with the lamps on, all good",
    "1 tyre only, the rear left one",
    "1.1 bar in the minute",
    "2 of them hiss",
    "0 pressure on the front needle",
    "> 5 bar I would say",
    "no brakes, pedal goes to the floor",
    "yes",
    "I can't tell",
    "another way",
    "why",
    "suspicions",
    "3",
)
KEYS = ("f1", "f2", "f3", "escape", "ctrl+z", "up", "down", "pageup", "pagedown")
STEPS = 12
MOST_PAGES = 60
"""So often Enter may be pressed until a danger is read, at the smallest size."""


async def settle(cab: Cab, pilot: Pilot[None]) -> str:
    """Back to the job, everything read; what went wrong, or ""."""
    for _ in range(10):
        if not (cab.menu.is_open or cab.is_away):
            break
        await pilot.press("escape")
    else:
        return "no way back to the job"
    cab.box.value = ""
    await pilot.pause()
    for _ in range(MOST_PAGES):
        if cab.board.is_read and not cab.board.is_covered:
            return ""
        await pilot.press("enter")
        await pilot.pause()
    return "the step is never read"


async def choose(cab: Cab, pilot: Pilot[None], key: str) -> str:
    """Choose a row, by its key; what went wrong, or ""."""
    talk = cab.talk
    before = talk.job if talk else None
    cab.box.value = key
    await pilot.pause()
    lit = [row.key for row in cab.query(".lit").results(Row)]
    if lit != [key]:
        return f"row {key} is not lit"
    if f"Enter takes {key}" not in str(cab.says.render()):
        return "the line above the box does not say it"
    if talk and talk.job is not before:
        return "it acted before Enter"
    return ""


async def walk(seed: int, held: Desk, steps: int = STEPS) -> str:
    """One walk; what went wrong, or ""."""
    lots = random.Random(seed)
    cab = Cab(held)
    async with cab.run_test(size=lots.choice(SIZES)) as pilot:
        await pilot.pause()
        for _ in range(steps):
            await _step(cab, pilot, lots)
            if not cab.is_running:
                return ""
            wrong = await settle(cab, pilot)
            rows = cab.question.options if cab.question else ()
            if rows and not wrong:
                key = lots.choice(rows).key
                wrong = await choose(cab, pilot, key)
                if not wrong and lots.random() < 0.6:
                    await pilot.press("enter")
                    await pilot.pause()
            if wrong:
                return f"{wrong}; {cab.size}, {cab.question}"
    return ""


async def _step(cab: Cab, pilot: Pilot[None], lots: random.Random) -> None:
    turn = lots.random()
    if turn < 0.3:
        await pilot.resize_terminal(*lots.choice(SIZES))
    elif turn < 0.6:
        await pilot.press(*lots.choices(KEYS, k=lots.choice((1, 2, 4))))
    else:
        await settle(cab, pilot)
        cab.box.value = lots.choice(LINES)
        await pilot.pause()
        await pilot.press("enter")
    await pilot.pause()


def main() -> None:
    """Walk, count, print."""
    parser = argparse.ArgumentParser(description="Random walks over the screen.")
    parser.add_argument("--walks", type=int, default=500)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--kb", type=Path, default=Path("kb"))
    parser.add_argument("--json", type=Path)
    given = parser.parse_args()
    wrong: Counter[str] = Counter()
    index = tempfile.mkdtemp(prefix="chock-walks-")
    for seed in range(given.first, given.first + given.walks):
        with tempfile.TemporaryDirectory() as home:
            told = asyncio.run(walk(seed, desk(given.kb, Path(home), index)))
        if told:
            wrong[told.partition(";")[0]] += 1
            print(f"seed {seed}: {told}", file=sys.stderr)
    figures = {"walks": given.walks, "wrong": sum(wrong.values()), **wrong}
    print("\n".join(f"{name:40} {many}" for name, many in figures.items()))
    if given.json:
        given.json.write_text(json.dumps(figures, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
