"""Figures and their sources: a number with a unit must say where it comes from."""

import re
from collections.abc import Iterable, Iterator

from bot.model.place import Fault, Place
from bot.model.sources import Source

_FIGURE = re.compile(
    r"(?<![\w.,-])([0-9]+(?:[.,][0-9]+)?) ?"
    r"(bar/min|psi/min|kPa/min|bar/h|psi/h|L/min|km/h|N m|degC|°C|bar|psi|kPa|mbar|"
    r"mV|V|A|ohms?|mm|cm|m|%|L|litres|rpm|kg/L)(?![\w/])"
)
_NO_SOURCE_NEEDED = {"12 V", "24 V"}


def lint_figures(
    texts: Iterable[tuple[str, Place]], sources: tuple[Source, ...]
) -> Iterator[Fault]:
    """Every figure in the texts that no line under Sources vouches for."""
    vouched = {figure for s in sources for figure in figures_in(s.figures)}
    for text, place in texts:
        for figure in figures_in(text):
            if figure not in vouched | _NO_SOURCE_NEEDED:
                says = (
                    f"figure without source: '{figure}'; add '- {figure}: where it "
                    "comes from' under Sources"
                )
                yield Fault(place, says)


def figures_in(text: str) -> tuple[str, ...]:
    """The figures with a physical unit that stand in a text, written one way.

    >>> figures_in("between 0,5 and 1 bar, for 10 min")
    ('1 bar',)
    """
    found = _FIGURE.findall(text.replace("\n", " "))
    return tuple(f"{number.replace(',', '.')} {unit}" for number, unit in found)
