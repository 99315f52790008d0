"""Values against time as lines of plain text, for any terminal."""

from collections.abc import Sequence

WIDTH, HEIGHT = 26, 7
LABEL = 8


def chart(
    points: Sequence[tuple[float, float]],
    unit: str,
    width: int = WIDTH,
    along: str = "",
) -> tuple[str, ...]:
    r"""A chart of (minutes, value), the first point at the left edge.

    Args:
        points: at least two, in order of time.
        unit: the unit of the values, for the label.
        width: columns between the axis and the last point.
        along: the unit that is counted along the foot where it is no time.

    >>> print("\n".join(chart([(0, 8.0), (5, 7.6)], "bar", 10)))
    8        |*
             |
             |
             |
             |
             |
    7.6      |         *
         bar +----------
              0 to 5 min
    """
    values = [value for _, value in points]
    low, high = min(values), max(values)
    whole = points[-1][0] - points[0][0]
    rows = [[" "] * width for _ in range(HEIGHT)]
    for minute, value in points:
        across = (minute - points[0][0]) / whole if whole > 0 else 0.0
        up = (value - low) / (high - low) if high > low else 0.5
        rows[round((1 - up) * (HEIGHT - 1))][round(across * (width - 1))] = "*"
    labels = [""] * HEIGHT
    labels[0], labels[-1] = f"{high:.4g}", f"{low:.4g}"
    drawn = [
        f"{label:{LABEL}} |{''.join(row)}".rstrip()
        for label, row in zip(labels, rows, strict=True)
    ]
    foot = f"{unit:>{LABEL}} +{'-' * width}"
    said = f"0 to {whole:.3g} min"
    if along:
        said = f"{points[0][0]:.4g} to {points[-1][0]:.4g} {along}".rstrip()
    return (*drawn, foot, f"{' ' * LABEL}  {said}")
