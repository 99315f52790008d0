"""The journal's complaints learnt from, into the index: when a job is closed.

What was missed then (an index made anew, jobs restored) is made up for at questions, a
few jobs at each, so that no question waits for it.
"""

import sqlite3

from bot.match.taught import terms_said
from bot.store.complaints import complained, complaints
from bot.store.habits import edition
from bot.store.index import CardIndex
from bot.store.lessons import Told

MOST_AT_ONCE = 25
"""Jobs that are learnt from at one question, the newest first. Our choice."""


def learn(index: CardIndex, journal: str, most: int = MOST_AT_ONCE) -> None:
    """Learn from jobs of the journal whose outcomes are new, or other than they were.

    Where nothing can be written, or another chock is writing, it is done another time.
    """
    now, lessons = edition(journal), index.lessons
    there, known = complained(journal), lessons.known()
    new = sorted((job for job in there if known.get(job) != there[job]), reverse=True)
    told = [
        Told(
            ended.job,
            there[ended.job],
            ended.card,
            terms_said(ended.words, index),
            ended.keeps,
        )
        for ended in complaints(journal, new[:most])
    ]
    try:
        with lessons.writing():
            for job in known.keys() - there.keys():
                lessons.take_out(job)
            for each in told:
                lessons.put(each)
            if len(new) <= most:
                lessons.is_of(now)
    except sqlite3.Error:
        return
