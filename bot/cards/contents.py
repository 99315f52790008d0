"""The list of what belongs to a knowledge base, so that a file that is gone is missed.

`contents.txt`: a path a line, from the knowledge base's own folder. `chock lint --mend`
writes it.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from bot.model.place import Fault, Place

HEAD = (
    "# What belongs here, so that what is gone is missed. Written by chock lint --mend."
)
_PATH = re.compile(r"[a-z0-9-]+(?:/[a-z0-9-]+)*(?:\.[a-z]+)+")


@dataclass(frozen=True, slots=True)
class Contents:
    """The files that belong to a knowledge base, by their paths in it."""

    paths: tuple[str, ...]


def read_contents(text: str, path: str) -> Contents | tuple[Fault, ...]:
    """The list that a text holds, or every fault by its line."""
    paths: list[str] = []
    faults: list[Fault] = []
    for number, line in enumerate(text.split("\n"), 1):
        if _PATH.fullmatch(line):
            paths.append(line)
        elif line and not line.startswith("#"):
            says = (
                "not a path; write e.g. stop-rules/no-brakes.md, or chock lint --mend"
            )
            faults.append(Fault(Place(path, number), says))
    return tuple(faults) or Contents(tuple(paths))


def write_contents(paths: Iterable[str]) -> str:
    """The text that such a list is read from."""
    return "\n".join((HEAD, *sorted(paths))) + "\n"
