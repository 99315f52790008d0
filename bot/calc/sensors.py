"""Sensors and bus ends: platinum, thermistor, pressure divider, terminators.

All functions take and give plain floats in the units that their names end in.
"""

import math
from types import MappingProxyType

from bot.calc.airflow import ZERO_C_K as KELVIN
from bot.calc.electrics import COUNTS
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values

PT_A, PT_B, PT_C = 3.9083e-3, -5.775e-7, -4.183e-12
"""Constants of platinum, the last for below 0 degC. Source: IEC 60751 (seen)."""

PT_LEAST_C, PT_MOST_C = -200.1, 850.1
"""Ends of the standard's range, with room for a table's rounded ohms."""


def pt_ratio(celsius: float) -> float:
    """Resistance of a platinum sensor as a multiple of that at 0 degC.

    Source: IEC 60751 (seen), -200 to 850 degC.

    >>> round(100 * pt_ratio(100), 4), round(100 * pt_ratio(-100), 4)
    (138.5055, 60.2558)
    """
    below = PT_C * (celsius - 100) * celsius**3 if celsius < 0 else 0.0
    return 1 + PT_A * celsius + PT_B * celsius**2 + below


def _pt_slope(celsius: float) -> float:
    below = PT_C * (4 * celsius - 300) * celsius**2 if celsius < 0 else 0.0
    return PT_A + 2 * PT_B * celsius + below


def pt_celsius(ratio: float) -> float:
    """Temperature of a platinum sensor by its resistance over that at 0 degC.

    The quadratic is exact from 0 degC up; below, it starts a few steps of Newton, each
    of which squares the error (under 0.000001 K after four).

    >>> round(pt_celsius(1.085), 4), round(pt_celsius(0.602558), 3)
    (21.8189, -100.0)
    """
    root = PT_A**2 - 4 * PT_B * (1 - ratio)
    celsius = (-PT_A + math.sqrt(root)) / (2 * PT_B)
    if ratio < 1:
        for _ in range(6):
            celsius -= (pt_ratio(celsius) - ratio) / _pt_slope(celsius)
    return celsius


def ntc_ohm(celsius: float, ohm_25: float, beta_k: float) -> float:
    """Resistance of a thermistor that falls with heat, by its B value.

    R = R25 exp[B (1/T - 1/298.15)], T in kelvin. Source: definition of the B value.

    >>> round(ntc_ohm(80, 10_000, 3950))
    1270
    """
    return ohm_25 * math.exp(beta_k * (1 / (celsius + KELVIN) - 1 / (25 + KELVIN)))


def ntc_celsius(ohm: float, ohm_25: float, beta_k: float) -> float:
    """Temperature of such a thermistor: `ntc_ohm` the other way.

    >>> round(ntc_celsius(10_000, 10_000, 3950), 9)
    25.0
    """
    return 1 / (math.log(ohm / ohm_25) / beta_k + 1 / (25 + KELVIN)) - KELVIN


_NOMINAL = Input(
    "nominal",
    "ohm",
    100,
    1000,
    "resistance at 0 degC",
    100,
    choices=MappingProxyType({"100": 100.0, "500": 500.0, "1000": 1000.0}),
)
_PT_SOURCES = (
    (
        "A 3.9083e-3, B -5.775e-7, C -4.183e-12, class B 0.3 K + 0.005 t, "
        "class A 0.15 K + 0.002 t: iec-60751, four agreeing copies"
    ),
)
_PT_FORMULA = (
    "R = R0 [1 + A t + B t^2], and below 0 degC + C (t - 100) t^3 in the brackets",
)


def _bands(celsius: float) -> list[Figure]:
    """What a sensor in good order may be off."""
    size = abs(celsius)
    return [
        Figure("class B may be off", 0.3 + 0.005 * size, "K", "0.3 + 0.005 t"),
        Figure("class A may be off", 0.15 + 0.002 * size, "K", "0.15 + 0.002 t"),
    ]


def _pt_ohms(values: Values) -> list[Figure]:
    celsius = values["temperature"]
    ohm = values["nominal"] * pt_ratio(celsius)
    a_kelvin = values["nominal"] * _pt_slope(celsius)
    return [
        Figure("resistance", ohm, "ohm", "by the formula"),
        Figure("ohms a kelvin", a_kelvin, "ohm", "slope there"),
        *_bands(celsius),
    ]


def _pt_temperature(values: Values) -> list[Figure]:
    ratio = values["resistance"] / values["nominal"]
    if not pt_ratio(PT_LEAST_C) <= ratio <= pt_ratio(PT_MOST_C):
        raise SheetError(
            "no platinum sensor of this nominal reads so between -200 and 850 degC; "
            "check nominal, or look for a short or a break"
        )
    celsius = pt_celsius(ratio)
    return [
        Figure("temperature", celsius, "degC", "the formula solved for t"),
        *_bands(celsius),
    ]


PT_OHMS = Sheet(
    name="pt100-ohms",
    about="Resistance that a platinum sensor (Pt100, Pt500, Pt1000) should show.",
    inputs=(
        Input("temperature", "degC", -200, 850, "of the sensor", error=1),
        _NOMINAL,
    ),
    work=_pt_ohms,
    formula=_PT_FORMULA,
    holds="Standard platinum (0.00385 a kelvin), -200 to 850 degC, without its leads: "
    "touch the probes together first and take that reading off.",
    sources=_PT_SOURCES,
    example=("temperature=80degC",),
)

PT_TEMPERATURE = Sheet(
    name="pt100-temperature",
    about="Temperature of a platinum sensor (Pt100, Pt500, Pt1000) by its resistance.",
    inputs=(
        Input("resistance", "ohm", 10, 4000, "less that of the leads", error=0.2),
        _NOMINAL,
    ),
    work=_pt_temperature,
    formula=_PT_FORMULA,
    holds="Standard platinum (0.00385 a kelvin), -200 to 850 degC. Two leads of 0.2 "
    "ohm in all read half a kelvin high on a Pt100.",
    sources=_PT_SOURCES,
    example=("resistance=130.9ohm",),
)


def _ntc_reads(ohm: float, values: Values) -> float:
    """What a thermistor says, refused where none works."""
    celsius = ntc_celsius(ohm, values["nominal"], values["beta"])
    if not NTC_LEAST_C <= celsius <= NTC_MOST_C:
        raise SheetError(
            "that would be outside -60 to 300 degC; check nominal and beta, or look "
            "for a short or a break"
        )
    return celsius


def _ntc_ohms(values: Values) -> list[Figure]:
    celsius, nominal, beta = values["temperature"], values["nominal"], values["beta"]
    ohm = ntc_ohm(celsius, nominal, beta)
    figures = [Figure("resistance", ohm, "ohm", "by the B value")]
    if "measured" in values:
        shown = _ntc_reads(values["measured"], values)
        figures += [
            Figure("sensor says", shown, "degC", "measured, by the B value"),
            Figure("sensor is off", shown - celsius, "K", "sensor says - temperature"),
        ]
    return figures


def _ntc_temperature(values: Values) -> list[Figure]:
    celsius = _ntc_reads(values["resistance"], values)
    return [Figure("temperature", celsius, "degC", "by the B value")]


NTC_LEAST_C, NTC_MOST_C = -60.0, 300.0
_BETA = (
    Input("nominal", "ohm", 10, 500_000, "resistance at 25 degC"),
    Input("beta", "K", 1500, 6000, "B value from the data sheet"),
)
_NTC_HOLDS = (
    "Near the two temperatures that the B value was taken at (often 25 and 85 degC); "
    "far from them it is some kelvins off. Old gauge senders follow no B value: use "
    "the vehicle's own table."
)
_NTC_SOURCES = ("R = R25 exp[B (1/T - 1/298.15)]: worked-out, meaning of the B value",)
_NTC_FORMULA = ("R = R25 x exp[B x (1/T - 1/298.15)], T in kelvin",)

NTC_OHMS = Sheet(
    name="ntc-ohms",
    about="Resistance that a thermistor (falling with heat) should show, by B value.",
    inputs=(
        Input("temperature", "degC", -60, 300, "of the sensor", error=1),
        *_BETA,
        Input("measured", "ohm", 0.5, 50_000_000, "by meter", optional=True, error=1),
    ),
    work=_ntc_ohms,
    formula=_NTC_FORMULA,
    holds=_NTC_HOLDS,
    sources=_NTC_SOURCES,
    example=("temperature=80degC", "nominal=10kohm", "beta=3950"),
)

NTC_TEMPERATURE = Sheet(
    name="ntc-temperature",
    about="Temperature of a thermistor (falling with heat) by resistance and B value.",
    inputs=(Input("resistance", "ohm", 0.5, 50_000_000, "measured", error=1), *_BETA),
    work=_ntc_temperature,
    formula=_NTC_FORMULA,
    holds=_NTC_HOLDS,
    sources=_NTC_SOURCES,
    example=("resistance=1270ohm", "nominal=10kohm", "beta=3950"),
)

ZERO_SHARE, SPAN_SHARE = 0.1, 0.8
"""Part of the supply at no pressure, and what full pressure adds."""

VACUUM_KPA = 110.0
"""More than the air around can ever press, with the meter's error."""


def _pressure(values: Values) -> list[Figure]:
    if values["volts"] > values["supply"]:
        raise SheetError(
            "the signal is over its supply; measure both again, then look for a short "
            "to a higher supply"
        )
    share = (values["volts"] / values["supply"] - ZERO_SHARE) / SPAN_SHARE
    pressure = share * values["span"]
    if pressure < -VACUUM_KPA:
        raise SheetError(
            "so low a signal would be less than a vacuum; look for an open or "
            "shorted wire"
        )
    figures = [
        Figure("pressure", pressure, "kPa", "span x share"),
        Figure("share of span", share * 100, "%", "(volts / supply - 0.1) / 0.8"),
        Figure("signal", values["volts"], "V", "as measured"),
    ]
    if "gauge" in values:
        part = ZERO_SHARE + SPAN_SHARE * values["gauge"] / values["span"]
        off = pressure - values["gauge"]
        figures += [
            Figure(
                "volts it should give", part * values["supply"], "V", "by the gauge"
            ),
            Figure("sensor is off", off, "kPa", "pressure - gauge"),
        ]
    return figures


FAULT_SHARE = 0.05
"""A signal nearer than this share of the supply to either end is a fault of the wiring,
0.25 and 4.75 V on 5 V. Common practice, no source."""


def _signal_limits(values: Values) -> list[Limit]:
    """The nearer of the two ends of what a sound signal can be."""
    supply = values["supply"]
    low = values["volts"] < supply / 2
    return [
        Limit(
            supply * (FAULT_SHARE if low else 1 - FAULT_SHARE),
            Side.ABOVE if low else Side.BELOW,
            "5 % from an end of the supply, common practice",
            clears=False,
            of="signal",
            because="a bad sensor reads here too: set a gauge beside it",
            do="a wiring fault in most systems: believe no pressure from it, look for "
            "an open or shorted wire",
        )
    ]


PRESSURE_SENSOR = Sheet(
    name="pressure-sensor",
    about="Pressure from a three-wire sensor that gives 0.5 to 4.5 V on a 5 V supply.",
    inputs=(
        Input("volts", "V", 0, 6, "signal to sensor earth", error=0.02),
        Input("span", "kPa", 10, 60_000, "pressure at 4.5 V, from the sensor's label"),
        Input("supply", "V", 3, 6, "its supply, measured at its plug", 5, error=0.02),
        Input("gauge", "kPa", 0, 60_000, "a gauge beside it", optional=True, error=7),
    ),
    work=_pressure,
    formula=("pressure = span x (volts / supply - 0.1) / 0.8",),
    holds="Sensors of the 10 to 90 % kind whose signal follows the supply; others have "
    "other ends. Signals under 5 or over 95 % of the supply (0.25 and 4.75 V on 5 V) "
    "are a wiring fault in most systems.",
    sources=(
        "10 and 90 % of the supply: common-practice",
        "0.25 and 4.75 V as wiring fault: common-practice",
    ),
    example=("volts=2.90V", "span=10bar", "supply=4.90V"),
    limits=_signal_limits,
)


def _terminators(values: Values) -> list[Figure]:
    if not values["count"]:
        raise SheetError("with no terminator there is nothing to work out; give count")
    return [
        Figure("resistance", values["each"] / values["count"], "ohm", "each / count")
    ]


def _bus_ends(values: Values) -> list[Figure]:
    measured = values["measured"]
    figures = [Figure("resistance", measured, "ohm", "as measured")]
    if measured >= DEAD_SHORT_OHM:
        ends = END_OHM / measured
        figures.append(Figure("terminators seen", ends, "", "120 ohm / measured"))
    return figures


END_OHM = 120.0
"""One end of a two-wire data bus. Source: copies of ISO 11898-2 (seen)."""

DEAD_SHORT_OHM = 5.0
"""Under this no number of terminators is meant. Our choice."""

_BUS_SOURCES = (
    (
        "60 ohm with both ends, 120 with one missing, about 40 with one too "
        "many: iso-11898-2, copies of guidance to it"
    ),
    "resistors side by side: worked-out, Ohm's law",
)

TERMINATORS = Sheet(
    name="terminators",
    about="Resistance of equal bus terminators side by side.",
    inputs=(
        Input("count", "", 0, 9, "how many are fitted", 2, choices=COUNTS),
        Input("each", "ohm", 1, 10_000, "one terminator", END_OHM),
    ),
    work=_terminators,
    formula=("resistance = each / count",),
    holds="Power off, and nothing else between the two wires.",
    sources=_BUS_SOURCES,
    example=("count=2",),
)

BUS_ENDS = Sheet(
    name="bus-ends",
    about="How many 120 ohm terminators a data bus has, from its resistance.",
    inputs=(Input("measured", "ohm", 0, 100_000, "between the two wires", error=0.5),),
    work=_bus_ends,
    formula=("terminators = 120 ohm / measured",),
    holds="Battery off and the bus at rest: on a live bus a meter shows nonsense. Near "
    "nought is a short between the wires.",
    sources=(
        *_BUS_SOURCES,
        "54 to 66 ohm accepted: iso-11898-2, copies of guidance to it",
    ),
    example=("measured=60.5ohm",),
    limits=lambda _: (
        Limit(
            54,
            Side.ABOVE,
            "copies of ISO 11898-2 guidance",
            do="near nought is a short between the wires, about 40 one end too many",
        ),
        Limit(
            66,
            Side.BELOW,
            "copies of ISO 11898-2 guidance",
            do="about 120 is one end missing, far more a broken wire",
        ),
    ),
)

SHEETS = (
    PT_OHMS,
    PT_TEMPERATURE,
    NTC_OHMS,
    NTC_TEMPERATURE,
    PRESSURE_SENSOR,
    TERMINATORS,
    BUS_ENDS,
)
