"""Whether answers tell neighbours apart: `python tools/neighbours.py [--kb kb]`.

A page and one of its look-alikes are held equally likely, and a cause of either is
drawn. chock proposes; its check is answered as a truck with that cause would, by the
page's own table, or on the other page as a truck that has none of its causes. An answer
that leads to the other page leads there. Prints the share of cases in which the right
page leads after one, two and three answers, and those that it did not lead in. Cases
are drawn by seed; each takes seconds, for two whole pages are planned over.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from random import Random
from statistics import mean
from typing import TYPE_CHECKING, NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bot.cards.read import read_card
from bot.diagnose.belief import Heard, believe, prior
from bot.diagnose.case import Case
from bot.diagnose.evidence import table_of
from bot.diagnose.learning import NO_OUTCOMES
from bot.diagnose.planner import Action
from bot.diagnose.problem import Open, propose
from bot.model.card import Card

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bot.model.card import Check

ANSWERS, CASES = 3, 200
SEED = 11


class Pair(NamedTuple):
    """A page, and another that its look-alikes name."""

    right: Card
    other: Card


def pairs(cards: dict[str, Card]) -> Iterator[Pair]:
    """Each page with each of its look-alikes that is a page, either the right one."""
    met = {
        frozenset((card.id, like.card))
        for card in cards.values()
        for like in card.look_alikes
        if like.card in cards and like.card != card.id
    }
    for one, other in sorted(map(sorted, met)):
        yield Pair(cards[one], cards[other])
        yield Pair(cards[other], cards[one])


def led(pair: Pair, draw: Random) -> list[bool]:
    """Whether the right page leads after one answer, two, and so on."""
    truth = draw.randrange(len(pair.right.causes))
    cards = tuple(draw.sample(pair, 2))
    case = Case(cards, (0.5, 0.5))
    start = prior(case, lambda _: NO_OUTCOMES)
    heard: list[Heard] = []
    leads: list[bool] = []
    sent = ""
    while len(leads) < ANSWERS:
        belief = believe(case, start, heard)
        step = propose(case, belief, _open(cards, heard))
        card = next((c for c in cards if c.id == step.card), None)
        check = card.check(step.step) if card else None
        is_check = step.proposal.action is Action.CHECK and not sent
        if not (card and check and is_check):  # a repair, or help: no answer comes
            leads.append(leads[-1] if leads else False)
            continue
        row = truth if card is pair.right else -1
        answer = _answered(card, check, row, draw)
        heard.append(Heard(card.id, check.id, check.findings[answer].answer))
        to = check.findings[answer].go_to
        sent = to.target.rpartition("/")[2].removesuffix(".md") if to else ""
        leads.append(_leads(pair, case, heard, sent))
    return leads


def _leads(pair: Pair, case: Case, heard: Sequence[Heard], sent: str) -> bool:
    """Whether more is believed of the right page, or the answer leads there."""
    if sent in (pair.right.id, pair.other.id):
        return sent == pair.right.id
    found = believe(case, prior(case, lambda _: NO_OUTCOMES), heard)

    def of(card: Card) -> float:
        return sum(found.of(cause.id) for cause in card.causes)

    return of(pair.right) > of(pair.other)


def _answered(card: Card, check: Check, truth: int, draw: Random) -> int:
    """The number of the answer that comes; `truth` -1: none of the page's causes."""
    own = [cause.id for cause in card.causes]
    column = [row[truth] for row in table_of(card, check, own)]
    return draw.choices(range(len(column)), column)[0]


def _open(cards: Sequence[Card], heard: Sequence[Heard]) -> Open:
    asked = {(h.card, h.check) for h in heard}
    facts = {
        check.needs.fact
        for card in cards
        for check in card.checks
        if (card.id, check.id) in asked
    } - {""}
    checks = tuple(
        (card, check)
        for card in cards
        for check in card.checks
        if (card.id, check.id) not in asked and check.needs.fact not in facts
    )
    return Open(checks, tuple((card, r) for card in cards for r in card.repairs))


def main() -> int:
    """Walk the pairs and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--kb", type=Path, default=Path("kb"))
    parser.add_argument("--cases", type=int, default=CASES)
    asked = parser.parse_args()
    read = (
        read_card(path.read_text(encoding="utf-8"), str(path))
        for path in sorted(asked.kb.glob("cards/*/*.md"))
    )
    cards = {c.id: c for c in read if isinstance(c, Card) and not c.is_stub}
    every, draw, led_to = [*pairs(cards)], Random(SEED), []
    for nth in range(asked.cases):
        pair = draw.choice(every)
        led_to.append((pair, led(pair, Random(f"{SEED} {nth}"))))
    print(f"{len(every)} pairs, {len(led_to)} cases")
    for n in range(ANSWERS):
        share = mean(leads[n] for _, leads in led_to)
        print(f"right page leads after {n + 1}: {share:.3f}")
    for pair, leads in led_to:
        if not leads[-1]:
            print(f"  not: {pair.right.id}, beside {pair.other.id}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
