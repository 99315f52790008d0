"""Whether each page leads to its causes: `python tools/walker.py [PAGE...] [--kb kb]`.

For every cause of a fault page all checks are answered as a truck with that cause would
most likely answer them, by the page's own words; then the cause must be believed most.
The same with one check that nobody could tell and another one misread, drawn by seed
some times over. And what chock itself would propose meanwhile: checks, and minutes of
checks, to the first repair that cures the cause. A row a page, then the whole.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path
from random import Random
from statistics import median
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from walks import Walk

from bot.cards.read import read_card
from bot.diagnose.belief import Belief, Heard, Tried, believe
from bot.diagnose.planner import Action
from bot.diagnose.problem import key, propose
from bot.model.card import Card

TIMES = 20
"""So often a cause is walked to with a check untold and one misread."""


class Led(NamedTuple):
    """How a page leads to its causes.

    `lost`: causes that are not believed most when all is answered as they would be;
    `misread`: the share that are with one check untold and one misread; `checks` and
    `minutes` of checks to the repair that cures, medians over the causes.
    """

    page: str
    causes: int
    lost: tuple[str, ...]
    misread: float
    checks: float
    minutes: float


def led(card: Card) -> Led:
    """How a page leads to each of its causes."""
    lost, misread = believed(card)
    walks = [Walk(card, truth, cause.id) for truth, cause in enumerate(card.causes)]
    costs = [to_the_cure(walk, answers(walk)) for walk in walks]
    checks, minutes = (median(each) for each in zip(*costs, strict=True))
    return Led(card.id, len(walks), lost, misread, checks, minutes)


def believed(card: Card, times: int = TIMES) -> tuple[tuple[str, ...], float]:
    """Causes not believed most by their own answers, and the share that is when spoilt.

    Spoilt is one answer that nobody could tell, and another that was misread.
    """
    lost: list[str] = []
    kept: list[bool] = []
    for truth, cause in enumerate(card.causes):
        walk = Walk(card, truth, cause.id)
        told = answers(walk)
        lost += [] if top(walk, told) == cause.id else [cause.id]
        kept += [top(walk, spoilt(walk, told, n)) == cause.id for n in range(times)]
    return tuple(lost), sum(kept) / len(kept)


def answers(walk: Walk) -> list[Heard]:
    """All checks, answered as is likeliest with the true cause."""
    card = walk.card
    told: list[Heard] = []
    for check in card.checks:
        look = next(k for k in walk.work.looks if k.id == key(card, check))
        column = [row[walk.truth] for row in look.table]
        best = max(range(len(column)), key=column.__getitem__)
        told.append(Heard(card.id, check.id, check.findings[best].answer))
    return told


def spoilt(walk: Walk, told: list[Heard], seed: int) -> list[Heard]:
    """The answers without one of them, and with another in place of a second."""
    if len(told) < 2:
        return told
    draw = Random(f"{walk.card.id} {walk.truth} {seed}")
    untold, misread = draw.sample(range(len(told)), 2)
    check = walk.card.check(told[misread].check)
    findings = check.findings if check else ()
    others = [f.answer for f in findings if f.answer != told[misread].answer]
    spoiled = list(told)
    if others:
        spoiled[misread] = replace(told[misread], answer=draw.choice(others))
    del spoiled[untold]
    return spoiled


def top(walk: Walk, told: list[Heard]) -> str:
    """The cause that is believed most after some answers; "" for a tie."""
    belief: Belief = believe(walk.case, walk.start, told, ())
    (first, most), *rest = belief.ranked()
    return "" if rest and rest[0][1] >= most - 1e-9 else first


def to_the_cure(walk: Walk, told: list[Heard]) -> tuple[int, float]:
    """Checks, and minutes of checks, until a repair is proposed that cures."""
    card, by_check = walk.card, {heard.check: heard for heard in told}
    cause = card.causes[walk.truth]
    spent = 0.0
    while True:
        step = propose(walk.case, walk.belief(), walk.open())
        check = card.check(step.step)
        if step.proposal.action is Action.CHECK and check:
            walk.heard.append(by_check[check.id])
            spent += check.needs.time.minutes
        elif step.proposal.action is Action.REPAIR and not cause.cured_by(step.step):
            walk.failed.append(Tried(card.id, step.step))
        else:
            return len(walk.heard), spent


def main() -> int:
    """Walk the pages and print; 1 where a page does not lead to a cause of its own."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("pages", nargs="*", help="ids; all where none is named")
    parser.add_argument("--kb", type=Path, default=Path("kb"))
    asked = parser.parse_args()
    found = []
    for path in sorted(asked.kb.glob("cards/*/*.md")):
        card = read_card(path.read_text(encoding="utf-8"), str(path))
        chosen = not asked.pages or path.stem in asked.pages
        if isinstance(card, Card) and not card.is_stub and chosen:
            found.append(led(card))
    print(f"{'':28} causes  misread  checks  minutes")
    for row in found:
        print(
            f"{row.page:28} {row.causes:6} {row.misread:8.2f} {row.checks:7g} "
            f"{row.minutes:8g}  {'; '.join(f'not led to: {c}' for c in row.lost)}"
        )
    causes = sum(row.causes for row in found)
    lost = sum(len(row.lost) for row in found)
    misread = sum(row.misread * row.causes for row in found) / max(1, causes)
    print(f"{len(found)} pages, {causes} causes: {causes - lost} led to; {misread:.2f}")
    return 1 if lost else 0


if __name__ == "__main__":
    sys.exit(main())
