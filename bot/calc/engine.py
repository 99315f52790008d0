"""Engine and fuel: suction at the pump, and what altitude takes from the power.

All functions take and give plain floats in the units that their names end in.
"""

from bot.calc.air import SEA_LEVEL_KPA
from bot.calc.atmosphere import air_at_kpa
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.units import GRAVITY, INHG_KPA


def head_kpa(height_m: float, density_kgl: float) -> float:
    """Pressure of a standing column of liquid, in kPa.

    Formula: density x gravity x height. Source: law of physics.

    >>> round(head_kpa(1, 0.84), 2)
    8.24
    """
    return density_kgl * GRAVITY * height_m


DENSITY = Input("density", "kg/L", 0.75, 1.0, "of the fuel", 0.84, error=0.015)


def _lift(values: Values) -> list[Figure]:
    static = head_kpa(values["lift"], values["density"])
    figures = [Figure("static lift", static, "kPa", "density x gravity x lift")]
    if "allowed" in values:
        left, tallest = (
            values["allowed"] - static,
            values["allowed"] / head_kpa(1, values["density"]),
        )
        figures += [
            Figure("left for pipes and filters", left, "kPa", "allowed - static lift"),
            Figure("tallest lift", tallest, "m", "allowed / (density x gravity)"),
        ]
    return figures


FUEL_LIFT = Sheet(
    name="fuel-lift",
    about="What raising the fuel from the tank to the pump costs in suction.",
    inputs=(
        Input("lift", "m", -3, 5, "pump above the fuel's surface", error=0.02),
        DENSITY,
        Input("allowed", "kPa", 1, 80, "suction the maker allows", optional=True),
    ),
    work=_lift,
    formula=("static lift = density x gravity x lift",),
    holds="Fuel standing still, tank vented; a low tank is the worst case. Pipes, "
    "filters and valves add to it once fuel flows.",
    sources=(
        "weight of a column: worked-out, density x gravity x height",
        (
            "0.84 kg/L within 0.820 to 0.845 at 15 degC: en-590, density, "
            "temperate grades"
        ),
        "error of the lift: our-choice",
    ),
    example=("lift=0.8m", "allowed=6inHg"),
)


def _suction(values: Values) -> list[Figure]:
    rise = head_kpa(values["rise"], values["density"])
    at_pump = values["reading"] + rise
    figures = [
        Figure("suction at the pump", at_pump, "kPa", "reading + head of the rise"),
        Figure("head of the rise", rise, "kPa", "density x gravity x rise"),
    ]
    if "lift" in values:
        static = head_kpa(values["lift"], values["density"])
        lost = at_pump - static
        if lost < -3:
            raise SheetError(
                "that is less suction than the lift alone takes: look for air in the "
                "line, a tank under pressure, or a wrong height"
            )
        figures += [
            Figure("static lift", static, "kPa", "density x gravity x lift"),
            Figure("lost in pipes and filters", lost, "kPa", "suction - static lift"),
        ]
    return figures


_DRAWS_AIR = (
    "a line that draws air, a shut gauge or an engine off full flow reads low too; "
    "look for bubbles in a clear hose"
)


def _suction_limits(values: Values) -> list[Limit]:
    """Little suction may be a leak, so none of them clears."""
    most, says = 6 * INHG_KPA, "clean filters, military manual for one engine family"
    do = "that manual changes the filters at 12 inHg (41 kPa); ask your maker's figure"
    if "most" in values:
        most, says, do = values["most"], "the maker's limit, as you gave it", ""
    return [Limit(most, Side.BELOW, says, clears=False, because=_DRAWS_AIR, do=do)]


FUEL_SUCTION = Sheet(
    name="fuel-suction",
    about="Suction at the fuel pump from a gauge reading, and what causes it.",
    inputs=(
        Input("reading", "kPa", 0, 95, "vacuum shown, as a plus figure", error=1.7),
        Input("rise", "m", -3, 3, "pump inlet above the gauge", 0, error=0.02),
        Input(
            "lift",
            "m",
            -3,
            5,
            "pump inlet above the fuel's surface",
            optional=True,
            error=0.02,
        ),
        DENSITY,
        Input("most", "kPa", 1, 80, "suction the maker allows", optional=True),
    ),
    work=_suction,
    formula=(
        "suction at the pump = reading + density x gravity x rise",
        "lost = suction at the pump - density x gravity x lift",
    ),
    holds="Engine at full flow, gauge hose full of fuel, tank vented. A suction line "
    "draws air before it drips: low suction with bubbles is a leak, not health.",
    sources=(
        "weight of a column: worked-out, density x gravity x height",
        (
            "6 inHg clean, 12 inHg to change filters: tm-5-3810-300-24p-3, "
            "section 15.1, one engine family"
        ),
        "errors: our-choice",
    ),
    example=("reading=5inHg", "rise=0.2m", "lift=0.9m"),
    limits=_suction_limits,
    cautions=(
        "WARNING: fuel burns. No flame or hot work, extinguisher at hand; stop the "
        "engine before the gauge goes in.",
        "WARNING: fans and belts turn while you read. Chock the wheels, keep clear.",
    ),
)


def power_left(height_m: float, rate_pc: float, base_m: float) -> float:
    """Part of the sea-level power that an unblown engine keeps at altitude.

    Formula: 1 - rate x (height - base) / 304.8 m, never above 1. Limits: to 5000 m.
    Source: agricultural engineering text, 3 % and 500 ft (seen).

    >>> round(power_left(1371.6, 3, 152.4), 4)
    0.88
    """
    return 1 - rate_pc / 100 * max(0.0, height_m - base_m) / 304.8


def _power(values: Values) -> list[Figure]:
    part = power_left(values["height"], values["rate"], values["base"])
    thin = air_at_kpa(values["height"]) / SEA_LEVEL_KPA
    return [
        Figure("power left", values["power"] * part, "kW", "power x (1 - loss)"),
        Figure("loss", 100 * (1 - part), "%", "rate x height above base / 1000 ft"),
        Figure("air pressure left", 100 * thin, "%", "standard air at the height"),
    ]


ALTITUDE_POWER = Sheet(
    name="altitude-power",
    about="What power an engine without a turbocharger has left at altitude.",
    inputs=(
        Input("power", "kW", 5, 1000, "at sea level", error=0),
        Input("height", "m", -430, 5000, "above the sea", error=50),
        Input("rate", "%", 0, 5, "lost with each 1000 ft (305 m)", 3, error=0.5),
        Input("base", "m", 0, 1000, "height from which it is lost", 152.4),
    ),
    work=_power,
    formula=("power left = power x (1 - rate x (height - base) / 1000 ft)",),
    holds="Naturally aspirated, to 5000 m: a rule, no measurement. A turbocharged "
    "engine loses less until its maker's height, then quickly; heat takes more.",
    sources=(
        (
            "3 % each 1000 ft above 500 ft: agricultural-engineering-text, "
            "section Altitude"
        ),
        (
            "about 3 % each 1000 ft from sea level: common-practice, makers' "
            "texts that cannot be named"
        ),
        "air at height: us-standard-atmosphere-1976",
        "errors: our-choice",
    ),
    example=("power=225hp", "height=4500ft"),
)

SHEETS = (FUEL_LIFT, FUEL_SUCTION, ALTITUDE_POWER)
