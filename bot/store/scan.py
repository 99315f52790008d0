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
PARTS = "parts.yaml"
"""The cautions kept for each class of dangerous act, the ear that hears these acts on a
page, the records of documents, and what parts weigh; the index holds none of them."""

CONTENTS = "contents.txt"
"""The list of all files that belong to a knowledge base."""

EAR = "ear.txt"
"""What `tools/train.py` learnt of how dangers are told, beside the stop rules."""


LEAST = os.path.join(
    os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "least", RULES
)
"""Where the stop rules lie that no knowledge base may be without: the same pages as in
the project's own, one of which stands in where a knowledge base has none of that id."""

UNREAD = (-1, -1)
"""The look of what is there and cannot be looked at."""


def least() -> dict[str, str]:
    """The built-in stop rules, id -> path."""
    names = sorted(os.listdir(LEAST))
    return {name.removesuffix(".md"): os.path.join(LEAST, name) for name in names}


def scan(kb: str) -> dict[str, tuple[int, int]]:
    """Path -> (mtime_ns, size) of every file that is read for the index, by path.

    What cannot be looked at, a folder too, is among them, as `UNREAD`.
    """
    found: dict[str, tuple[int, int]] = {}
    cards = os.path.join(kb, CARDS)
    for system in _folders(cards, found):
        _add_pages(os.path.join(cards, system), found, (".md", SIDE))
    _add_pages(os.path.join(kb, PROCEDURES), found, (".md", SIDE))
    for folder in (NOTES, RULES):
        _add_pages(os.path.join(kb, folder), found, (".md",))
    for name in (*WORDS, CONTENTS, os.path.join(RULES, EAR)):
        words = os.path.join(kb, name)
        try:
            stat = os.stat(words)
        except FileNotFoundError:
            continue
        except OSError:
            found[words] = UNREAD
            continue
        found[words] = stat.st_mtime_ns, stat.st_size
    return dict(sorted(found.items()))


def _folders(path: str, found: dict[str, tuple[int, int]]) -> list[str]:
    names = []
    for entry in _entries(path, found):
        try:
            if entry.is_dir() and _is_text(entry, found):
                names.append(entry.name)
        except OSError:  # a link that leads nowhere, or to itself
            found[entry.path] = UNREAD
    return names


def _add_pages(
    folder: str, found: dict[str, tuple[int, int]], endings: tuple[str, ...]
) -> None:
    for entry in _entries(folder, found):
        if not entry.name.endswith(endings) or not _is_text(entry, found):
            continue
        try:
            if entry.is_file():
                stat = entry.stat()
                found[entry.path] = stat.st_mtime_ns, stat.st_size
            else:  # a folder, a pipe, a link that leads nowhere
                found[entry.path] = UNREAD
        except OSError:
            found[entry.path] = UNREAD


def _is_text(entry: os.DirEntry[str], found: dict[str, tuple[int, int]]) -> bool:
    """Whether a name can be written down; one that cannot is noted with marks in it."""
    marked = entry.path.encode("utf-8", "replace").decode()
    if marked != entry.path:
        found[marked] = UNREAD
    return marked == entry.path


def _entries(folder: str, found: dict[str, tuple[int, int]]) -> list[os.DirEntry[str]]:
    """What lies in a folder; none where there is no such folder."""
    try:
        with os.scandir(folder) as entries:
            return list(entries)
    except FileNotFoundError:
        return []
    except OSError:
        found[folder] = UNREAD
        return []
