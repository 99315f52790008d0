"""What an answer that is an amount allows, and which answer a measured amount picks."""

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from bot.language.quantities import TO, Quantity, quantities
from bot.units import Unit


class Bounds(NamedTuple):
    """What an answer allows: from `low` (within) to `high` (without), and its unit."""

    low: float | None
    high: float | None
    unit: Unit | None

    def holds(self, quantity: Quantity) -> bool:
        """Whether the amount lies inside.

        >>> bounds("0.5 V or more").holds(quantities("0.7 volts")[0])
        True
        >>> bounds("under 0.3 V").holds(quantities("less than 0.3")[0])
        True
        """
        value = quantity.value_in(self.unit) if self.unit else quantity.value
        if value is None:
            return False
        value += quantity.side * HAIR
        above = self.low is None or value >= self.low
        return above and (self.high is None or value < self.high)


HAIR = 1e-6
"""So far beside a value lies what is said to be less, or more, than it."""


_OR_MORE = re.compile(r"\s*(?:,\s*)?or (?:more|over|above)\b")
_OR_LESS = re.compile(r"\s*(?:[a-z]+ )?or (?:less|under|below)\b")
_OVER = re.compile(r"(?:over|above|more than|at least|from)\s*$")
_NOT_OVER = re.compile(r"\b(?:neither|no|not|never|none)\b[^.;]*\bmore than\s*$")
_UNDER = re.compile(r"(?:under|below|less than|no more than|within|up to|at most)\s*$")
_APART = re.compile(
    r"\b(?:apart|of each other|difference|between|than its mates?|compare|mates?|"
    r"both sides|each side|side by side|against)\b"
)


def speaks_of_two(text: str) -> bool:
    """Whether an answer, or the question or its id, sets two readings against another.

    >>> speaks_of_two("Compare it with its mate"), speaks_of_two("Read the gauge")
    (True, False)
    """
    return bool(_APART.search(text.lower().replace("-", " ")))


def bounds(answer: str) -> Bounds | None:
    """The bounds that an answer sets, or None when it sets none.

    >>> bounds("0.25 to 0.4 V")[:2], bounds("over 30 V")[:2], bounds("Dry")
    ((0.25, 0.4), (30.0, None), None)
    """
    text = answer.lower()
    found = quantities(text)
    for one, other in pairwise(found):
        if TO.fullmatch(text[one.end : other.start]):
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
    found: Sequence[Quantity], limits: Sequence[Bounds | None], *, apart: bool = False
) -> int | None:
    """The only answer whose bounds hold what was typed, or None.

    Two values are two readings of which the difference counts where the question or the
    answers say so (`apart`), or where both lie far beyond all bounds.

    >>> limits = [bounds("0.2 bar or more"), bounds("under 0.2 bar")]
    >>> picked(quantities("mine 4.1, his 4.4"), limits)
    0
    >>> picked(quantities("0.1 bar"), limits)
    1
    """
    known = [limit for limit in limits if limit]
    if len(known) < 2 or not found:
        return None
    ends = [end for b in known for end in (b.low, b.high) if end is not None]
    wanted = known[0].unit
    values = [v for q in found if (v := q.value_in(wanted) if wanted else q.value)]
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
