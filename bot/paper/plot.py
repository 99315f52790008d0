"""Plots for a report: lines over time or steps, and bars, drawn as SVG.

No plotting library: those to be had want compilers and tens of megabytes, or write
scripts and addresses into what must be one file that needs nothing else. What is drawn
here prints in black, tells its lines apart by their dashes too, and names them beside
their ends.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape


@dataclass(frozen=True, slots=True)
class Curve:
    """A named row of points (x, y), x rising."""

    name: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Plot:
    """Curves over one axis; `y_from` and `y_to` hold the y axis where they are given.

    `marks` name places on the x axis instead of figures: (x, words).
    """

    title: str
    x_says: str
    y_says: str
    curves: tuple[Curve, ...]
    y_from: float | None = None
    y_to: float | None = None
    marks: tuple[tuple[float, str], ...] = ()
    is_bars: bool = False


WIDE, HIGH = 640, 260
LEFT, RIGHT, TOP, FOOT = 52, 190, 24, 44
DASHES = ("", "7 3", "2 3", "10 3 2 3", "1 4")
COLOURS = ("#004a80", "#a03000", "#2f6b1f", "#6a2a7a", "#555555")
"""Dark enough on white paper and apart for eyes that see few colours. Our choice."""

LETTER = 11
"""Pixels a line of words takes."""


def steps(low: float, high: float, most: int = 6) -> tuple[float, ...]:
    """Round figures that span a range, each 1, 2 or 5 times a power of ten apart.

    >>> steps(6.3, 8.1)
    (6.0, 6.5, 7.0, 7.5, 8.0, 8.5)
    """
    span = (high - low) or abs(high) or 1.0
    rough = span / (most - 1)
    power = 10.0 ** math.floor(math.log10(rough))
    each = next(n * power for n in (1, 2, 5, 10) if n * power >= rough * 0.999)
    first, last = math.floor(low / each + 1e-9), math.ceil(high / each - 1e-9)
    return tuple(round(n * each, 10) for n in range(first, max(last, first + 1) + 1))


def svg(plot: Plot) -> str:
    """The plot as an SVG element that a page can hold."""
    places = [point for curve in plot.curves for point in curve.points]
    if not places:
        return ""
    across = _Axis.of([x for x, _ in places], LEFT, WIDE - RIGHT, plot)
    heights = [y for _, y in places]
    low = min(heights) if plot.y_from is None else plot.y_from
    high = max(heights) if plot.y_to is None else plot.y_to
    up = _Axis(steps(low, high), HIGH - FOOT, TOP)
    drawn = [*_frame(plot, across, up)]
    if plot.is_bars:
        drawn += _bars(plot.curves[0], across, up)
    else:
        drawn += _curves(plot.curves, across, up)
    said = escape(plot.title)
    return (
        f'<svg viewBox="0 0 {WIDE} {HIGH}" role="img" aria-label="{said}" '
        f'class="plot"><title>{said}</title>{"".join(drawn)}</svg>'
    )


@dataclass(frozen=True, slots=True)
class _Axis:
    """Round figures, and the pixels on which the first and the last of them lie."""

    figures: tuple[float, ...]
    begins: float
    ends: float

    @classmethod
    def of(
        cls, places: Sequence[float], begins: float, ends: float, plot: Plot
    ) -> "_Axis":
        """The axis along the foot."""
        if plot.is_bars:
            return cls((min(places) - 0.7, max(places) + 0.7), begins, ends)
        if plot.marks:
            return cls((min(places), max(max(places), min(places) + 1)), begins, ends)
        return cls(steps(min(places), max(places)), begins, ends)

    def at(self, value: float) -> float:
        """The pixel of a value."""
        low, high = self.figures[0], self.figures[-1]
        share = (value - low) / (high - low)
        return round(self.begins + share * (self.ends - self.begins), 1)


def _frame(plot: Plot, across: _Axis, up: _Axis) -> list[str]:
    """Rules, figures, and what the axes say."""
    out = []
    for y in up.figures:
        out.append(_line((LEFT, up.at(y)), (WIDE - RIGHT, up.at(y)), "#cccccc"))
        out.append(_words(LEFT - 6, up.at(y) + 4, f"{y:g}", "end"))
    marks = plot.marks or tuple((x, f"{x:g}") for x in across.figures)
    for x, words in marks:
        out.append(_words(across.at(x), HIGH - FOOT + 15, words, "middle"))
    middle = (LEFT + WIDE - RIGHT) / 2
    out.append(_words(middle, HIGH - 8, plot.x_says, "middle"))
    out.append(_words(4, LETTER, plot.y_says, "start"))
    return out


def _curves(curves: Sequence[Curve], across: _Axis, up: _Axis) -> list[str]:
    out = []
    ends = _apart([up.at(curve.points[-1][1]) + 4 for curve in curves])
    for nth, (curve, end) in enumerate(zip(curves, ends, strict=True)):
        colour, dash = COLOURS[nth % len(COLOURS)], DASHES[nth % len(DASHES)]
        path = " ".join(f"{across.at(x)},{up.at(y)}" for x, y in curve.points)
        out.append(
            f'<polyline points="{path}" fill="none" stroke="{colour}" '
            f'stroke-width="1.8" stroke-dasharray="{dash}"/>'
        )
        out += [
            f'<circle cx="{across.at(x)}" cy="{up.at(y)}" r="2.4" fill="{colour}"/>'
            for x, y in curve.points
        ]
        x, y = curve.points[-1]
        begin = (across.at(x) + 4, up.at(y))
        out.append(_line(begin, (WIDE - RIGHT + 12, end - 4), colour, 0.6))
        out.append(_words(WIDE - RIGHT + 15, end, _short(curve.name), "start", colour))
    return out


def _apart(ends: Sequence[float]) -> list[float]:
    """Heights for the names of curves, moved until none covers another."""
    each = LETTER + 1
    order = sorted(range(len(ends)), key=ends.__getitem__)
    placed = [ends[nth] for nth in order]
    for at in range(1, len(placed)):
        placed[at] = max(placed[at], placed[at - 1] + each)
    lowest = float(HIGH - FOOT + 8)
    for at in reversed(range(len(placed))):
        placed[at] = min(placed[at], lowest)
        lowest = placed[at] - each
    return [placed[order.index(nth)] for nth in range(len(ends))]


MOST_LETTERS = 30


def _short(name: str) -> str:
    return name if len(name) <= MOST_LETTERS else f"{name[: MOST_LETTERS - 3]}..."


def _bars(curve: Curve, across: _Axis, up: _Axis) -> list[str]:
    out = []
    wide = min(40.0, 0.7 * (across.at(1) - across.at(0)))
    foot = up.at(up.figures[0])
    for x, y in curve.points:
        left, top = across.at(x) - wide / 2, up.at(y)
        out.append(
            f'<rect x="{left:.1f}" y="{top}" width="{wide:.1f}" '
            f'height="{foot - top:.1f}" fill="{COLOURS[0]}"/>'
        )
        out.append(_words(across.at(x), top - 3, f"{y:,.0f}", "middle"))
    return out


def _line(
    begin: tuple[float, float],
    end: tuple[float, float],
    colour: str,
    wide: float = 1,
) -> str:
    return (
        f'<line x1="{begin[0]}" y1="{begin[1]}" x2="{end[0]}" y2="{end[1]}" '
        f'stroke="{colour}" stroke-width="{wide}"/>'
    )


def _words(x: float, y: float, text: str, anchor: str, colour: str = "#222222") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{LETTER}" text-anchor="{anchor}" '
        f'fill="{colour}">{escape(text)}</text>'
    )


def table_of(plot: Plot) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """The same in figures: the head, and a row for each place on the x axis."""
    named = dict(plot.marks)
    head = (plot.x_says, *(curve.name for curve in plot.curves))
    places = sorted({x for curve in plot.curves for x, _ in curve.points})
    values = [dict(curve.points) for curve in plot.curves]
    rows = (
        (named.get(x, f"{x:.4g}"), *(f"{v[x]:.4g}" if x in v else "" for v in values))
        for x in places
    )
    return head, tuple(rows)
