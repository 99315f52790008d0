"""Wheel ends and propshafts: bearing play, hub heat and joint angles.

All functions take and give plain floats in the units that their names end in.
"""

import math
from types import MappingProxyType

from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.units import INCH_MM

_SHAFT_DEG = MappingProxyType(
    {
        1500.0: 11.5,
        2000.0: 8.7,
        2500.0: 7.0,
        3000.0: 5.8,
        3500.0: 5.0,
        4000.0: 4.2,
        4500.0: 3.7,
        5000.0: 3.2,
    }
)
"""Greatest joint angle by shaft speed in rpm. Source: suppliers' driveline guides, from
3500 rpm up (seen), below (from memory)."""


def compound_deg(top_deg: float, side_deg: float) -> float:
    """True angle between two shafts from its parts seen from above and from beside.

    Formula: tan of the angle = root of (tan top squared + tan side squared); guides
    print the same without the tangents, which differs by under 0.1 deg to 5 deg.
    Limits: below 90 deg. Source: geometry; suppliers' driveline guides.

    >>> round(compound_deg(2.15, 2.50), 1)
    3.3
    """
    tangent = math.hypot(
        math.tan(math.radians(top_deg)), math.tan(math.radians(side_deg))
    )
    return math.degrees(math.atan(tangent))


def swing_pc(angle_deg: float) -> float:
    """How far a cross joint's driven side swings in speed, top to bottom, in percent.

    Formula: 1 / cos angle - cos angle. Source: kinematics of the cross joint.

    >>> round(swing_pc(10), 3)
    3.062
    """
    cosine = math.cos(math.radians(angle_deg))
    return 100 * (1 / cosine - cosine)


_PRACTICE = "recommended practice RP 618A, on-road axles just adjusted"


def _end_play(values: Values) -> list[Figure]:
    if values.get("least", 0.0) > values.get("most", math.inf):
        raise SheetError("the least play is above the most; swap the two limits")
    play = values["high"] - values["low"]
    if play < 0:
        raise SheetError("the high reading is below the low one; swap the two")
    return [Figure("end play", play, "mm", "high - low")]


def _end_play_limits(values: Values) -> list[Limit]:
    found = []
    if "most" in values:
        given = "the maker's most, as you gave it"
        found.append(Limit(values["most"], Side.BELOW, given))
    else:
        most = f"0.005 in, {_PRACTICE}"
        found.append(Limit(0.005 * INCH_MM, Side.BELOW, most, clears=False))
    if "least" in values:
        given = "the maker's least, as you gave it"
        found.append(Limit(values["least"], Side.ABOVE, given))
    else:
        least = f"0.001 in, {_PRACTICE}; no play may be preload"
        found.append(Limit(0.001 * INCH_MM, Side.ABOVE, least, clears=False))
    return found


BEARING_PLAY = Sheet(
    name="bearing-play",
    about="End play of a wheel bearing from a dial gauge.",
    inputs=(
        Input("low", "mm", -10, 25, "dial, hub pushed in and turned", error=0.005),
        Input("high", "mm", -10, 25, "dial, hub pulled out and turned", error=0.005),
        Input("most", "mm", 0.01, 1, "maker's most", optional=True),
        Input("least", "mm", 0, 0.5, "maker's least", optional=True),
    ),
    work=_end_play,
    formula=("end play = high - low",),
    holds="Taper roller bearings, hub turned as it is pushed and pulled, dial on the "
    "hub and its foot on the spindle's end. No play at all may be hidden preload, "
    "which burns bearings: not a pass.",
    sources=(
        "0.001 to 0.005 in: rp-618a, adjustment table",
        "errors of the dial: our-choice",
    ),
    example=("low=0.02", "high=0.10", "most=0.15", "least=0.03"),
    limits=_end_play_limits,
    cautions=(
        "DANGER: axle on rated stands on firm level ground, other wheels chocked. "
        "Never under or beside a load held by a jack.",
    ),
)


def _hubs(values: Values) -> list[Figure]:
    return [
        Figure(
            "difference", abs(values["left"] - values["right"]), "K", "left - right"
        ),
        Figure(
            "hotter hub", max(values["left"], values["right"]), "degC", "the higher"
        ),
    ]


def _hub_limits(values: Values) -> list[Limit]:
    says = "20 to 30 K is common practice"
    hot = "most for a road hub, whichever side: trade press, which inspects at 121 degC"
    do = "stop, let it cool, find out"
    alike = "both may run hot, or stand cold, alike"
    return [
        Limit(20, Side.BELOW, says, clears=False, doubt=do, because=alike, do=do),
        Limit(107, Side.BELOW, hot, clears=False, of="hotter hub", doubt=do, do=do),
    ]


HUB_HEAT = Sheet(
    name="hub-heat",
    about="Whether one hub runs hotter than its opposite.",
    inputs=(
        Input("left", "degC", -40, 400, "hub after the run", error=3),
        Input("right", "degC", -40, 400, "its opposite, same axle", error=3),
    ),
    work=_hubs,
    formula=("difference = left - right, without its sign",),
    holds="Same axle, same run, both taken within minutes at the same spot, sun and "
    "wind alike. Both hot alike shows no difference: trade press has 107 degC as the "
    "most for a road hub and an inspection at 121 degC.",
    sources=(
        "20 to 30 K side to side: common-practice",
        "107 and 121 degC: common-practice, trade press that cannot be named",
        "errors of an infrared gauge: our-choice",
    ),
    example=("left=71", "right=48"),
    limits=_hub_limits,
    cautions=(
        "WARNING: hubs, drums and rims burn; use an infrared gauge. Keep away from a "
        "smoking wheel or tyre: let it cool, never throw water on it, it may burst.",
    ),
)


def _shaft(values: Values) -> list[Figure]:
    angle = compound_deg(values["top"], values["side"])
    figures = [
        Figure(
            "joint angle", angle, "deg", "root of top and side squared, by tangents"
        ),
        Figure("speed swing", swing_pc(angle), "%", "1 / cos angle - cos angle"),
    ]
    if "speed" in values:
        cosine = math.cos(math.radians(angle))
        slow, fast = values["speed"] * cosine, values["speed"] / cosine
        figures += [
            Figure("slowest", slow, "rpm", "speed x cos angle"),
            Figure("fastest", fast, "rpm", "speed / cos angle"),
        ]
    return figures


def _shaft_limits(values: Values) -> list[Limit]:
    says = "suppliers' driveline guides"
    found = [Limit(0.5, Side.ABOVE, f"least to turn the needles, {says}", clears=False)]
    if "speed" not in values:
        smooth = f"smooth running, {says}"
        return [Limit(3, Side.BELOW, smooth, clears=False), *found]
    row = next(rpm for rpm in _SHAFT_DEG if rpm >= values["speed"])
    most = f"most at {row:g} rpm, {says}"
    return [Limit(_SHAFT_DEG[row], Side.BELOW, most, clears=False), *found]


JOINT_ANGLE = Sheet(
    name="joint-angle",
    about="True angle of a propshaft joint, and how it makes the speed swing.",
    inputs=(
        Input("top", "deg", 0, 40, "between the shafts, from above", error=0.25),
        Input("side", "deg", 0, 40, "between the shafts, from beside", error=0.25),
        Input("speed", "rpm", 0, 5000, "of the shaft at most", optional=True),
    ),
    work=_shaft,
    formula=(
        "tan angle = root of (tan top squared + tan side squared)",
        "speed swing = 1 / cos angle - cos angle",
    ),
    holds="Cross joints, truck level on its wheels, loaded as driven. Off the road the "
    "axle moves: judge at ride height, then look for binding at full travel.",
    sources=(
        (
            "3 deg, 0.5 deg, and most angle from 3500 rpm: common-practice, "
            "suppliers' guides that cannot be named"
        ),
        "most angle below 3500 rpm: memory",
        "speed of a cross joint: worked-out, kinematics",
        "errors of the angle gauge: our-choice",
    ),
    example=("top=2.15", "side=2.5", "speed=2800"),
    limits=_shaft_limits,
    cautions=(
        "DANGER: chock the wheels first; with a shaft out the parking brake may hold "
        "nothing. Never measure near a turning shaft.",
    ),
)

IN_LINE, CROSSED = 0.0, 1.0


def equivalent_deg(one_deg: float, other_deg: float, *, crossed: bool) -> float:
    """Angle of the single joint that would shake as two do together, in degrees.

    Formula: root of (one squared - other squared), of the sum when the shaft's yokes
    stand a quarter turn out. Limits: small angles, to about 15 deg.
    Source: suppliers' driveline guides; kinematics.

    >>> round(equivalent_deg(6, 4.5, crossed=False), 3)
    3.969
    """
    squared = one_deg * one_deg, other_deg * other_deg
    return math.sqrt(sum(squared) if crossed else abs(squared[0] - squared[1]))


def _pair(values: Values) -> list[Figure]:
    one, other = values["front"], values["rear"]
    angle = equivalent_deg(one, other, crossed=values["yokes"] == CROSSED)
    return [
        Figure("equivalent angle", angle, "deg", "root of the squares' difference"),
        Figure("difference", abs(one - other), "deg", "front - rear"),
        Figure("speed swing left", swing_pc(angle), "%", "1 / cos - cos of it"),
    ]


def _pair_limits(values: Values) -> list[Limit]:
    """Ends within 1 deg, as an equivalent angle: one^2 - other^2 = sum x difference."""
    if values["yokes"] == CROSSED:
        says = "none: yokes of one shaft stand in line, military manual"
        do = "set them in line, unless the maker has them crossed"
        return [Limit(0, Side.BELOW, says, clears=False, doubt=do, do=do)]
    alike = math.sqrt(values["front"] + values["rear"])
    says = "ends within 1 deg of each other, suppliers' driveline guides"
    return [Limit(alike, Side.BELOW, says, clears=False)]


JOINT_PAIR = Sheet(
    name="joint-pair",
    about="What shake is left when the two joints of a propshaft work together.",
    inputs=(
        Input("front", "deg", 0, 15, "true angle of the front joint", error=0.25),
        Input("rear", "deg", 0, 15, "true angle of the rear joint", error=0.25),
        Input(
            "yokes",
            "",
            0,
            1,
            "of the one shaft, in line or a quarter turn out",
            IN_LINE,
            choices=MappingProxyType({"line": IN_LINE, "crossed": CROSSED}),
        ),
    ),
    work=_pair,
    formula=(
        "equivalent = root of (front squared - rear squared); of the sum if crossed",
    ),
    holds="One shaft with two cross joints, both angles in one plane, to 15 deg.",
    sources=(
        ("equal within 1 deg: common-practice, suppliers' guides that cannot be named"),
        (
            "yokes in line unless the manual says otherwise: tm-5-4210-230-14p-1, "
            "propshaft phasing"
        ),
        "equivalent angle: worked-out, kinematics of two cross joints",
        "errors of the angle gauge: our-choice",
    ),
    example=("front=5", "rear=4"),
    limits=_pair_limits,
    cautions=JOINT_ANGLE.cautions,
)

SHEETS = (BEARING_PLAY, HUB_HEAT, JOINT_ANGLE, JOINT_PAIR)
