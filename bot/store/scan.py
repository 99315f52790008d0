"""Which files a knowledge base has and how they look now.

Light enough to run before every question: nothing here reads a file.
`bot.store.pages` tells what each is and gives its text.
"""

from __future__ import annotations

import os

CARDS, RULES = "cards", "stop-rules"
PROCEDURES, NOTES = "procedures", "notes"
WORDS = ("words.yaml", "senses.yaml", "speech.yaml")
"""Trade terms; states as people say them; how people talk whatever the trade."""

SIDE = ".wordings.txt"
"""How the name of a side file ends: further wordings beside a page."""

CAUTIONS, ACTS, SOURCES = "cautions.md", "acts.txt", "sources.yaml"
"""The cautions kept for each class of dangerous act, the ear that hears these acts on a
page, and the records of documents; the index holds none of them."""

EAR = "ear.txt"
"""What `tools/train.py` learnt of how dangers are told, beside the stop rules."""


def scan(kb: str) -> dict[str, tuple[int, int]]:
    """Path -> (mtime_ns, size) of every page and words file, by path."""
    found: dict[str, tuple[int, int]] = {}
    cards = os.path.join(kb, CARDS)
    for system in _folders(cards):
        _add_pages(os.path.join(cards, system), found, (".md", SIDE))
    _add_pages(os.path.join(kb, PROCEDURES), found, (".md", SIDE))
    for folder in (NOTES, RULES):
        _add_pages(os.path.join(kb, folder), found, (".md",))
    for name in (*WORDS, os.path.join(RULES, EAR)):
        words = os.path.join(kb, name)
        if os.path.isfile(words):
            stat = os.stat(words)
            found[words] = stat.st_mtime_ns, stat.st_size
    return dict(sorted(found.items()))


def _folders(path: str) -> list[str]:
    try:
        with os.scandir(path) as entries:
            return [entry.name for entry in entries if entry.is_dir()]
    except OSError:
        return []


def _add_pages(
    folder: str, found: dict[str, tuple[int, int]], endings: tuple[str, ...]
) -> None:
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if entry.name.endswith(endings) and entry.is_file():
                    stat = entry.stat()
                    found[entry.path] = stat.st_mtime_ns, stat.st_size
    except OSError:
        return
