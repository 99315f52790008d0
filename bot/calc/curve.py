"""How a sum's result goes with one of its inputs, the others held as they are."""

from collections.abc import Iterator, Sequence

from bot.calc.chart import chart
from bot.calc.sheet import Figure, Input, Sheet, SheetError, Values, work_out
from bot.calc.shown import preferred

POINTS, REACH = 25, 0.5
"""So many points, from so much of the value below it to as much above. Our choice."""


def curve(
    sheet: Sheet, values: Values, along: Input, symbols: Sequence[str]
) -> tuple[str, ...]:
    """A chart of the result against an input, in lines; () where none can be drawn.

    Args:
        sheet: the sum.
        values: all its inputs, each in its own unit.
        along: the input that goes from low to high; it has a value, and no choices.
        symbols: the units that figures are shown in, the first that fits.
    """
    found = [*_points(sheet, values, along)]
    if len(found) < MOST_FLAT:
        return ()
    shown = [preferred(figure, symbols) for _, figure in found]
    at = [preferred(Figure("", x, along.unit), symbols) for x, _ in found]
    points = [(x.value, y.value) for x, y in zip(at, shown, strict=True)]
    head = f"{shown[0].name} against {along.name}:"
    return (head, *chart(points, shown[0].unit, along=at[0].unit or along.name))


MOST_FLAT = 3


def _points(
    sheet: Sheet, values: Values, along: Input
) -> Iterator[tuple[float, Figure]]:
    """Values of the input with the result; those that cannot be are left out."""
    here = values[along.name]
    reach = abs(here) * REACH or (along.most - along.least) / 10
    low, high = max(along.least, here - reach), min(along.most, here + reach)
    for nth in range(POINTS):
        x = low + (high - low) * nth / (POINTS - 1)
        try:
            yield x, work_out(sheet, {**values, along.name: x}).result
        except SheetError:
            continue
