"""What was complained of in the jobs whose cause was found."""

import json

from bot.job.job import NOT_KNOWN
from bot.store.habits import rows_of


def complaints(path: str) -> list[tuple[int, str, str]]:
    """Number, card and words of each job whose cause is known to be that card's.

    Words that came in pieces are put together; those of a step taken back count too.

    Args:
        path: the journal's file.
    """
    rows = rows_of(
        path,
        "SELECT outcome.job, card, said FROM outcome JOIN event USING (job) "
        "WHERE kind = 'Described' AND card != '' AND cause NOT IN ('', ?) "
        "ORDER BY outcome.job, seq",
        NOT_KNOWN,
    )
    told: dict[tuple[int, str], list[str]] = {}
    for job, card, said in rows:
        told.setdefault((job, card), []).append(json.loads(said)["words"])
    return [(job, card, ". ".join(words)) for (job, card), words in told.items()]
