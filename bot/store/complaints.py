"""What was complained of in the jobs whose cause was found."""

import json

from bot.job.job import NOT_KNOWN
from bot.store.chain import parsed
from bot.store.habits import rows_of


def complaints(path: str) -> list[tuple[int, str, str]]:
    """Number, card and words of each job whose cause is known to be that card's.

    Words that came in pieces are put together; those of a step taken back count too.

    Args:
        path: the second copy of the jobs (`bot.store.second`).
    """
    rows = rows_of(
        path,
        "SELECT outcome.job, card, text FROM outcome JOIN line USING (job) "
        "WHERE card != '' AND cause NOT IN ('', ?) AND text LIKE '% Described %' "
        "ORDER BY outcome.job, seq",
        NOT_KNOWN,
    )
    told: dict[tuple[int, str], list[str]] = {}
    for job, card, text in rows:
        line = parsed(text)
        if line and line.kind == "Described":
            told.setdefault((job, card), []).append(json.loads(line.said)["words"])
    return [(job, card, ". ".join(words)) for (job, card), words in told.items()]
