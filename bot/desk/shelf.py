"""The index of a knowledge base, brought up to date before it is asked anything.

Only what the eye sees is looked at when nothing changed: names, ages and sizes of
files. The reader of cards is loaded when a file did change.
"""

from __future__ import annotations

import os
import sqlite3
import zlib
from collections.abc import Callable

from bot.match.taught import Taught
from bot.store.habits import editions
from bot.store.index import CardIndex
from bot.store.scan import scan
from bot.store.tables import MEMORY, discard

Told = Callable[[int, int], None]
"""Is told, as files are read anew, how many are done and how many there are."""


def nobody(done: int, of: int) -> None:
    """Where nobody waits to be told."""


def open_index(kb: str, home: str, told: Told = nobody) -> CardIndex:
    """The index of the cards in `kb`, kept in `home`, as new as the files are."""
    kb = os.path.abspath(kb)
    path = os.path.join(home, f"index-{zlib.crc32(kb.encode()):08x}.db")
    try:
        return _current(CardIndex.open(path), kb, told)
    except sqlite3.Error:
        pass
    try:
        discard(path)
        return _current(CardIndex.open(path), kb, told)
    except (sqlite3.Error, OSError):  # a full disk: it is made for this time alone
        return _current(CardIndex.open(MEMORY), kb, told)


def taught(index: CardIndex, journal: str) -> Taught:
    """What the outcomes in a journal taught of words, as new as they are."""
    if editions(journal)[1] != index.lessons.edition():
        from bot.desk.lessons import learn

        learn(index, journal)
    return index.lessons.of


def _current(index: CardIndex, kb: str, told: Told) -> CardIndex:
    stale = index.stale(scan(kb))
    if stale.changed or stale.gone:
        from bot.desk.upkeep import bring_up

        bring_up(index, kb, told)
    return index
