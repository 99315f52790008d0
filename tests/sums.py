"""Sums worked out in one line, for tests of what comes out."""

from bot.calc.book import SHEETS
from bot.calc.sheet import Worked, work_out
from bot.calc.typed import typed


def worked(line: str) -> Worked:
    """A sum as one types it: its name, then name=value words."""
    name, *given = line.split()
    values, errors = typed(SHEETS[name], given)
    return work_out(SHEETS[name], values, errors)


def result(line: str) -> float:
    """The first figure's value, in the sheet's own unit."""
    return worked(line).result.value


def of(name: str, **values: float) -> dict[str, float]:
    """All figures by name, from plain numbers in the sheet's own units."""
    return {f.name: f.value for f in work_out(SHEETS[name], values).figures}
