"""Places, faults and refusals: what every room says when something is wrong."""

import re
from dataclasses import dataclass


class BotError(Exception):
    """A refusal that is shown to the person as one plain sentence."""


class FolderError(BotError):
    """A folder that is not there or cannot be made."""


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where something stands: a file's path as shown to people, and a line from 1."""

    path: str
    line: int

    def __str__(self) -> str:
        return f"{self.path}:{self.line}"


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One mistake of an author: where, what is wrong, and what to write instead."""

    place: Place
    says: str

    def __str__(self) -> str:
        return f"{self.place}: {self.says}"


NOWHERE = Place("", 0)


_NOT_IN_ANCHOR = re.compile(r"[^a-z0-9 -]")


def slug(heading: str) -> str:
    """The anchor of a heading: small letters, digits, hyphens.

    >>> slug("Soap the wheel's vent, twice")
    'soap-the-wheels-vent-twice'
    """
    return "-".join(_NOT_IN_ANCHOR.sub("", heading.lower()).split())
