"""Copper: what a metre of cable or a warm winding resists, and what it may carry.

All functions take and give plain floats in the units that their names end in.
"""

import math
from collections.abc import Sequence
from types import MappingProxyType

COPPER = 0.017241
"""Annealed copper at 20 degC, ohm mm2/m. Source: IEC 60028 (seen second-hand)."""

PER_KELVIN = 0.00393
"""Rise of copper's resistance a kelvin, from 20 degC. Source: as COPPER."""

SOLID, STRANDED, FLEXIBLE = 1.0, 2.0, 5.0
"""What a cable is made of; the last two are the classes of IEC 60228."""

CORES = MappingProxyType({"solid": SOLID, "stranded": STRANDED, "flexible": FLEXIBLE})

OHM_KM = MappingProxyType(
    {
        0.75: (24.5, 26.0),
        1.0: (18.1, 19.5),
        1.5: (12.1, 13.3),
        2.5: (7.41, 7.98),
        4.0: (4.61, 4.95),
        6.0: (3.08, 3.30),
        10.0: (1.83, 1.91),
        16.0: (1.15, 1.21),
        25.0: (0.727, 0.780),
        35.0: (0.524, 0.554),
        50.0: (0.387, 0.386),
        70.0: (0.268, 0.272),
        95.0: (0.193, 0.206),
        120.0: (0.153, 0.161),
    }
)
"""Most ohm/km at 20 degC, plain copper, class 2 and class 5, by nominal mm2.

Source: IEC 60228, three cable makers' copies that agree (seen).
"""

GAUGES = MappingProxyType(
    {str(number): float(number) for number in (20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1)}
    | {"1/0": 0.0, "2/0": -1.0, "3/0": -2.0, "4/0": -3.0}
)
"""American wire gauge numbers as they are written; 1/0 counts as 0, 2/0 as -1."""


def between(points: Sequence[tuple[float, float]], at: float) -> float:
    """A table read in straight lines; its end values hold beyond its ends.

    Args:
        points: pairs that rise in their first number.
        at: where to read.

    >>> between(((0, 10), (2, 20)), 1), between(((0, 10), (2, 20)), 9)
    (15.0, 20)
    """
    if at <= points[0][0]:
        return points[0][1]
    for number in range(1, len(points)):
        (left, low), (right, high) = points[number - 1], points[number]
        if at <= right:
            return low + (high - low) * (at - left) / (right - left)
    return points[-1][1]


def warmed(celsius: float) -> float:
    """Copper's resistance at a temperature, as a multiple of that at 20 degC.

    Source: IEC 60028 (seen second-hand); good from -50 to 150 degC.

    >>> round(warmed(80), 4)
    1.2358
    """
    return 1 + PER_KELVIN * (celsius - 20)


def gauge_mm2(gauge: float) -> float:
    """Copper area of a gauge number: d = 0.127 mm x 92^((36 - n) / 39).

    Source: ASTM B258 (seen second-hand).

    >>> round(gauge_mm2(12), 3)
    3.309
    """
    across = 0.127 * math.pow(92, (36 - gauge) / 39)
    return math.pi * across**2 / 4


def ohm_m(area_mm2: float, core: float) -> float:
    """Resistance of one metre of cable at 20 degC.

    Solid is copper alone; the other cores are read from `OHM_KM` as resistance times
    area, which moves little from size to size.

    >>> round(ohm_m(35, FLEXIBLE), 6)
    0.000554
    """
    if core == SOLID:
        return COPPER / area_mm2
    column = 0 if core == STRANDED else 1
    products = [(size, size * row[column] / 1000) for size, row in OHM_KM.items()]
    return between(products, area_mm2) / area_mm2


STEADY, CRANKING = 0.0, 1.0
STEADY_A_MM2 = ((2.5, 10.0), (16.0, 5.0))
"""Most steady amperes a mm2 by size, as thick cable sheds its heat worse.

Common practice, no source; the two ends are our choice.
"""

CRANKING_A_MM2 = 15.0
"""Most for a starter's 30 s, which warm bare copper by 40 K. Our choice."""


def densest(area_mm2: float, flow: float) -> float:
    """Most amperes a mm2 that a cable should carry, steadily or for a starter.

    >>> densest(1.5, STEADY), densest(35, STEADY), densest(35, CRANKING)
    (10.0, 5.0, 15.0)
    """
    return CRANKING_A_MM2 if flow == CRANKING else between(STEADY_A_MM2, area_mm2)
