"""The compressor: what it delivers, how long it fills, how much of the time it pumps.

All functions take and give plain floats in the units that their names end in; pressures
are gauge. Free air is air at the pressure outside and at the temperature of the tank.
"""

import math

from bot.calc.air import (
    AROUND,
    BOYLE,
    END,
    GAUGE_ERROR_KPA,
    START,
    VOLUME,
    free_air_l,
)
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.calc.workshop import counted
from bot.units import PSI_KPA

CLEARANCE = 0.06
"""Dead space over swept volume of a truck's compressor. Common practice, no source."""


def filling_share(clearance: float, compression: float, exponent: float = 1.3) -> float:
    """Share of its stroke that a piston compressor really fills, before its wear.

    eta = 1 + c - c * (p_out / p_in) ** (1 / n), absolute pressures; c is the clearance
    over the swept volume. Source: course pages (seen second-hand).

    >>> round(filling_share(0.05, 901.325 / 101.325), 4)
    0.7814
    """
    return 1 + clearance - clearance * math.pow(compression, 1 / exponent)


def _rise(values: Values) -> float:
    rise = values["end"] - values["start"]
    if rise <= 0:
        raise SheetError("end must be above start; give the lower pressure as start")
    return rise


def _air_delivery(values: Values) -> list[Figure]:
    rise = _rise(values)
    free = free_air_l(values["volume"], rise, values["around"])
    rate = rise / values["time"]
    return [
        Figure("delivery", free / values["time"], "L/min", "free air / time"),
        Figure("free air", free, "L", "volume x (end - start) / around"),
        Figure("pressure rise", rate, "kPa/min", "(end - start) / time"),
    ]


AIR_DELIVERY = Sheet(
    name="air-delivery",
    about="Free air the compressor delivers, from the time it takes to fill a tank.",
    inputs=(
        START,
        END,
        Input("time", "min", 0.05, 600, "from start to end", error=0.02),
        VOLUME,
        AROUND,
    ),
    work=_air_delivery,
    formula=("delivery = volume x (end - start) / (around x time)",),
    holds="A mean over that span, leaks not counted; it drops as pressure rises. A "
    "fast fill ends hot, so the gauge flatters it: read again when the tank is cool.",
    sources=(BOYLE,),
    example=("start=85psi", "end=100psi", "time=25s", "volume=91.24L"),
)


def _fill_time(values: Values) -> list[Figure]:
    free = free_air_l(values["volume"], _rise(values), values["around"])
    return [
        Figure("fill time", free / values["delivery"], "min", "free air / delivery"),
        Figure("free air", free, "L", "volume x (end - start) / around"),
    ]


FILL_TIME = Sheet(
    name="fill-time",
    about="How long a compressor takes to bring a tank from one pressure to another.",
    inputs=(
        START,
        END,
        VOLUME,
        Input("delivery", "L/min", 1, 5000, "free air, as air-delivery gives it"),
        AROUND,
    ),
    work=_fill_time,
    formula=("fill time = volume x (end - start) / (around x delivery)",),
    holds="One temperature, no leak, nothing drawing air; delivery drops as pressure "
    "rises, so take a mean over the span.",
    sources=(BOYLE,),
    example=("start=0bar", "end=8bar", "volume=60L", "delivery=150L/min"),
)


def _tank_size(values: Values) -> list[Figure]:
    drop = values["start"] - values["end"]
    if drop <= 0:
        raise SheetError("end must be below start; the tank is emptied from start")
    free = values["use"] * values["time"]
    return [
        Figure("tank", free * values["around"] / drop, "L", "free air x around / drop"),
        Figure("free air", free, "L", "use x time"),
        Figure("drop", drop, "kPa", "start - end"),
    ]


TANK_SIZE = Sheet(
    name="tank-size",
    about="Tank that feeds a tool or a tyre for a while, the compressor not counted.",
    inputs=(
        Input("use", "L/min", 1, 5000, "free air that is drawn"),
        Input("time", "min", 0.05, 600, "for how long"),
        START,
        END,
        AROUND,
    ),
    work=_tank_size,
    formula=("tank = use x time x around / (start - end)",),
    holds="Drawn slowly enough for the tank to keep its temperature. A tank added to "
    "the brakes' own must hang behind a protection valve.",
    sources=(BOYLE,),
    example=("use=200L/min", "time=3min", "start=8bar", "end=6bar"),
)


def _compressor_duty(values: Values) -> list[Figure]:
    band = values["cutout"] - values["cutin"]
    if band <= 0:
        raise SheetError("cutout must be above cutin; swap the two pressures")
    on, off = values["on"], values["off"]
    leak = band / off
    figures = [
        Figure("duty", 100 * on / (on + off), "%", "on / (on + off)"),
        Figure("leak", leak, "kPa/min", "(cutout - cutin) / off"),
        Figure("rise", band / on, "kPa/min", "(cutout - cutin) / on"),
        Figure("cycle", on + off, "min", "on + off"),
    ]
    if "volume" in values:
        lost = free_air_l(values["volume"], leak, values["around"])
        net = free_air_l(values["volume"], band / on, values["around"])
        figures += [
            Figure("free air used", lost, "L/min", "volume x leak / around"),
            Figure("delivery", net + lost, "L/min", "volume x rise / around + used"),
        ]
    return figures


def _duty_limits(_: Values) -> list[Limit]:
    habit = "workshop habit, common practice"
    return [
        Limit(
            50,
            Side.BELOW,
            habit,
            clears=False,
            because="see the leak too",
            do="a leak, a worn compressor or too many users of air",
        ),
        Limit(
            2 * PSI_KPA,
            Side.BELOW,
            "2 psi/min parked, model commercial driver manual section 5; no law",
            clears=False,
            of="leak",
            because="work out leak-rate, engine off",
            do="parked, do not drive, find the leak; on the road it is what is used",
        ),
    ]


COMPRESSOR_DUTY = Sheet(
    name="compressor-duty",
    about="Share of the time that the compressor pumps, from its cut-in and cut-out.",
    inputs=(
        Input("cutin", "kPa", 50, 1600, "where it starts", error=GAUGE_ERROR_KPA),
        Input("cutout", "kPa", 50, 1600, "where it stops", error=GAUGE_ERROR_KPA),
        Input("on", "min", 0.02, 600, "pumping, cut-in to cut-out", error=0.03),
        Input("off", "min", 0.02, 10_000, "resting, cut-out to cut-in", error=0.05),
        Input("volume", "L", 1, 3000, VOLUME.says, optional=True),
        AROUND,
    ),
    work=_compressor_duty,
    limits=_duty_limits,
    formula=("duty = on / (on + off)", "leak = (cutout - cutin) / off"),
    holds="Steady engine speed and steady use of air; whatever the driver uses counts "
    "as leak. Parked, more than about 10 min between cut-ins is tight and under 3 min "
    "a leak worth finding; on the road 10 to 25 % is usual and over about 50 % points "
    "to a leak, a worn compressor or too many consumers. These rank causes only.",
    sources=(
        "10 and 3 min, 10 to 25 and 50 %: common-practice, workshop habit",
        "duty is a share of time: worked-out, definition",
        BOYLE,
    ),
    example=("cutin=100psi", "cutout=125psi", "on=75s", "off=12.5min", "volume=100L"),
    cautions=(
        "DANGER: exhaust gas kills. Run the engine in the open only.",
        "WARNING: a running engine catches sleeves and fingers. Read the gauge from "
        "the seat.",
    ),
)


def _compressor_output(values: Values) -> list[Figure]:
    bore, stroke = values["bore"], values["stroke"]
    swept = counted(values, "cylinders") * math.pi / 4 * bore**2 * stroke / 1e6
    moved = swept * values["speed"]
    free = moved * values["filling"] / 100
    return [
        Figure("delivery", free, "L/min", "swept flow x filling"),
        Figure("swept flow", moved, "L/min", "swept volume x speed"),
        Figure("swept volume", swept, "L", "cylinders x pi/4 x bore^2 x stroke"),
    ]


COMPRESSOR_OUTPUT = Sheet(
    name="compressor-output",
    about="Free air that a piston compressor ought to deliver, by its size and speed.",
    inputs=(
        Input("bore", "mm", 20, 150, "of one cylinder", error=0.1),
        Input("stroke", "mm", 10, 150, "of one piston", error=0.5),
        Input("cylinders", "", 1, 6, "of the first stage", 1.0),
        Input("speed", "rpm", 100, 6000, "of the compressor, not the engine", error=20),
        Input("filling", "%", 20, 100, "share of the stroke filled", 65, error=10),
    ),
    work=_compressor_output,
    formula=("delivery = cylinders x pi/4 x bore^2 x stroke x speed x filling",),
    holds="Filling drops with pressure, height and wear, so this is a yardstick for "
    "air-delivery and no more.",
    sources=(
        "65 % filling when nothing better is known: our-choice",
        "swept volume: worked-out, definition",
    ),
    example=("bore=75mm", "stroke=36mm", "cylinders=2", "speed=2000rpm"),
)

SHEETS = (AIR_DELIVERY, FILL_TIME, TANK_SIZE, COMPRESSOR_DUTY, COMPRESSOR_OUTPUT)
