"""How long the way to the first thing to do is: `python tools/pages.py [--json FILE]`.

For every fault page: minutes of all its checks; words on paper from the title to the
first step; lines in `chock talk` from one of its own signs to the first step, the pick
counted in, where its page is offered first; findings that speak of "the rest". Prints
a row a page, and the medians.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
import tempfile
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from bot.cards.read import read_card
from bot.cli.lines import lines
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.model.card import REST, Card
from bot.paper import sheet
from bot.paper.text import set_text
from bot.store.journal import Journal

WIDTH = 72
STEP = re.compile(r"(?m)^1\. ")


def words_before(card: Card) -> int:
    """The words on paper before the first step of the first check."""
    text = set_text(sheet.page(card))
    checks = text.index("\nCHECKS\n")
    first = STEP.search(text, checks)
    return len(text[: first.start() if first else checks].split())


def lines_before(card: Card, library: KbLibrary, home: Path) -> int | None:
    """Lines shown from a sign of the page to its first step; None if not offered."""
    for number, sign in enumerate(card.signs):
        journal = Journal(home / f"{card.id}-{number}")
        talk = Conversation(library, journal, lambda: "2026-11-30T10:00:00+00:00")
        talk.open()
        shown = list(lines(talk.hear(sign), WIDTH))
        if talk.job.stop or talk.job.doubt or not talk.job.candidates:
            continue
        if talk.job.candidates[0][0] != card.id:
            continue
        shown += lines(talk.hear("1"), WIDTH)
        found = STEP.search("\n".join(shown))
        if talk.job.card == card.id and found:
            return "\n".join(shown)[: found.start()].count("\n") + 1
    return None


def main() -> None:
    """Measure every fault page."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--kb", type=Path, default=ROOT / "kb")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    rows: dict[str, tuple[float, int, int | None, int]] = {}
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        library = KbLibrary(str(asked.kb), folder, Journal(home / "all"))
        for path in sorted(asked.kb.glob("cards/*/*.md")):
            card = read_card(path.read_text(encoding="utf-8"), path.name)
            if isinstance(card, Card) and not card.is_stub:
                minutes = sum(check.needs.time.minutes for check in card.checks)
                findings = [f for check in card.checks for f in check.findings]
                rest = sum(any(b.cause == REST for b in f.bearings) for f in findings)
                way = lines_before(card, library, home)
                rows[card.id] = (minutes, words_before(card), way, rest)
        library.close()
    print(f"{'':30}minutes   words   lines   the rest")
    for name, (minutes, words, way, rest) in rows.items():
        print(f"{name:30}{minutes:7.0f}{words:8}{way or '-':>8}{rest:11}")
    ways = [way for _, _, way, _ in rows.values() if way]
    print(
        f"median {median(m for m, *_ in rows.values()):.0f} minutes, "
        f"{median(w for _, w, *_ in rows.values()):g} words, {median(ways):g} lines; "
        f"{sum(rest for *_, rest in rows.values())} findings speak of the rest"
    )
    if asked.json:
        asked.json.write_text(json.dumps(rows, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
