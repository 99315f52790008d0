"""Compressed air: leaks, filling, holes, and what cooling and height do to them.

All functions take and give plain floats in the units that their names end in; pressures
are gauge unless the name says `abs`. Free air is air as the compressor draws it in.
"""

from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.units import PSI_KPA

SEA_LEVEL_KPA = 101.325
"""Standard atmosphere at sea level. Source: ISO 2533 (seen second-hand)."""


def free_air_l(volume_l: float, rise_kpa: float, around_kpa: float) -> float:
    """Free air that raises a closed volume by so much, at the same temperature, in L.

    Source: Boyle's law.

    >>> round(free_air_l(100, 800, 101.325), 1)
    789.5
    """
    return volume_l * rise_kpa / around_kpa


def _leak_rate(values: Values) -> list[Figure]:
    fall = values["start"] - values["end"]
    if fall < 0:
        raise SheetError("the pressure rose; something still fills the tank: shut it")
    rate = fall / values["time"]
    figures = [
        Figure("leak", rate, "kPa/min", "fall / time"),
        Figure("fall", fall, "kPa", "start - end"),
    ]
    if "volume" in values:
        lost = free_air_l(values["volume"], rate, values["around"])
        figures.append(Figure("free air lost", lost, "L/min", "volume x leak / around"))
    return figures


SINGLE, COMBINATION = 1.0, 2.0
OFF, ON = 0.0, 1.0


def _leak_limits(values: Values) -> list[Limit]:
    allowed = {
        (SINGLE, OFF): 2,
        (COMBINATION, OFF): 3,
        (SINGLE, ON): 3,
        (COMBINATION, ON): 4,
    }[values["vehicle"], values["brakes"]]
    whose = f"{allowed} psi/min, model commercial driver manual section 5; no law"
    return [Limit(allowed * PSI_KPA, Side.BELOW, whose)]


AROUND = Input(
    "around",
    "kPa abs",
    30,
    110,
    "air pressure outside; sea level unless said",
    SEA_LEVEL_KPA,
)

LEAK_RATE = Sheet(
    name="leak-rate",
    about="How fast a parked air system loses pressure, engine off.",
    inputs=(
        Input("start", "kPa", 0, 1600, "gauge at the start", error=7),
        Input("end", "kPa", 0, 1600, "gauge at the end", error=7),
        Input("time", "min", 0.1, 10_000, "minutes between the two", error=0.05),
        Input(
            "vehicle",
            "",
            1,
            2,
            "truck alone or with a trailer",
            SINGLE,
            choices={"single": SINGLE, "combination": COMBINATION},
        ),
        Input(
            "brakes", "", 0, 1, "pedal", OFF, choices={"released": OFF, "applied": ON}
        ),
        Input("volume", "L", 1, 2000, "all tanks together", optional=True),
        AROUND,
    ),
    work=_leak_rate,
    formula=("leak = (start - end) / time", "free air = volume x leak / around"),
    holds="Tanks settled and at one temperature: a fast fill ends hot, and a tank that "
    "cools by 20 K from 8 bar falls by half a bar without any leak.",
    sources=(
        "2 and 3 psi/min released, 3 and 4 applied, single and combination: model "
        "commercial driver manual, section 5.3 (seen second-hand); a manual, no law",
        "free air: Boyle's law (law of physics)",
    ),
    example=("start=8.2bar", "end=8.0bar", "time=5min", "volume=100L"),
    limits=_leak_limits,
    cautions=(
        "WARNING: brakes may slam on or let go as pressure changes. Chock the wheels "
        "both ways first.",
    ),
)

SHEETS = (LEAK_RATE,)
