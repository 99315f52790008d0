"""One question without a job: rank the cards for some words and stop.

Kept light: no reader of cards, no data classes of the model, unless a file changed.
"""

from __future__ import annotations

import os
from typing import NamedTuple

from bot.desk.dangers import dangers
from bot.desk.shelf import Told, nobody, open_index, taught
from bot.language.line import listen
from bot.match.danger import Hit, StopRecord
from bot.match.rank import Ranking, rank
from bot.store.habits import habits

SECOND = "jobs-2.db"
"""The second copy of the jobs; `bot.store.copies` is too heavy for this road."""


class Asked(NamedTuple):
    """What words came to: the ranking, the stop rules raised, the pages left out.

    `stand` says of each page how it stands with the club; empty where there is none.
    """

    ranking: Ranking
    stops: tuple[tuple[StopRecord, Hit], ...]
    faults: tuple[str, ...]
    stand: dict[str, str]


MOST_SHOWN = 20
"""Pages of which it is told how they stand."""


def asked(words: str, kb: str, home: str, told: Told = nobody) -> Asked:
    """The cards for the words, the stop rules they raise, and pages left out."""
    index = open_index(kb, home, told)
    rules = {rule.id: rule for rule in index.rules()}
    line = listen(words, index.lexicon, index)
    hits = dangers(line, tuple(rules.values()), index)
    journal = os.path.join(home, SECOND)
    known = habits(journal, index.shelf().pages)
    ranking = rank(line, index, known, taught(index, journal))
    faults = tuple(f for found in index.faults().values() for f in found)
    shown = [card.card for card in ranking.cards[:MOST_SHOWN]]
    stand = _stand(index.paths(), shown, kb, home) if _has_club(home) else {}
    index.close()
    stops = tuple((rules[hit.rule], hit) for hit in hits)
    return Asked(ranking, stops, faults, stand)


def _has_club(home: str) -> bool:
    return os.path.exists(os.path.join(home, "club", "memory.txt"))


def _stand(
    paths: dict[str, str], pages: list[str], kb: str, home: str
) -> dict[str, str]:
    """How some pages stand with the club, in words."""
    from bot.store.stood import stood

    root = os.path.abspath(kb)
    at = {p: os.path.relpath(paths[p], root).replace(os.sep, "/") for p in pages}
    return stood(kb, home, at, lambda page: _reckoned(kb, home, page))


def _reckoned(kb: str, home: str, page: str) -> str:
    from bot.desk.standing import Standings  # loads cryptography

    return Standings(kb, home).of(page).state.value
