"""Figures as people type them at a check: values, a time, a loss, whose they are."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from bot.calc.readings import in_order, place_of
from bot.language.line import Line
from bot.model.card import Readings
from bot.units import SYMBOLS, Amount, unit


class Role(Enum):
    """Which of two values one by itself is, when its name was typed with it."""

    FIRST = "first"
    LAST = "last"
    UNSAID = "unsaid"


class Change(Enum):
    """Whether a value is what was lost or gained, and not where the gauge stands."""

    LOST = "lost"
    GAINED = "gained"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed: values in the order asked, the minutes that passed if told."""

    values: tuple[Amount, ...]
    minutes: float | None
    role: Role
    change: Change


FELL, ROSE = "it_fell_by", "it_rose_by"
ABOUT, SOME_TIME, GAUGE = "about", "some_time", "gauge_"
"""Marks of `kb/speech.yaml` that say what a value is."""

EACH = frozenset(("each", "apiece"))
"""Words beside which one value is told for each of several things."""

_BEFORE_A_TIME = re.compile(
    r"(?:\b(?:in|after|over|within|for|about|under|less than) )*$"
)
_STANDS = re.compile(r"\b(?:from|to)\b|\bat [0-9]")
"""A value beside these is where the gauge stands, and not what was lost."""

_VALUE = r"[0-9][0-9.,]*"
_UNIT = r"(?: ?[a-z/]+\b)?"
_TO_FROM = re.compile(rf"\bto ({_VALUE}[^0-9]*?) from ({_VALUE}{_UNIT})")
_NOW_WAS = re.compile(rf"({_VALUE}{_UNIT}) now,? (?:it )?was ({_VALUE})")


def is_vague(line: Line) -> bool:
    """Whether a time is told without a figure."""
    return SOME_TIME in line.marks and bool(line.quantities)


def figures(readings: Readings, line: Line) -> Typed:
    """What was typed at a check that asks for these readings."""
    minutes, text = _timed(line) if readings.wait else (None, line.figures)
    text = _NOW_WAS.sub(r"from \2 to \1", _TO_FROM.sub(r"from \2 to \1", text))
    change = Change.NONE
    if line.marks & {FELL, ROSE} and not _STANDS.search(text):
        change = Change.LOST if FELL in line.marks else Change.GAINED
    values = _said_again(readings, _one_unit(in_order(readings, text)))
    return Typed(values, minutes, _role(readings, text), change)


def _timed(line: Line) -> tuple[float | None, str]:
    """The minutes that a line tells, all together, and its text without them."""
    text, minutes = line.figures, None
    for told in reversed(line.quantities):
        own = told.spoken and told.spoken in text[told.start : told.end]
        passed = told.value_in(SYMBOLS["min"]) if own and told.unit else None
        if passed is not None:
            minutes = (minutes or 0.0) + passed
            before = _BEFORE_A_TIME.sub("", text[: told.start])
            text = f"{before} {text[told.end :]}"
    return minutes, text


NEARLY = 0.15
"""So near two values are one, said again more closely: "over three, three point three".
Our choice."""


def _said_again(readings: Readings, values: tuple[Amount, ...]) -> tuple[Amount, ...]:
    """Of two values for one that are nearly the same the last."""
    if len(readings.values) != 1 or len(values) != 2:
        return values
    one, other = values
    near = abs(one.value - other.value) <= NEARLY * abs(other.value)
    return (other,) if near and one.unit == other.unit else values


def _one_unit(values: tuple[Amount, ...]) -> tuple[Amount, ...]:
    """The values with the only unit that was typed: one gauge shows one unit."""
    units = {value.unit for value in values if value.unit}
    if len(units) != 1:
        return values
    return tuple(Amount(value.value, next(iter(units))) for value in values)


def _role(readings: Readings, text: str) -> Role:
    first, last = readings.values[0].name, readings.values[-1].name
    says_first, says_last = place_of(first, text), place_of(last, text)
    if first == last or (says_first is None) is (says_last is None):
        return Role.UNSAID
    return Role.LAST if says_first is None else Role.FIRST


MOST_BESIDE = 2
"""So many words beside a value leave it a bare reading, as in "start 6 bar"."""


def is_reading(line: Line) -> bool:
    """Whether little more than measured values were typed: "end 5.7 bar", "90".

    "It took 20 minutes to go down" is no reading.
    """
    beside = re.sub(rf"[+-]?{_VALUE}", " ", line.figures).split()
    words = [word for word in beside if unit(word) is None]
    return bool(line.quantities) and len(words) <= MOST_BESIDE


_GAUGES = frozenset(
    (
        *("gauge", "gauges", "needle", "needles", "dial", "dials", "meter"),
        *("reading", "pressure", "voltage", "temperature"),
    )
)
"""Words that say that a bare number is what was measured."""
_STATES = re.compile(
    r"(?:\b(?:at|reads?|says?|said|shows?|showed|stands?|stood|stays?|stayed|holds?|held"
    r"|is|its|it's|was|got|gets?|measured|from|to|by|about|around|roughly|nearly|almost"
    r"|only|just|over|under|above|below|between|lost|dropped|fell|start|end) |[=:] ?)"
    r"[0-9]"
)
"""Words right before a number that say so, too."""


LEAST_LETTERS = 4
"""Shorter words of a value's name, such as "with", tell nothing of it. Our choice."""


def tells_no_gauge(readings: Readings, line: Line) -> bool:
    """Whether bare numbers stand in a sentence of other things: "2 of them hiss".

    One with a point, or a unit other than of time, is taken for a reading wherever it
    stands.
    """
    text = line.figures.lower()
    words = {word.said for word in line.words}
    names = (value.name.lower().split() for value in readings.values)
    named = {word for name in names for word in name if len(word) > LEAST_LETTERS}
    return not (
        is_reading(line)
        or any(q.unit and q.unit.kind != "time" for q in line.quantities)
        or re.search(r"[0-9][.,][0-9]", text)
        or words & (_GAUGES | named)
        or line.marks & {FELL, ROSE, ABOUT}
        or any(mark.startswith(GAUGE) for mark in line.marks)
        or _STATES.search(text)
    )


def corrects(line: Line) -> bool:
    """Whether words take back a value typed before: "no it was 8.5"."""
    says_no = bool(line.words) and line.words[0].said == "no"
    return (says_no or "put_right" in line.opens) and bool(line.quantities)


def is_each(line: Line) -> bool:
    """Whether a value is told for each of several things."""
    words = {word.said for word in line.words}
    both = "both" in words and bool(line.marks & {FELL, ROSE})
    return (both or bool(words & EACH)) and bool(line.quantities)


def is_two_gauges(line: Line) -> bool:
    """Whether values of two places at one moment are told: "front 7.8 rear 7.6"."""
    named = {mark for mark in line.marks if mark.startswith(GAUGE)}
    several = len(named) > 1 or f"{GAUGE}both" in named
    return several and len(line.quantities) > 1


_OPPOSITES = (
    ("on", "off"),
    ("released", "applied"),
    ("empty", "full"),
    ("cold", "hot"),
    ("open", "shut"),
    ("released", "on"),
    ("released", "set"),
    ("running", "off"),
    ("running", "stopped"),
)


def contradicts(name: str, words: str) -> bool:
    """Whether words say a value was taken the other way than its name asks.

    >>> contradicts("voltage with loads off", "28.1 V with loads on")
    True
    >>> contradicts("voltage with loads off", "28.1 V, engine on")
    False
    """
    asked, text = name.lower().split(), words.lower()
    for here, there in (*_OPPOSITES, *((b, a) for a, b in _OPPOSITES)):
        for noun, state in pairwise(asked):
            what = noun.removesuffix("s")
            if state == here and re.search(rf"\b{what}s? (?:is |are )?{there}\b", text):
                return True
    return False


HEDGED_SHARE = 0.05
"""How far off a value is that somebody only calls about so much. Our choice."""


def is_hedged(line: Line) -> bool:
    """Whether a value is told as a rough one: "just over 4 bar"."""
    return ABOUT in line.marks


LEAST_PSI = 16.0
"""A bare number under this is more likely meant in bar. Our choice."""


def may_be_bar(values: Sequence[Amount], asked: str) -> bool:
    """Whether bare values asked for in psi look like bar."""
    return asked == "psi" and any(
        v.unit is None and 0 < v.value < LEAST_PSI for v in values
    )


def in_doubt(value: Amount, start: Amount, asked: str) -> bool:
    """Whether a bare value fits the card's unit far better than that of the first.

    >>> in_doubt(Amount(8.5, None), Amount(900, unit("kPa")), "bar")
    True
    >>> in_doubt(Amount(7.8, None), Amount(8.2, unit("bar")), "bar")
    False
    """
    if value.unit or start.unit is None or start.unit.symbol == asked:
        return False
    ratio = abs(value.value / start.value) if start.value else 1.0
    return not 0.2 <= ratio <= 5.0
