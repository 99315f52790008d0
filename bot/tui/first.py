"""What is asked once, before the first job of all: three questions about the truck."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bot.tui.noted import picked, rows, tried
from bot.tui.pages import Matter, Question
from bot.tui.places import NO_SUCH_ROW, Begin, Came, Instead, Stay, heading, said

if TYPE_CHECKING:
    from bot.desk.garage import Garage


@dataclass(frozen=True, slots=True)
class First:
    """What is asked once, before the first job; each can be skipped, or all."""

    garage: Garage
    at: int = 0

    def matter(self) -> Matter:
        """Why it is asked."""
        title = heading(f"Question {self.at + 1} of {len(_FIRST)} about your truck")
        return Matter(title, parts=said(WHY))

    def question(self, typed: str = "") -> Question:
        """One of the three."""
        asks, offers = _FIRST[self.at]
        return Question(asks, rows((*(says for says, _ in offers), SKIP, SKIP_ALL)), ())

    def take(self, typed: str) -> Came:
        """On to the next; a sentence is a complaint, which goes before."""
        offers = _FIRST[self.at][1]
        at = picked(typed, len(offers) + 2)
        after = self.at + 1
        on = after < len(_FIRST)
        then = Instead(First(self.garage, after)) if on else Begin("")
        if at is None:
            if typed.isdigit():
                return Stay(NO_SUCH_ROW)
            return self._worded(typed, then)
        if at >= len(offers):
            return then if at == len(offers) else Begin("")
        return tried(lambda: self._note(offers[at][1]), then)

    def _worded(self, typed: str, then: Came) -> Came:
        """A name; or what is wrong, which comes first."""
        if self.at or len(typed.split()) > MOST_NAMES or self.garage.warns(typed):
            return Begin(typed)
        if self.garage.means(typed):
            return Instead(NameOrFault(self.garage, typed, then))
        return tried(lambda: self.garage.begin(typed), then)

    def _note(self, feature: str) -> None:
        """Note what the truck has, even when it was not named."""
        if self.garage.note() is None:
            self.garage.begin(UNNAMED)
        self.garage.change("fitted", feature)


@dataclass(frozen=True, slots=True)
class NameOrFault:
    """Words that may be a name, and may be what is wrong: nobody is misheard."""

    garage: Garage
    words: str
    then: Came

    def matter(self) -> Matter:
        """Why it is asked."""
        return Matter(heading(self.words), parts=said(WHICH))

    def question(self, typed: str = "") -> Question:
        """The one or the other."""
        return Question("Which is it?", rows((ITS_NAME, ITS_FAULT)), ())

    def take(self, typed: str) -> Came:
        """On with the questions, or to the job."""
        if typed == "1":
            return tried(lambda: self.garage.begin(self.words), self.then)
        return Begin(self.words if typed == "2" else typed)


WHICH = "These words can be what is wrong with a truck."
ITS_NAME, ITS_FAULT = "It is what the truck is called", "It is what is wrong"

MOST_NAMES = 2
"""Words of a truck's name at most; more are a complaint. Our choice."""
UNNAMED = "My truck"
WHY = (
    "Asked once, so that steps which are not for your truck are left out. All of it "
    "can be changed later: F3, The truck. Or say now what is wrong."
)
SKIP, SKIP_ALL = "Skip this one", "Skip all: something is wrong now"
_FIRST: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    ("What do you call it? Type a name.", ()),
    (
        "How does it brake?",
        (
            ("By air", "air brakes"),
            ("By air that presses on fluid", "air over fluid"),
            ("By fluid alone", "fluid brakes"),
        ),
    ),
    (
        "Can its tyres be filled from the cab?",
        (
            ("Yes, by a panel or switch, with a valve at each wheel", "wheel valves"),
            ("Yes, by a hand lever, all at once", "hand lever"),
            ("No", "no tyre inflation"),
        ),
    ),
)
"""What is asked, and what can be picked, each with its name in `model.fitted`."""
