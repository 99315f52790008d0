"""Two faults at once, simulated: how often it is said, and how often for nothing."""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from figures import SEED

from bot.diagnose.belief import Heard, prior_of
from bot.diagnose.case import Case
from bot.diagnose.evidence import table_of
from bot.diagnose.pairs import together
from bot.diagnose.reasons import two_faults

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.model.card import Card

ANSWERS = 8


def doubles(cards: Sequence[Card], jobs: int) -> dict[str, float]:
    """Shares of jobs in which two faults are spoken of, with one there and with two."""
    found = {}
    for faults in (1, 2):
        said = [_said(card, job, faults) for card in cards for job in range(jobs)]
        name = f"said with {'one fault' if faults == 1 else 'two faults'}"
        found[name] = sum(pair is not None for pair, _ in said) / len(said)
        if faults == 2:
            right = sum(pair == true for pair, true in said) / len(said)
            found["said with two faults, and the right two"] = right
    return found


Pair = frozenset[str]


def _said(card: Card, job: int, faults: int) -> tuple[Pair | None, Pair]:
    """The pair named after some answers to checks drawn at random, and the truth."""
    draw = Random(f"{SEED} {card.id} {job} {faults}")
    case, start = Case((card,), (1.0,)), prior_of(card)
    there: set[int] = set()
    while len(there) < faults:
        there.update(draw.choices(range(len(start.causes)), start.weights[:-1]))
    heard = []
    for check in draw.sample(card.checks, min(ANSWERS, len(card.checks))):
        chances = together(table_of(card, check, start.causes), tuple(sorted(there)))
        (answer,) = draw.choices(check.findings, chances)
        heard.append(Heard(card.id, check.id, answer.answer))
    pair = two_faults(case, start, heard)
    return frozenset(pair) if pair else None, frozenset(start.causes[n] for n in there)
