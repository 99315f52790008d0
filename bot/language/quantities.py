"""Amounts in running text: number, unit, how roughly, and whether it is a limit.

Numbers come in figures (`bot.language.numbers` puts them there); units from `bot.units`
alone. A unit serves the bare numbers before it: "8.2 then 7.0 bar".
"""

import re
from typing import NamedTuple

from bot.units import Unit, convert, number, unit, units_like

MOST_CHARACTERS = 400
REACH = 24
"""How far round a number the words are looked at that say what it is."""

_NUMBER = re.compile(r"(?<![\w.,])[+-]?[0-9]{1,6}(?:[.,][0-9]{1,4})?(?![0-9])")
_UNIT = re.compile(r"\s{0,2}([^\s,;.!?()]+(?: [^\s,;.!?()]+){0,2})")
TO = re.compile(r"\s?(?:to|-|\u2013|and)\s?")


SIGNS = {sign: known for sign in "$€£" if (known := unit(sign))}
"""Signs of money, which stand before their number."""


class Quantity(NamedTuple):
    """One amount: its value, its unit if one was said, and where it stands.

    `spoken` is the unit as typed, which may be one of another kind ("lbs", "degrees");
    `start` and `end` are places in the text that was read; `side` is -1 for what is
    less than that value, 1 for what is more, as far as that was said.
    """

    value: float
    unit: Unit | None
    spoken: str
    start: int
    end: int
    side: int = 0

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
            side = _side(text[: match.start()])
            found.append(Quantity(value, known, spoken, match.start(), end, side))
    for at in range(len(found) - 2, -1, -1):
        here, after = found[at], found[at + 1]
        lends = after.unit and (
            after.unit.kind != "time" or TO.fullmatch(text[here.end : after.start])
        )
        if here.unit is None and lends:
            found[at] = here._replace(unit=after.unit, spoken=after.spoken)
    return tuple(found)


_MORE_SAID = re.compile(r"\b(?:over|above|more than|better than|past)\s*$")
_LESS_SAID = re.compile(r"\b(?:under|below|less than|not even|shy of|short of)\s*$")


def _side(before: str) -> int:
    """Whether what stands before a number makes it a limit of what was measured."""
    told = before.lower()
    return bool(_MORE_SAID.search(told)) - bool(_LESS_SAID.search(told))


def unit_at(text: str, end: int) -> tuple[Unit | None, str, int]:
    """The unit that begins there, the longest spelling first; how it was said; its end.

    A letter that stands by itself is a unit only right behind its number.
    """
    match = _UNIT.match(text, end, end + REACH)
    words = match[1].split(" ") if match else []
    for length in range(len(words), 0, -1):
        said = " ".join(words[:length])
        apart = match is not None and match.start(1) > end
        if apart and len(said) == 1 and said not in "vV%hsk":
            continue
        known = unit(said)
        if known and match:
            return known, said, match.start(1) + len(said)
    return None, "", end
