"""The journal's complaints learnt from, into the index, whenever an outcome is new."""

import sqlite3

from bot.match.taught import (
    Taught,
    Told,
    in_memory,
    lessons,
    new_words,
    terms_said,
)
from bot.store.complaints import complaints
from bot.store.index import CardIndex


def learn(index: CardIndex, journal: str, edition: str) -> Taught:
    """Learn anew from all jobs of the journal; kept as that edition's lessons."""
    told = [
        Told(terms_said(words, index), card, f"job {job}")
        for job, card, words in complaints(journal)
    ]

    learnt = new_words(lessons(told), index)
    try:
        with index:
            index.put_lessons(edition, learnt)
    except sqlite3.Error:  # another chock is writing: learnt again next time
        return in_memory(learnt)
    return index.taught
