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
    """What words came to: the ranking, the stop rules raised, the pages left out."""

    ranking: Ranking
    stops: tuple[tuple[StopRecord, Hit], ...]
    faults: tuple[str, ...]


def asked(words: str, kb: str, home: str, told: Told = nobody) -> Asked:
    """The cards for the words, the stop rules they raise, and pages left out."""
    index = open_index(kb, home, told)
    rules = {rule.id: rule for rule in index.rules()}
    line = listen(words, index.lexicon, index)
    hits = dangers(line, tuple(rules.values()), index)
    journal = os.path.join(home, SECOND)
    known = habits(journal, index.size()[0])
    ranking = rank(line, index, known, taught(index, journal))
    faults = tuple(f for found in index.faults().values() for f in found)
    index.close()
    return Asked(ranking, tuple((rules[hit.rule], hit) for hit in hits), faults)
