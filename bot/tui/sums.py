"""A sum as a form: a row an input, what comes out above them, and how it goes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from textual.content import Content

from bot.model.place import BotError
from bot.talk.clean import clean
from bot.tui.pages import Matter, Option, Part, Question
from bot.tui.places import (
    BACK,
    NO_SUCH_ROW,
    Back,
    Came,
    Instead,
    Stay,
    Wrong,
    heading,
    said,
)
from bot.tui.prose import Paragraph

if TYPE_CHECKING:
    from bot.desk.browse import Input, Shelves

Given = tuple[tuple[str, str], ...]
"""Inputs by name with what was typed for them; "" for what had no name."""


@dataclass(frozen=True, slots=True)
class Sum:
    """A sum, and what is known of its inputs so far."""

    shelves: Shelves
    name: str
    about: str
    given: Given = ()

    def matter(self) -> Matter:
        """What came out; else what it is, or what is still missing."""
        title = heading(f"Sum {self.name}: {self.about}")
        told = self._done()
        return Matter(title, parts=said(*told), is_read_through=len(told) > 1)

    def _done(self) -> tuple[str, ...]:
        if not self.given:
            return (HOW,)
        try:
            return self.shelves.sum_done(self.name, dict(self.given))
        except BotError as error:
            return (f"Not yet: {error}.",)

    def inputs(self) -> tuple[Input, ...]:
        """What it asks for, in order."""
        return self.shelves.sum_asks(self.name)

    def question(self, typed: str = "") -> Question:
        """A row an input; then its formula, and the result against an input."""
        inputs = self.inputs()
        says = [f"{i.name}: {self._now(i)}" for i in inputs]
        says += [FORMULA, DRAWN]
        rows = (Option(str(n), clean(row)) for n, row in enumerate(says, 1))
        like = self.shelves.example(self.name)
        return Question(f"Pick one, or type all, such as: {like}", tuple(rows), (BACK,))

    def _now(self, asked: Input) -> str:
        """What is given for an input; else what is usual, or that it is wanted."""
        given = dict(self.given).get(asked.name)
        if given:
            return given
        if asked.usual is not None:
            return f"{_shown(asked, asked.usual)} (usual)"
        return f"{'may be left out' if asked.optional else '?'} ({asked.says})"

    def take(self, typed: str) -> Came:
        """An input to be typed, the formula, a chart; or all of it in a line."""
        if typed == BACK.key:
            return Back()
        if not typed.isdigit():
            return self._read(typed)
        inputs = self.inputs()
        at = int(typed) - 1
        if 0 <= at < len(inputs):
            return Asked(self, inputs[at])
        others: dict[int, Came] = {
            len(inputs): Formula(self),
            len(inputs) + 1: Along(self),
        }
        return others.get(at) or Stay(NO_SUCH_ROW)

    def _read(self, typed: str) -> Came:
        """What "name=value" says in a line, beside what was known."""
        try:
            after = self.knowing(self.shelves.sum_reads(self.name, typed))
            if not after.lacks():
                self.shelves.sum_done(self.name, dict(after.given))
        except BotError as error:
            return Stay(f"{error}.")
        return Instead(after)

    def lacks(self) -> bool:
        """Whether an input is wanted still; a marking without a name may give it."""
        given = dict(self.given)
        needed = (i for i in self.inputs() if i.usual is None and not i.optional)
        return "" not in given and any(i.name not in given for i in needed)

    def knowing(self, more: dict[str, str]) -> Sum:
        """The same sum with some inputs more."""
        return replace(self, given=tuple((dict(self.given) | more).items()))


HOW = "Pick an input and type its value, with its unit if it is another."
FORMULA = "Formula, limits and sources"
DRAWN = "How the result goes with an input"


def _shown(asked: Input, value: float) -> str:
    words = {number: word for word, number in asked.choices.items()}
    return words.get(value) or f"{value:g} {asked.unit}".rstrip()


@dataclass(frozen=True, slots=True)
class Asked:
    """One input of a sum."""

    of: Sum
    asked: Input

    def matter(self) -> Matter:
        """What it is, and within what it must be."""
        asked = self.asked
        span = "" if asked.choices else f"{asked.least:g} to {asked.most:g}"
        rows = [f"{asked.says[:1].upper()}{asked.says[1:]}."]
        if span:
            rows.append(f"{f'In {asked.unit}, ' if asked.unit else ''}{span}.")
        if asked.error:
            off = f"{asked.error:g} {asked.unit}".rstrip()
            rows.append(f"A common gauge may be off by {off}.")
        return Matter(heading(f"{self.of.name}: {asked.name}"), parts=said(*rows))

    def question(self, typed: str = "") -> Question:
        """Its choices, where it has them."""
        words = enumerate(self.asked.choices, 1)
        rows = tuple(Option(str(n), word) for n, word in words)
        asks = "Which?" if rows else "Type its value."
        return Question(asks, rows, (BACK,), words="Enter takes this value")

    def take(self, typed: str) -> Came:
        """The sum with that value, or why it cannot be."""
        if typed == BACK.key:
            return Back()
        words = list(self.asked.choices)
        known = typed.isdigit() and 0 < int(typed) <= len(words)
        text = words[int(typed) - 1] if known else typed
        try:
            self.of.shelves.sum_takes(self.of.name, self.asked, text)
        except BotError as error:
            return Wrong(f"{error}.") if _is_value(text) else Stay(f"{error}.")
        return Instead(self.of.knowing({self.asked.name: text}), of=2)


def _is_value(text: str) -> bool:
    """Whether somebody meant a value; a sentence without figures is told to the job."""
    return any(c.isdigit() for c in text) or " " not in text


@dataclass(frozen=True, slots=True)
class Formula:
    """What a sum needs, by what formula, within what limits, from where."""

    of: Sum

    def matter(self) -> Matter:
        """All of it."""
        told = self.of.shelves.sum_told(self.of.name)
        return Matter(heading(self.of.name), parts=said(*told), is_read_through=True)

    def question(self, typed: str = "") -> Question:
        """The way back."""
        return Question("", (), (BACK,))

    def take(self, typed: str) -> Came:
        """The way back."""
        return Back() if typed == BACK.key else Stay(NO_SUCH_ROW)


@dataclass(frozen=True, slots=True)
class Along:
    """The result against an input that is picked."""

    of: Sum
    drawn: tuple[str, ...] = ()

    def matter(self) -> Matter:
        """The chart, or how to have one."""
        rows = tuple(Paragraph(Content(clean(row))) for row in self.drawn)
        parts = (Part("prose", rows),) if rows else said(PICK)
        return Matter(heading(f"{self.of.name}: {DRAWN.lower()}"), parts=parts)

    def _known(self) -> list[str]:
        """Inputs that have a value that can go up and down."""
        given = dict(self.of.given)
        return [
            asked.name
            for asked in self.of.inputs()
            if not asked.choices and (asked.name in given or asked.usual is not None)
        ]

    def question(self, typed: str = "") -> Question:
        """The inputs that have a value."""
        rows = (Option(str(n), name) for n, name in enumerate(self._known(), 1))
        return Question("Against which input?", tuple(rows), (BACK,))

    def take(self, typed: str) -> Came:
        """The chart against that input."""
        if typed == BACK.key:
            return Back()
        known = self._known()
        if not typed.isdigit() or not 0 < int(typed) <= len(known):
            return Stay(NO_SUCH_ROW)
        along, given = known[int(typed) - 1], dict(self.of.given)
        try:
            drawn = self.of.shelves.sum_drawn(self.of.name, given, along)
        except BotError as error:
            return Wrong(f"{error}.")
        return Instead(replace(self, drawn=drawn)) if drawn else Wrong(FLAT)


PICK = "Pick an input: the result is drawn from half its value to half as much again."
FLAT = "There is nothing to draw against that input."
