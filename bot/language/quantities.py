"""Amounts in running text: number, unit, how roughly, and whether it is a limit.

Numbers come in figures (`bot.language.numbers` puts them there); units from `bot.units`
alone. A unit serves the bare numbers before it: "8.2 then 7.0 bar".
"""

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from bot.units import Unit, convert, number, unit, units_like

MOST_CHARACTERS = 400
REACH = 24
"""How far round a number the words are looked at that say what it is."""

_NUMBER = re.compile(r"(?<![\w.,])[+-]?[0-9]{1,6}(?:[.,][0-9]{1,4})?(?![0-9])")
_UNIT = re.compile(r"\s{0,2}([^\s,;.!?()]+(?: [^\s,;.!?()]+){0,2})")
_TO = re.compile(r"\s?(?:to|-|\u2013|and)\s?")


SIGNS = {sign: known for sign in "$€£" if (known := unit(sign))}
"""Signs of money, which stand before their number."""


class Quantity(NamedTuple):
    """One amount: its value, its unit if one was said, and where it stands.

    `spoken` is the unit as typed, which may be one of another kind ("lbs", "degrees");
    `start` and `end` are places in the text that was read.
    """

    value: float
    unit: Unit | None
    spoken: str
    start: int
    end: int

    def value_in(self, wanted: Unit) -> float | None:
        """The value in that unit; None when it measures another thing.

        A bare number is taken to be in the wanted unit.

        >>> from bot.units import SYMBOLS
        >>> quantities("9 lbs tops")[0].value_in(SYMBOLS["psi"])
        9.0
        """
        if self.unit is None:
            return self.value
        for known in (self.unit, *units_like(self.spoken)):
            if known.kind == wanted.kind:
                return convert(self.value, known, wanted)
        return None


def quantities(text: str) -> tuple[Quantity, ...]:
    """The amounts of a text, in order.

    >>> [(q.value, q.unit.symbol) for q in quantities("from 8.0 down to 7,4 bar")]
    [(8.0, 'bar'), (7.4, 'bar')]
    """
    found: list[Quantity] = []
    for match in _NUMBER.finditer(text[:MOST_CHARACTERS]):
        value = number(match[0])
        if value is not None:
            known, spoken, end = unit_at(text, match.end())
            sign = text[match.start() - 1 : match.start()]
            if known is None and sign in SIGNS:
                known, spoken = SIGNS[sign], sign
            found.append(Quantity(value, known, spoken, match.start(), end))
    for at in range(len(found) - 2, -1, -1):
        here, after = found[at], found[at + 1]
        lends = after.unit and (
            after.unit.kind != "time" or _TO.fullmatch(text[here.end : after.start])
        )
        if here.unit is None and lends:
            found[at] = here._replace(unit=after.unit, spoken=after.spoken)
    return tuple(found)


def unit_at(text: str, end: int) -> tuple[Unit | None, str, int]:
    """The unit that begins there, the longest spelling first; how it was said; its end.

    A letter that stands by itself is a unit only right behind its number.
    """
    match = _UNIT.match(text, end, end + REACH)
    words = match[1].split(" ") if match else []
    for length in range(len(words), 0, -1):
        said = " ".join(words[:length])
        apart = match is not None and match.start(1) > end
        if apart and len(said) == 1 and said not in "vV%hs":
            continue
        known = unit(said)
        if known and match:
            return known, said, match.start(1) + len(said)
    return None, "", end


class Bounds(NamedTuple):
    """What an answer allows: from `low` (within) to `high` (without), and its unit."""

    low: float | None
    high: float | None
    unit: Unit | None

    def holds(self, quantity: Quantity) -> bool:
        """Whether the amount lies inside.

        >>> bounds("0.5 V or more").holds(quantities("0.7 volts")[0])
        True
        """
        value = quantity.value_in(self.unit) if self.unit else quantity.value
        if value is None:
            return False
        above = self.low is None or value >= self.low
        return above and (self.high is None or value < self.high)


_OR_MORE = re.compile(r"\s*(?:,\s*)?or (?:more|over|above)\b")
_OR_LESS = re.compile(r"\s*(?:[a-z]+ )?or (?:less|under|below)\b")
_OVER = re.compile(r"(?:over|above|more than|at least|from)\s*$")
_NOT_OVER = re.compile(r"\b(?:neither|no|not|never|none)\b[^.;]*\bmore than\s*$")
_UNDER = re.compile(r"(?:under|below|less than|no more than|within|up to|at most)\s*$")
_APART = re.compile(r"\b(?:apart|of each other|difference|between|than its mates?)\b")


def bounds(answer: str) -> Bounds | None:
    """The bounds that an answer sets, or None when it sets none.

    >>> bounds("0.25 to 0.4 V")[:2], bounds("over 30 V")[:2], bounds("Dry")
    ((0.25, 0.4), (30.0, None), None)
    """
    text = answer.lower()
    found = quantities(text)
    for one, other in pairwise(found):
        if _TO.fullmatch(text[one.end : other.start]):
            return Bounds(one.value, other.value, other.unit)
    for one in found:
        before, after = text[: one.start], text[one.end :]
        under = _UNDER.search(before) or _NOT_OVER.search(before)
        if _OR_LESS.match(after) or under:
            return Bounds(None, one.value, one.unit)
        if _OR_MORE.match(after) or _OVER.search(before):
            return Bounds(one.value, None, one.unit)
    return None


def picked(
    found: Sequence[Quantity], answers: Sequence[str], limits: Sequence[Bounds | None]
) -> int | None:
    """The only answer whose bounds hold what was typed, or None.

    Two values are two readings where the answers speak of a difference, or where both
    lie far beyond all bounds.

    >>> answers = ["0.2 bar or more", "under 0.2 bar"]
    >>> limits = [bounds(answer) for answer in answers]
    >>> picked(quantities("mine 4.1, his 4.4"), answers, limits)
    0
    >>> picked(quantities("0.1 bar"), answers, limits)
    1
    """
    known = [limit for limit in limits if limit]
    if len(known) < 2 or not found:
        return None
    ends = [end for b in known for end in (b.low, b.high) if end is not None]
    wanted = known[0].unit
    values = [v for q in found if (v := q.value_in(wanted) if wanted else q.value)]
    apart = any(_APART.search(answer.lower()) for answer in answers)
    if len(values) == 2 and (apart or min(values) > FAR * max(ends)):
        gap = Quantity(abs(values[0] - values[1]), wanted, "", 0, 0)
        return _only(gap, limits)
    inside = {_only(quantity, limits) for quantity in found} - {None}
    return next(iter(inside)) if len(inside) == 1 else None


FAR = 1.5
"""So many times the highest bound no answer is meant by a value itself. Our choice."""


def _only(quantity: Quantity, limits: Sequence[Bounds | None]) -> int | None:
    """The one answer that holds it, or None."""
    held = [n for n, limit in enumerate(limits) if limit and limit.holds(quantity)]
    return held[0] if len(held) == 1 else None
