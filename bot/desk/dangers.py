"""Dangers heard no worse than the built-in stop rules hear them, whatever is missing.

Light, for it is on the road of `chock ask`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bot.match.danger import Band, Hit, raised
from bot.store.scan import WORDS, least

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.language.line import Line
    from bot.match.danger import StopRecord
    from bot.store.index import CardIndex


def dangers(
    line: Line, rules: Sequence[StopRecord], index: CardIndex
) -> tuple[Hit, ...]:
    """The stop rules that a line raises, surely or maybe.

    Where a words file is missing or has mistakes, much is not understood: what may be
    one of the built-in rules is then taken for sure.
    """
    hits = raised(line, rules, index.lexicon, index.ear)
    if not any(hit.band is Band.MAYBE for hit in hits) or not _lacks_words(index):
        return hits
    sure = (
        hit._replace(band=Band.SURE) if hit.rule in least() else hit for hit in hits
    )
    return tuple(sure)


def _lacks_words(index: CardIndex) -> bool:
    told = (fault for faults in index.faults().values() for fault in faults)
    return any(name in fault for fault in told for name in WORDS)
