"""All worksheets by name."""

from types import MappingProxyType

from bot.calc import air
from bot.calc.sheet import Sheet

DRAWERS = MappingProxyType({"air": air.SHEETS})
"""The sheets of each part of the trade."""

SHEETS = MappingProxyType(
    {sheet.name: sheet for sheets in DRAWERS.values() for sheet in sheets}
)


def sheet(name: str) -> Sheet | None:
    """The sheet of that name, or None."""
    return SHEETS.get(name)
