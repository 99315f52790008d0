"""What invented devices can do: `python tools/poison.py [--kb kb] [--json FILE]`.

On every page with causes, and for every cause but the honest one, 200 invented devices
say that cause beside 5 honest ones who say what the author thinks commonest. All goes
the whole way: lines, tally, belief. Counted are the pages on which the lie comes to
stand on top: where the author thinks it rarer that must be none, where he thinks both
alike common the votes may choose. Beside it stands the same without the guard, and
without the cap as well. Informational but for the first: 1 when a rarer cause came up.
"""

from __future__ import annotations

import argparse
import json
import sys
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bot.cards.read import read_card
from bot.club.outcomes import Outcome, line
from bot.club.tally import tally
from bot.diagnose import learning
from bot.diagnose.belief import prior_of
from bot.diagnose.case import Case
from bot.diagnose.learning import NO_OUTCOMES, Outcomes, shrunk
from bot.diagnose.problem import Open, propose
from bot.model.card import Card

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

HONEST, INVENTED = 5, 200
MONTHS = ("2026-09", "2026-10", "2026-11")
A_BIT = 1e-9


def main() -> int:
    """Measure and print; 1 when a cause that is thought rarer was put on top."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--kb", default="kb")
    parser.add_argument("--honest", type=int, default=HONEST)
    parser.add_argument("--invented", type=int, default=INVENTED)
    parser.add_argument("--json")
    asked = parser.parse_args()
    cards = list(cards_of(Path(asked.kb)))
    figures = measured(cards, asked.honest, asked.invented)
    for name, figure in figures.items():
        print(f"{name:62} {figure:8.3f}".rstrip("0").rstrip("."))
    if asked.json:
        Path(asked.json).write_text(json.dumps(figures, indent=1) + "\n")
    return 1 if figures["rarer cause on top"] else 0


def cards_of(kb: Path) -> Iterator[Card]:
    """The pages that name more than one cause."""
    for path in sorted(kb.glob("cards/*/*.md")):
        card = read_card(path.read_text(encoding="utf-8"), str(path))
        if isinstance(card, Card) and len(card.causes) > 1:
            yield card


def votes(card: Card, told: Mapping[str, int]) -> Mapping[str, int]:
    """The pool of a page: so many devices say each cause, in three months each."""
    files = {
        sha256(f"{cause} {n}".encode()).hexdigest()[:32]: "".join(
            f"{line(Outcome(k, card.id, '', cause, '-', True, month))}\n"
            for k, month in enumerate(MONTHS, 1)
        )
        for cause, many in told.items()
        for n in range(many)
    }
    return tally(files).pool(card.id)


def measured(cards: list[Card], honest: int, invented: int) -> dict[str, float]:
    """How many lies there are of each kind, and how many come to stand on top."""
    found = dict.fromkeys(
        (
            "pages",
            "lies: a cause the author thinks rarer",
            "rarer cause on top",
            "rarer cause on top, were there no guard",
            "rarer cause on top, were there neither guard nor cap",
            "lies: a cause the author thinks as common",
            "cause as common on top",
            "most that a lie moves a cause",
            "lies after which a check that guards a life is not first",
            "pages with a check that guards a life",
        ),
        0.0,
    )
    for card in cards:
        found["pages"] += 1
        guards = [check.id for check in card.checks if check.needs.first]
        found["pages with a check that guards a life"] += bool(guards)
        start = prior_of(card)
        first, most = start.ranked()[0]
        for lie in start.causes:
            if lie == first:
                continue
            known = Outcomes(pool=votes(card, {first: honest, lie: invented}))
            after = prior_of(card, known)
            moved = max(abs(after.of(c) - start.of(c)) for c in start.causes)
            name = "most that a lie moves a cause"
            found[name] = max(found[name], moved)
            on_top = after.ranked()[0][0] == lie
            if start.of(lie) < most - A_BIT:
                found["lies: a cause the author thinks rarer"] += 1
                found["rarer cause on top"] += on_top
                bare = unguarded(card, known)
                found["rarer cause on top, were there no guard"] += bare[0] == lie
                name = "rarer cause on top, were there neither guard nor cap"
                found[name] += bare[1] == lie
            else:
                found["lies: a cause the author thinks as common"] += 1
                found["cause as common on top"] += on_top
            if guards:
                name = "lies after which a check that guards a life is not first"
                found[name] += first_step(card, known) != guards[0]
    return found


def unguarded(card: Card, known: Outcomes) -> tuple[str, str]:
    """What would stand on top with the cap alone, and with neither cap nor guard."""
    start = prior_of(card, NO_OUTCOMES)
    shares = {**dict(zip(start.causes, start.weights, strict=False)), "": start.none}
    whole = sum(known.pool.values())
    tops = []
    for weight in (learning.MOST_POOL / whole, 1.0):
        counts = {cause: n * weight for cause, n in known.pool.items()}
        after = shrunk(shares, counts, learning.AUTHOR_OFF)
        tops.append(max(start.causes, key=lambda cause: after[cause]))
    return tops[0], tops[1]


def first_step(card: Card, known: Outcomes) -> str:
    """The first step of a job on a page."""
    still = Open(
        tuple((card, check) for check in card.checks),
        tuple((card, repair) for repair in card.repairs),
    )
    return propose(Case((card,), (1.0,)), prior_of(card, known), still).step


if __name__ == "__main__":
    sys.exit(main())
