"""The marks of running text, read alike for every window.

Three marks are known: `**strong**`, `*slanted*` and `[label](target)`; everything else
is letters. What a viewer of Markdown would show otherwise, `bot.cards.alike` refuses.
"""

import re
from collections.abc import Iterator
from typing import NamedTuple

_MARK = re.compile(
    r"\*\*(?P<strong>[^*\s](?:[^*]*[^*\s])?)\*\*"
    r"|\*(?P<slanted>[^*\s](?:[^*]*[^*\s])?)\*"
    r"|\[(?P<label>[^\[\]]+)\]\((?P<target>[^()\s]+)\)"
)
_ITEM = re.compile(r"\s*([0-9]{1,9}\.|-)\s+(\S.*)")

FENCE = "```"
"""Stands above and below a diagram."""


class Run(NamedTuple):
    """Letters with one mark: "strong", "slanted", "label" of a link, or none."""

    text: str
    mark: str = ""
    target: str = ""


class Item(NamedTuple):
    """A paragraph, or an item of a list with its number or dash before it."""

    lead: str
    text: str


def runs(text: str) -> Iterator[Run]:
    """A line of running text cut where its marks change."""
    end = 0
    for found in _MARK.finditer(text):
        if found.start() > end:
            yield Run(text[end : found.start()])
        mark = found.lastgroup or ""
        if mark == "target":
            yield Run(found["label"], "label", found["target"])
        else:
            yield Run(found[mark], mark)
        end = found.end()
    if end < len(text):
        yield Run(text[end:])


def plain(text: str) -> str:
    """Running text without its marks; of a link its label.

    >>> plain("**A** Split hose (common): [repair 1](#1-change-it). *Not* sure.")
    'A Split hose (common): repair 1. Not sure.'
    """
    return "".join(run.text for run in runs(text))


def items(text: str) -> tuple[Item, ...]:
    """The paragraphs and list items of running text, each on one line."""
    found: list[tuple[str, list[str]]] = []
    is_open = False
    for line in text.split("\n"):
        item = _ITEM.fullmatch(line)
        if item:
            found.append((item[1], [item[2].strip()]))
        elif line.strip() and is_open:
            found[-1][1].append(line.strip())
        elif line.strip():
            found.append(("", [line.strip()]))
        is_open = bool(line.strip())
    return tuple(Item(lead, " ".join(lines)) for lead, lines in found)
