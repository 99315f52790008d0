"""One question without a job: rank the cards for some words and stop.

Kept light: no reader of cards, no data classes of the model, unless a file changed.
"""

from __future__ import annotations

import os

from bot.desk.shelf import open_index, taught
from bot.match.rank import Ranking, rank
from bot.match.stops import StopHit, raised
from bot.store.habits import habits

JOURNAL = "journal.db"


def asked(
    words: str, kb: str, home: str
) -> tuple[Ranking, tuple[StopHit, ...], tuple[str, ...]]:
    """The cards for the words, the stop rules they raise, and cards left out."""
    index = open_index(kb, home)
    hits = raised(words, index.rules(), index.lexicon)
    journal = os.path.join(home, JOURNAL)
    known = habits(journal, index.size()[0])
    ranking = rank(words, index, known, taught(index, journal))
    faults = tuple(f for found in index.faults().values() for f in found)
    index.close()
    return ranking, hits, faults
