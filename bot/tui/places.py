"""What a place beyond the job is, and what may come of what is typed there.

Nothing here draws. A place says what stands on the board and what is asked, and what
comes of what was typed or picked: another place, a job, or the way back.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from textual.content import Content

from bot.talk.clean import clean
from bot.tui.pages import Matter, Option, Part, Question
from bot.tui.prose import Paragraph

if TYPE_CHECKING:
    from bot.desk.settings import Settings


@dataclass(frozen=True, slots=True)
class Open:
    """Go on with that job, or look at it again."""

    number: int


@dataclass(frozen=True, slots=True)
class Begin:
    """A new job, with these words."""

    words: str


@dataclass(frozen=True, slots=True)
class Hear:
    """Back to the job, and that is said there."""

    words: str


@dataclass(frozen=True, slots=True)
class Back:
    """To where one came from, with a word on what was done."""

    note: str = ""


@dataclass(frozen=True, slots=True)
class Again:
    """The same place, which shows other things now, with a word on what was done."""

    note: str = ""


@dataclass(frozen=True, slots=True)
class Instead:
    """Another place in place of the last ones."""

    place: Place
    of: int = 1


@dataclass(frozen=True, slots=True)
class Change:
    """The screen as it is wanted from now on."""

    settings: Settings


@dataclass(frozen=True, slots=True)
class Stay:
    """Nothing comes of it here, and why; a sentence is told to the job."""

    note: str


@dataclass(frozen=True, slots=True)
class Wrong:
    """What was typed for this very line cannot be, and why."""

    note: str


class Place(Protocol):
    """A place beyond the job."""

    def matter(self) -> Matter:
        """What stands on the board."""

    def question(self, typed: str = "") -> Question:
        """The rows to pick from, while that much is typed."""

    def take(self, typed: str) -> Came:
        """What comes of a key, or of words."""


Came = Place | Open | Begin | Hear | Back | Again | Instead | Change | Stay | Wrong


def heading(text: str) -> Content:
    """The heading of a place."""
    return Content.styled(clean(text), "bold")


def said(*lines: str) -> tuple[Part, ...]:
    """Some lines as a part of the board."""
    return (Part("say", tuple(Paragraph(Content(clean(line))) for line in lines)),)


BACK = Option("<", "back")
NO_SUCH_ROW = "There is no such row; pick one with an arrow, or type < to go back."
