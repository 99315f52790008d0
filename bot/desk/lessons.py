"""The journal's complaints learnt from, into the index: when a job is closed.

What was missed then (an index made anew, jobs restored) is made up for at questions, a
few jobs at each, so that no question waits for it.
"""

import sqlite3
from collections.abc import Callable

from bot.match.taught import terms_said
from bot.store.complaints import changed, complaints
from bot.store.habits import editions
from bot.store.index import CardIndex
from bot.store.lessons import Told
from bot.store.pool import Pool

MOST_SHARED = 5_000
"""Wordings of other members that are kept to find pages by. Our choice."""

MOST_AT_ONCE = 25
"""Jobs that are learnt from at one question. Our choice."""


def learn(index: CardIndex, journal: str, most: int = MOST_AT_ONCE) -> None:
    """Learn from jobs of the journal whose outcomes are new, or other than they were.

    What was learnt from another copy of the jobs is forgotten. Where nothing can be
    written, or another chock is writing, it is done another time.
    """
    first, last = editions(journal)
    lessons = index.lessons
    since = lessons.edition()
    of_this_copy = first <= since <= last
    since = since if of_this_copy else first
    jobs = changed(journal, since, most)
    known = complaints(journal, jobs)
    told = {
        job: Told(job, ended.card, terms_said(ended.words, index), ended.keeps)
        for job, ended in known.items()
    }
    try:
        with lessons.writing():
            if not of_this_copy:
                lessons.forget()
            for job in jobs:
                lessons.take_out(job)
                if job in told:
                    lessons.put(told[job])
            lessons.is_of(max(jobs.values(), default=last))
    except sqlite3.Error:
        return


def learn_shared(index: CardIndex, pool: Pool, clean: Callable[[str], bool]) -> int:
    """Keep the wordings that other members shared; how many there are now.

    Args:
        index: what they are kept in.
        pool: what was shared.
        clean: whether a wording may be used.
    """
    told = pool.said(clean, MOST_SHARED)
    rows = [(page, terms_said(words, index)) for page, words in told]
    try:
        with index.lessons.writing():
            index.lessons.put_shared(rows)
    except sqlite3.Error:
        return 0
    return len(rows)
