"""Brake push rods and steering: stroke, force and free play.

All functions take and give plain floats in the units that their names end in; pressures
are gauge.
"""

import math
from types import MappingProxyType

from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.units import INCH_MM

_STROKE_IN = MappingProxyType(
    {
        "6": (6.0, 1.25),
        "9": (9.0, 1.375),
        "12": (12.0, 1.375),
        "16": (16.0, 1.75),
        "20": (20.0, 1.75),
        "24": (24.0, 1.75),
        "30": (30.0, 2.0),
        "36": (36.0, 2.25),
        "12-long": (12.5, 1.75),
        "16-long": (16.5, 2.0),
        "20-long": (20.5, 2.0),
        "24-long": (24.5, 2.0),
        "20-long3": (20.6, 2.5),
        "24-long3": (24.6, 2.5),
        "30-long": (30.5, 2.5),
    }
)
"""Clamp-type chambers: our number for the word, and the stroke limit in inches; long3
is rated at 3 in. Source: 49 CFR 393.47(e) (from memory, but for 20, 30 and 30-long,
seen second-hand); so it may reject and never clears."""

_OF_STROKE = MappingProxyType(dict(_STROKE_IN.values()))

_SPRING = ("16/24", "20/24", "20/30", "24/24", "24/30", "30/30", "30/36")


def _stamped() -> dict[str, float]:
    """Our number by every word for a chamber: T30, 24L, 30/30, last our own.

    Of a spring chamber's two types the first is that of the service brake.
    """
    plain = {word: number for word, (number, _) in _STROKE_IN.items()}
    return (
        {word: plain[word.partition("/")[0]] for word in _SPRING}
        | {f"T{word}": number for word, number in plain.items() if word.isdigit()}
        | {f"{w[:-5]}L": number for w, number in plain.items() if w.endswith("-long")}
        | plain
    )


MANUAL, POWERED = 1.0, 2.0

_LASH_IN = MappingProxyType(
    {
        MANUAL: {16: 2.0, 18: 2.25, 19: 2.375, 20: 2.5, 21: 2.625, 22: 2.75},
        POWERED: {16: 4.25, 18: 4.75, 19: 5.0, 20: 5.25, 21: 5.5, 22: 5.75},
    }
)
_LASH_DEG = MappingProxyType({MANUAL: 14.0, POWERED: 30.0})
"""Steering play at the rim in inches by wheel in inches, and in degrees for any other
wheel. Source: 49 CFR 393.209(b) in a public copy of the code (seen)."""

DEAD_MM = 6.5
"""A stroke under this is none: 5 mm and the tape's error. Our choice."""

LOW_KPA, HIGH_KPA = 550.0, 690.0
"""Between these the stroke is measured: 80 to 100 psi."""

_LOCAL = "the limit that you read from the table of the law where you drive"
_HARDLY = (
    "the rod hardly moves: over-adjusted or seized; hold it against the other side of "
    "the axle"
)

_AS_OVER = "treat it as over, and measure again"


def push_kn(area_mm2: float, pressure_kpa: float) -> float:
    """Force of a chamber's push rod, in kN.

    Formula: area x pressure. Limits: mid-stroke, return spring left out.
    Source: law of physics.

    >>> round(push_kn(30 * 25.4**2, 100 * 6.894757), 2)
    13.34
    """
    return area_mm2 * pressure_kpa / 1e6


def rim_angle_deg(play_mm: float, wheel_mm: float) -> float:
    """Angle that a wheel turns when its rim moves so far along the arc, in degrees.

    Formula: play / half the wheel, as an arc. Source: definition of the angle.

    >>> round(rim_angle_deg(2, 16), 2)
    14.32
    """
    return math.degrees(play_mm / (wheel_mm / 2))


def _refuse_pressure(kpa: float) -> None:
    if kpa > HIGH_KPA:
        raise SheetError("pump the pedal down to 6 bar (87 psi), then measure")
    if kpa < LOW_KPA:
        raise SheetError(
            "under 80 psi (5.5 bar) the stroke shows short: build up to 6 bar, stop "
            "the engine, then measure"
        )


def _stroke(values: Values) -> list[Figure]:
    _refuse_pressure(values["pressure"])
    stroke = values["applied"] - values["released"]
    if stroke < 0:
        raise SheetError("the rod went in as the brake came on; swap the two readings")
    if stroke < DEAD_MM:
        raise SheetError(f"no pedal, or {_HARDLY}")
    if not {"limit", "rated", "type"} & set(values):
        raise SheetError(
            "nothing to hold it against: give limit= off your local table, or type= or "
            "rated= as stamped"
        )
    figures = [Figure("stroke", stroke, "mm", "applied - released")]
    if "limit" in values:
        left = values["limit"] - stroke
        figures.append(Figure("left", left, "mm", "limit - stroke"))
    if "rated" in values:
        rule = 0.8 * values["rated"]
        figures.append(Figure("80 % of rated", rule, "mm", "0.8 x rated stroke"))
    return figures


def _stroke_limits(values: Values) -> list[Limit]:
    """The strictest; only what the user read from the law clears.

    A rod that moves under a quarter of its limit (our choice) is no healthy brake.
    """
    found = []
    if "limit" in values:
        found.append((values["limit"], _LOCAL))
    if "rated" in values:
        says = (
            "80 % of rated stroke, 49 CFR 396 Appendix A, for chambers that its table "
            "does not list; for listed ones, and elsewhere, the table decides"
        )
        found.append((0.8 * values["rated"], says))
    if "type" in values:
        says = "49 CFR 393.47 from memory; read the marking and the local table"
        found.append((_OF_STROKE[values["type"]] * INCH_MM, says))
    most, says = min(found, key=lambda one: round(one[0]))
    hardly = values["applied"] - values["released"] < most / 4
    return [
        Limit(
            most,
            Side.BELOW,
            says,
            clears=says == _LOCAL and not hardly,
            doubt="treat it as over, and measure again",
            because=_HARDLY if hardly else "",
            do="a fault to find, not only to adjust",
        )
    ]


BRAKES_MOVE = (
    "DANGER: chock the wheels both ways before a brake is released. A spring chamber "
    "holds a spring that kills: never undo its clamp.",
    "WARNING: hands out while the pedal is pressed; the rod and slack adjuster crush. "
    "One person, one voice: the helper in the cab moves only when told.",
)

PUSH_ROD_STROKE = Sheet(
    name="push-rod-stroke",
    about="How far a brake's push rod travels, against the limit of its chamber.",
    inputs=(
        Input("released", "mm", 0, 400, "chamber face to mark, brake off", error=1),
        Input("applied", "mm", 0, 400, "chamber face to mark, brake on", error=1),
        Input("pressure", "kPa", 100, 1000, "in the tank, engine off, pedal hard down"),
        Input("limit", "mm", 20, 64, "from your local table", optional=True),
        Input("rated", "mm", 30, 110, "full stroke marked on it", optional=True),
        Input(
            "type",
            "",
            6,
            36,
            "marked on it; long only where it says so, long3 if rated at 3 in",
            optional=True,
            choices=MappingProxyType(_stamped()),
        ),
    ),
    work=_stroke,
    formula=("stroke = applied - released",),
    holds="Brakes cold, tanks at 80 to 90 psi (552 to 621 kPa), some places 100 psi; "
    "less pressure shows less stroke and is refused. Type and long stroke are read off "
    "the chamber, never guessed. Without a limit nothing is judged; of several the "
    "strictest counts. A stroke under a quarter of it is no pass.",
    sources=(
        (
            "80 to 90 psi, and 80 % of rated stroke for unlisted chambers: "
            "49-cfr-396-appendix-a, 1.a(5), local law decides"
        ),
        (
            "limits for type 20, 30 and 30-long: 49-cfr-393-47, (e), fleet and "
            "school pages have the same"
        ),
        "all other limits by type: 49-cfr-393-47, (e)",
        ("errors of the tape, and a quarter of the limit as too little: our-choice"),
    ),
    example=("released=62mm", "applied=105mm", "pressure=87psi", "limit=2in"),
    limits=_stroke_limits,
    cautions=BRAKES_MOVE,
)


def _push(values: Values) -> list[Figure]:
    area = values["type"] * INCH_MM**2
    force = push_kn(area, values["pressure"])
    figures = [
        Figure("push", force, "kN", "area x pressure"),
        Figure("area", area, "mm2", "type number in square inches"),
    ]
    if "arm" in values:
        turn = force * values["arm"]
        figures.append(Figure("torque on the camshaft", turn, "N m", "push x arm"))
    return figures


PUSH_ROD_FORCE = Sheet(
    name="push-rod-force",
    about="How hard a brake chamber pushes at a pressure.",
    inputs=(
        Input("type", "in2", 6, 36, "chamber type: its area in square inches"),
        Input("pressure", "kPa", 0, 1000, "in the chamber", error=7),
        Input("arm", "mm", 90, 220, "slack adjuster, hole to shaft", optional=True),
    ),
    work=_push,
    formula=("push = area x pressure", "torque = push x arm"),
    holds="Diaphragm chambers in mid-stroke, rod square to the arm. The return spring "
    "takes some, and near full stroke the push falls off: keep within the limit.",
    sources=(
        "area x pressure: worked-out, definition of pressure",
        "type number = area in square inches: common-practice",
        "error of the gauge: our-choice",
    ),
    example=("type=30", "pressure=60psi", "arm=6in"),
)


def _listed(values: Values) -> float | None:
    """Play at the rim in mm that the law's table allows this wheel, if it is there."""
    for inch, play in _LASH_IN[values["steering"]].items():
        if abs(values["wheel"] - inch * INCH_MM) <= 1:
            return play * INCH_MM
    return None


def _lash_deg(values: Values) -> float:
    """The angle that the law allows."""
    listed = _listed(values)
    if listed is None:
        return _LASH_DEG[values["steering"]]
    return rim_angle_deg(listed, values["wheel"])


def _steering(values: Values) -> list[Figure]:
    if values["play"] > math.pi * values["wheel"]:
        raise SheetError("that play is more than a full turn; measure along the rim")
    angle = rim_angle_deg(values["play"], values["wheel"])
    allowed = math.radians(_lash_deg(values)) * values["wheel"] / 2
    return [
        Figure("free play", angle, "deg", "play / half the wheel"),
        Figure("allowed at the rim", allowed, "mm", "49 CFR 393.209, for its kind"),
    ]


def _steering_limits(values: Values) -> list[Limit]:
    """The strictest: inspections may hold powered steering to the manual row."""
    says = "49 CFR 393.209; local law decides"
    if values["steering"] == POWERED:
        says = "49 CFR 570.60 knows no more for powered steering; 393.209 has 30 deg"
    most = _lash_deg({**values, "steering": MANUAL})
    doubt = "treat it as over"
    return [Limit(most, Side.BELOW, says, doubt=doubt, do="find the worn part")]


STEERING_PLAY = Sheet(
    name="steering-play",
    about="Free play of the steering wheel as an angle, against the US limits.",
    inputs=(
        Input("play", "mm", 0, 800, "at the rim until the wheels move", error=3),
        Input("wheel", "mm", 300, 650, "steering wheel across", error=3),
        Input(
            "steering",
            "",
            1,
            2,
            "with or without power assistance",
            choices=MappingProxyType({"manual": MANUAL, "powered": POWERED}),
        ),
    ),
    work=_steering,
    formula=("free play = play along the rim / half the wheel",),
    holds="Wheels straight ahead on hard dry ground; powered steering with its engine "
    "running. From the first to the last movement that a front wheel does not follow. "
    "Wheels of 16 and 18 to 22 in have their own row; all others 14 or 30 degrees. "
    "Powered steering is held to the manual row.",
    sources=(
        ("table of play, and 14 or 30 degrees: 49-cfr-393-209, (b), local law decides"),
        "the manual row for powered steering too: 49-cfr-570-60, table 2",
        "angle of an arc: worked-out, definition",
        "error of the tape: our-choice",
    ),
    example=("play=55mm", "wheel=20in", "steering=manual"),
    limits=_steering_limits,
    cautions=(
        "WARNING: chock the wheels; hands and clothing off the linkage while someone "
        "steers, and clear of fan and belts while the engine runs.",
    ),
)


SHEETS = (PUSH_ROD_STROKE, PUSH_ROD_FORCE, STEERING_PLAY)
