"""What outcomes teach, replayed in order of time: rank first, then learn.

Two populations: trucks that fail as the authors think, and trucks that do not (each
cause's share off by a lognormal factor, log sd 1). Hit@1 is the share of all faults
whose cause stands first before any check, in expectation, so no luck is measured.
"""

from __future__ import annotations

import sys
from math import exp
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from figures import SEED, interval

from bot.diagnose.belief import Belief, prior
from bot.diagnose.case import Case
from bot.diagnose.learning import Report, Standing, counts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.model.card import Card

OUTCOMES, MEMBERS = 200, 40
PROVED_SHARE = 0.7
MARKS = (0, 5, 15, 50, 200)
SHIFTS = {"as authored": 0.0, "off by log sd 1": 1.0, "off by log sd 2": 2.0}


def teaching(cards: Sequence[Card], replicates: int) -> dict[str, object]:
    """Hit@1 after so many outcomes on each population, and what a liar can do."""
    found: dict[str, object] = {}
    for name, shift in SHIFTS.items():
        marks: dict[int, list[float]] = {mark: [] for mark in MARKS}
        for card in cards:
            for replicate in range(replicates):
                seed = f"{SEED} {card.id} {replicate} {shift}"
                for mark, hit in _replay(card, seed, shift).items():
                    marks[mark].append(hit)
        figures: dict[str, object] = {
            f"after {mark} outcomes": interval(hits) for mark, hits in marks.items()
        }
        gain = [b - a for a, b in zip(marks[0], marks[OUTCOMES], strict=True)]
        figures["gain"] = interval(gain)
        found[f"hit@1 of the cause, {name}"] = figures
    found["one liar, 100 reports"] = {
        "most that a cause moves": max(_lied(card) for card in cards)
    }
    return found


def _replay(card: Card, seed: str, shift: float) -> dict[int, float]:
    """The expected hit@1 at each mark of one stream of outcomes."""
    draw = Random(seed)
    start = _believed(card, [])
    raw = [p * exp(draw.gauss(0, shift)) for p in start.weights]
    true = [p / sum(raw) for p in raw]
    names = (*start.causes, "")
    told: list[Report] = []
    hits = {}
    for number in range(OUTCOMES + 1):
        if number in MARKS:
            top, _ = _believed(card, told).ranked()[0]
            hits[number] = true[names.index(top)]
        (cause,) = draw.choices(names, true)
        proved = draw.random() < PROVED_SHARE
        standing = Standing.PROVED if proved else Standing.REPORTED
        member = f"member {draw.randrange(MEMBERS)}"
        told.append(Report(cause, standing, 0.0, member))
    return hits


def _believed(card: Card, told: Sequence[Report]) -> Belief:
    return prior(Case((card,), (1.0,)), lambda _: counts(told))


def _lied(card: Card) -> float:
    """The most that one contributor's lies move any cause of a card."""
    before = _believed(card, [])
    most = 0.0
    for cause in before.causes:
        lies = [Report(cause, Standing.PROVED, 0.0, "liar")] * 100
        after = _believed(card, lies)
        most = max(most, *(abs(after.of(c) - before.of(c)) for c in before.causes))
    return most
