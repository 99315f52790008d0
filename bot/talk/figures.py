"""Figures as people type them at a check: values, a time, a loss, whose they are."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from types import MappingProxyType

from bot.calc.readings import in_order, place_of
from bot.model.card import Readings
from bot.units import Amount, amounts, unit


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


_NUMBERS = MappingProxyType(
    {
        "half an": 0.5,
        "half a": 0.5,
        "an": 1.0,
        "a": 1.0,
        "one": 1.0,
        "two": 2.0,
        "three": 3.0,
        "four": 4.0,
        "five": 5.0,
        "six": 6.0,
        "eight": 8.0,
        "ten": 10.0,
        "twelve": 12.0,
        "fifteen": 15.0,
        "twenty": 20.0,
        "thirty": 30.0,
    }
)
_TIME = re.compile(
    r"(?:\b(?:in|after|over|within|for|about|under|less than) )*"
    r"(?<![\w.,])(?P<number>[0-9]{1,5}(?:[.,][0-9]{1,2})?|"
    + "|".join(map(re.escape, _NUMBERS))
    + r")\s?(?P<unit>seconds?|secs?|s|minutes?|mins?|hours?|hrs?|h|days?)\b"
)
_CHANGED = re.compile(
    r"\b(?:(?P<lost>lost|loses?|losing|drop(?:s|ped)?|fell|falls?|went down|down by"
    r"|sank|sinks?)|(?P<gained>gained|gains?|rose|rises?|went up|up by|climbed))\b"
    r"(?!\s+(?:to|at|from)\b)"
)
_FROM_TO = re.compile(r"\b(?:from|to)\b")


_PLAINER = (
    (r"\bthree quarters of an hour\b", "45 min"),
    (r"\b(?:a )?quarter of an hour\b", "15 min"),
    (r"\bhalf an hour\b", "30 min"),
    (r"\b(?:an|one) hour and a half\b|\bone and a half hours\b", "90 min"),
    (r"\b(?:a )?couple of (?=min|hour|sec)", "2 "),
    (r"\b(bar|psi|kpa) (?:a|per|each) min(?:ute)?\b", r"\1/min"),
    (r"\bhalf an? (bar|psi|volt|v)\b|\b(?:a )?half (bar|psi|volt|v)\b", r"0.5 \1\2"),
    (r"\b(?:a|one) (bar|psi)\b", r"1 \1"),
    (r"\bminus ", "-"),
)
"""How people say times and rates, and how they are read."""

_AND_A_HALF = re.compile(
    rf"\b({'|'.join(_NUMBERS)}|[0-9]+) and a half (?=min|hour|sec|h\b)"
)
_TO_FROM = re.compile(
    r"\bto ([0-9][0-9.,]*[^0-9]*?) from "
    r"([0-9][0-9.,]*(?: ?(?:bar|psi|kpa|v)\b)?)"
)
_NOW_WAS = re.compile(
    r"([0-9][0-9.,]*(?: ?(?:bar|psi|kpa|v)\b)?) now,? (?:it )?was ([0-9][0-9.,]*)"
)
_VAGUE = re.compile(r"\b(?:few|some|several|many) (?:sec|min|hour|day)|\ba while\b")


def is_vague(words: str) -> bool:
    """Whether a time is told without a figure."""
    return bool(_VAGUE.search(words.lower())) and bool(amounts(words))


def _plainer(words: str) -> str:
    """The words with spoken times and rates in figures."""
    text = words.lower()
    for spoken, figure in _PLAINER:
        text = re.sub(spoken, figure, text)
    return _AND_A_HALF.sub(lambda found: f"{_number(found[1]) + 0.5:g} ", text)


def _number(word: str) -> float:
    return _NUMBERS.get(word) or float(word.replace(",", "."))


def figures(readings: Readings, words: str) -> Typed:
    """What was typed at a check that asks for these readings."""
    text = _plainer(words)
    minutes = None
    if readings.wait:
        found = [_in_minutes(match) for match in _TIME.finditer(text)]
        minutes = sum(found) if found else None
        text = _TIME.sub(" ", text)
    text = _NOW_WAS.sub(r"from \2 to \1", _TO_FROM.sub(r"from \2 to \1", text))
    changed = _CHANGED.search(text)
    change = Change.NONE
    if changed and not _FROM_TO.search(text):
        change = Change.LOST if changed["lost"] else Change.GAINED
    values = _one_unit(in_order(readings, text))
    return Typed(values, minutes, _role(readings, text), change)


def _one_unit(values: tuple[Amount, ...]) -> tuple[Amount, ...]:
    """The values with the only unit that was typed: one gauge shows one unit."""
    units = {value.unit for value in values if value.unit}
    if len(units) != 1:
        return values
    return tuple(Amount(value.value, next(iter(units))) for value in values)


def _in_minutes(match: re.Match[str]) -> float:
    known = unit(match["unit"])
    return _number(match["number"]) * (known.scale if known else 1.0)


def _role(readings: Readings, text: str) -> Role:
    first, last = readings.values[0].name, readings.values[-1].name
    says_first, says_last = place_of(first, text), place_of(last, text)
    if first == last or (says_first is None) is (says_last is None):
        return Role.UNSAID
    return Role.LAST if says_first is None else Role.FIRST


_VALUE = re.compile(r"[+-]?[0-9][0-9.,]*")
MOST_BESIDE = 2
"""So many words beside a value leave it a bare reading, as in "start 6 bar"."""


def is_reading(words: str) -> bool:
    """Whether little more than measured values were typed.

    >>> is_reading("5,5"), is_reading("end 5.7 bar"), is_reading("90")
    (True, True, True)
    >>> is_reading("it took 20 minutes to go down")
    False
    """
    if not amounts(words):
        return False
    beside = _VALUE.sub(" ", words).split()
    return len([word for word in beside if unit(word) is None]) <= MOST_BESIDE


CORRECTING = ("no ", "sorry", "wrong", "i meant", "i mean", "correction", "oops")


def corrects(words: str) -> bool:
    """Whether words take back a value typed before."""
    return words.lower().startswith(CORRECTING) and bool(amounts(words))


def is_each(words: str) -> bool:
    """Whether a value is told for each of several things."""
    return bool(
        re.search(
            r"\beach\b|\bapiece\b|\bboth (?:lost|fell|dropped|rose)\b", words.lower()
        )
    ) and bool(amounts(words))


_GAUGES = re.compile(
    r"\b(?:front|rear|left|right|primary|secondary|upper|lower|circuit|both gauges?|"
    r"both needles?|first tank|second tank)\b"
)


def is_two_gauges(words: str) -> bool:
    """Whether values of two places at one moment are told.

    >>> is_two_gauges("front 7.8 rear 7.6"), is_two_gauges("7.8 then 7.6")
    (True, False)
    """
    return len(set(_GAUGES.findall(words.lower()))) > 1 and len(amounts(words)) > 1


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


_HEDGED = re.compile(
    r"\b(?:about|around|roughly|maybe|nearly|almost|just (?:over|under|above|below)|"
    r"or so|circa|[0-9]ish)\b"
)
HEDGED_SHARE = 0.05
"""How far off a value is that somebody only calls about so much. Our choice."""


def is_hedged(words: str) -> bool:
    """Whether a value is told as a rough one.

    >>> is_hedged("just over 4 bar"), is_hedged("4.3 bar")
    (True, False)
    """
    return bool(_HEDGED.search(words.lower()))


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
