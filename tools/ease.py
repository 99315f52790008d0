"""How easily the pages read: `python tools/ease.py [--kb kb]`.

Of what a page tells the reader to do (the steps of checks, repairs, proof and stop
rules), words a sentence and Flesch's reading ease, 100 and more being easiest, as the
library textstat counts it (before 0.7.5, which fetches a list of words). Prints the
whole and the ten hardest pages by each.
"""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path
from statistics import mean, median
from typing import TYPE_CHECKING, NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bot.cards.lesser import read_procedure
from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.model.card import Card, Caution
from bot.model.marked import items, runs
from bot.model.pages import Procedure
from bot.model.rule import StopRule

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from bot.model.card import Block

WORST = 10
LONG = 20
"""Words of a sentence that is hard to keep in mind with both hands busy. Our choice."""


class Ease(NamedTuple):
    """How a page reads: words a sentence, share of long ones, reading ease."""

    page: str
    words: float
    long: float
    ease: float


def ease(page: str, texts: Iterable[str]) -> Ease:
    """How some instructions read."""
    import textstat

    said = [s for text in texts for s in sentences(text)]
    counts = [len(s.split()) for s in said]
    return Ease(
        page,
        mean(counts),
        sum(n > LONG for n in counts) / len(counts),
        textstat.flesch_reading_ease(" ".join(said)),
    )


def sentences(text: str) -> Iterator[str]:
    """The sentences of a line of running text, without its marks."""
    for _, line in items(text):
        plain = "".join(run.text for run in runs(line))
        for said in re.split(r"(?<=[.!?])\s+", plain):
            if said:
                yield said if said[-1] in ".!?" else f"{said}."


def _of_blocks(blocks: Iterable[Block]) -> Iterator[str]:
    for block in blocks:
        if not isinstance(block, Caution) and not block.text.startswith(("```", "!")):
            yield block.text


def instructions(held: Card | Procedure | StopRule) -> Iterator[str]:
    """What the page tells the reader to do."""
    if isinstance(held, StopRule):
        yield from held.do_now
        return
    if isinstance(held, Procedure):
        bodies = [step.body for step in held.steps]
    else:
        bodies = [check.body for check in held.checks]
        bodies += [repair.body for repair in held.repairs] + [held.proof.body]
    for body in bodies:
        yield from _of_blocks(body)


def main() -> int:
    """Read the pages and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--kb", type=Path, default=Path("kb"))
    kb = parser.parse_args().kb
    told = []
    for pattern, read in (
        ("cards/*/*.md", read_card),
        ("procedures/*.md", read_procedure),
        ("stop-rules/*.md", read_rule),
    ):
        for path in sorted(kb.glob(pattern)):
            held = read(path.read_text(encoding="utf-8"), str(path))
            if isinstance(held, Card) and held.is_stub:
                continue
            if isinstance(held, Card | Procedure | StopRule):
                told.append(ease(path.stem, instructions(held)))
    print(f"{len(told)} pages")
    print(f"words a sentence: mean {mean(row.words for row in told):.1f}")
    print(f"sentences over {LONG} words: {mean(row.long for row in told):.3f}")
    print(f"reading ease: median {median(row.ease for row in told):.0f}")
    print("hardest by reading ease, and longest sentences")
    by_ease = sorted(told, key=lambda row: row.ease)[:WORST]
    by_words = sorted(told, key=lambda row: -row.words)[:WORST]
    for one, other in zip(by_ease, by_words, strict=True):
        print(
            f"  {one.ease:4.0f} {one.page:28} {other.words:5.1f} words "
            f"{other.long:4.0%} long  {other.page}"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
