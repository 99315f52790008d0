"""Air and weather: height, water, and tanks that cool.

All functions take and give plain floats in the units that their names end in; pressures
are gauge unless the name says `abs`.
"""

import math

from bot.calc.air import (
    AROUND,
    BOYLE,
    END,
    GAUGE_ERROR_KPA,
    SEA_LEVEL_KPA,
    START,
    TIME,
    ends_low,
    low_end,
    low_end_limits,
)
from bot.calc.airflow import GAS_CONSTANT, ZERO_C_K
from bot.calc.compressor import filling_share
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.units import PSI_KPA

EARTH_M, SEA_LEVEL_K, LAPSE_K_M, EXPONENT = 6_356_766.0, 288.15, 0.0065, 5.255876
"""Earth radius, temperature at sea level, its fall with height and the exponent of the
standard atmosphere. Source: US Standard Atmosphere 1976 (seen second-hand)."""

VAPOUR_CONSTANT = 461.5
"""Gas constant of water vapour, J/(kg K). Source: WMO-No. 8 (seen second-hand)."""

VAPOUR_SHARE = 0.622
"""Weight of a water molecule over that of air. Source: WMO-No. 8 (seen
second-hand)."""


def geopotential_m(height_m: float) -> float:
    """Height in the standard atmosphere's own metres, from one read off a map.

    Source: US Standard Atmosphere 1976.

    >>> round(geopotential_m(5000), 2)
    4996.07
    """
    return EARTH_M * height_m / (EARTH_M + height_m)


def standard_degc(height_m: float) -> float:
    """Temperature of the standard atmosphere; geopotential height, 0 to 11 km.

    Source: US Standard Atmosphere 1976.

    >>> standard_degc(4000)
    -11.0
    """
    return SEA_LEVEL_K - ZERO_C_K - LAPSE_K_M * height_m


def standard_abs_kpa(height_m: float) -> float:
    """Pressure of the standard atmosphere; geopotential height, 0 to 11 km.

    Source: US Standard Atmosphere 1976.

    >>> round(standard_abs_kpa(4000), 2)
    61.64
    """
    return SEA_LEVEL_KPA * math.pow(1 - LAPSE_K_M * height_m / SEA_LEVEL_K, EXPONENT)


def air_density_kg_m3(abs_kpa: float, temperature_degc: float) -> float:
    """Density of dry air, in kg per cubic metre. Source: gas law.

    >>> round(air_density_kg_m3(101.325, 15), 4)
    1.225
    """
    return abs_kpa * 1000 / (GAS_CONSTANT * (temperature_degc + ZERO_C_K))


def air_at_kpa(height_m: float) -> float:
    """Outside pressure at a height read off a map, standard atmosphere, up to 11 km.

    >>> round(air_at_kpa(3000), 2)
    70.12
    """
    return standard_abs_kpa(geopotential_m(height_m))


def saturation_hpa(temperature_degc: float) -> float:
    """Pressure of water vapour over water, in hPa; good to 0.5 % from 0 to 50 degC.

    Source: Magnus form of WMO-No. 8 (2008), seen second-hand.

    >>> round(saturation_hpa(20), 2)
    23.33
    """
    return 6.112 * math.exp(17.62 * temperature_degc / (243.12 + temperature_degc))


def dew_point_degc(vapour_hpa: float) -> float:
    """Temperature at which that vapour pressure is all the air can hold.

    Source: the Magnus form turned round.

    >>> round(dew_point_degc(saturation_hpa(30)), 6)
    30.0
    """
    log = math.log(vapour_hpa / 6.112)
    return 243.12 * log / (17.62 - log)


# --- a tank that cools

WARMTH_ERROR_K = 2.0
"""How far off the temperature of a tank may be. Source: our choice."""


def _cold_fall(values: Values) -> list[Figure]:
    fall = values["start"] - values["end"]
    inside = values["start"] + values["around"]
    warm, cold = values["before"] + ZERO_C_K, values["after"] + ZERO_C_K
    cooling = inside * (1 - cold / warm)
    rest = fall - cooling
    figures = [
        Figure("leak", rest / values["time"], "kPa/min", "(fall - cooling) / time"),
        Figure("leaked", rest, "kPa", "fall - cooling"),
        Figure("cooling", cooling, "kPa", "(start + around) x (1 - after / before), K"),
        Figure("fall", fall, "kPa", "start - end"),
        Figure("end if tight", values["start"] - cooling, "kPa", "start - cooling"),
    ]
    if "volume" in values:
        lost = rest / values["time"] * values["volume"] / values["around"]
        figures.append(Figure("free air lost", lost, "L/min", "volume x leak / around"))
    return [*figures, *low_end(values)]


def _cold_limits(values: Values) -> list[Limit]:
    long = "a long test says little of a full system; work out leak-rate"
    return [
        Limit(
            0.0,
            Side.BELOW,
            "nothing but cooling",
            clears=False,
            of="leaked",
            doubt="no leak beyond cooling, as far as these readings tell",
            because="it fell by less; the tank is warmer than said, or air came in",
            do="it leaks",
        ),
        Limit(
            2 * PSI_KPA,
            Side.BELOW,
            "2 psi/min off the pedal, model commercial driver manual section 5; no law",
            clears=False,
            because=ends_low(values) or long,
            do="do not drive; find the leak",
        ),
        *low_end_limits(values),
    ]


COLD_FALL = Sheet(
    name="cold-fall",
    about="A long leak test with the cooling of the tank taken off.",
    inputs=(
        START,
        END,
        TIME,
        Input("before", "degC", -60, 120, "tank at the start", error=WARMTH_ERROR_K),
        Input("after", "degC", -60, 120, "tank at the end", error=WARMTH_ERROR_K),
        Input("volume", "L", 1, 3000, "all tanks that hang together", optional=True),
        AROUND,
    ),
    work=_cold_fall,
    limits=_cold_limits,
    formula=(
        "cooling = (start + around) x (1 - after / before), temperatures in K",
        "leak = (start - end - cooling) / time",
    ),
    holds="Temperatures of the tanks themselves, not of the air about them; shut "
    "tanks; the same air pressure outside at both readings. Water that condenses "
    "takes away some tenths of a percent more.",
    sources=(
        "pressure goes with absolute temperature: worked-out, gas law",
        BOYLE,
    ),
    example=(
        "start=8bar",
        "end=7.4bar",
        "time=600min",
        "before=40degC",
        "after=20degC",
    ),
    cautions=(
        "WARNING: brakes may slam on as pressure is lost overnight, or let go later. "
        "Chock the wheels both ways first.",
    ),
)


# --- height


def _altitude(values: Values) -> list[Figure]:
    low, high = geopotential_m(values["from"]), geopotential_m(values["height"])
    here, there = standard_abs_kpa(low), standard_abs_kpa(high)
    warmth = standard_degc(high)
    density = air_density_kg_m3(there, values.get("temperature", warmth))
    standard = air_density_kg_m3(SEA_LEVEL_KPA, SEA_LEVEL_K - ZERO_C_K)
    figures = [
        Figure("air pressure", there, "kPa abs", "101.325 (1 - 0.0065 H/288.15)^5.256"),
        Figure("share of sea level", 100 * there / SEA_LEVEL_KPA, "%", "/ 101.325"),
        Figure("density share", 100 * density / standard, "%", "p / (R T) / 1.225"),
        Figure("temperature", warmth, "degC", "15 - 0.0065 H"),
        Figure("fill factor", here / there, "", "pressure at from / pressure here"),
        Figure(
            "gauge change", here - there, "kPa", "a shut tank brought up reads more"
        ),
    ]
    if "pressure" in values:
        figures += _tank_up_there(values["pressure"], here, there)
    return figures


def _tank_up_there(gauge: float, here: float, there: float) -> list[Figure]:
    """What a tank reads there, and how much longer it takes to fill."""
    shares = [filling_share(0.05, (gauge + p) / p) for p in (here, there)]
    if min(shares) <= 0:
        raise SheetError("no single-stage compressor reaches that pressure up there")
    longer = here / there * shares[0] / shares[1]
    by = "fill factor x filling at from / filling here; clearance 5 %"
    return [
        Figure("gauge there", gauge + here - there, "kPa", "pressure + gauge change"),
        Figure("fill factor, piston", longer, "", by),
    ]


ALTITUDE = Sheet(
    name="altitude",
    about="What height does to air pressure, to gauges and to the time to fill tanks.",
    inputs=(
        Input("height", "m", -430, 6000, "above sea, as on a map", error=10),
        Input("from", "m", -430, 6000, "height to compare with", 0.0),
        Input("pressure", "kPa", 0, 1600, "a tank's gauge at from", optional=True),
        Input("temperature", "degC", -60, 60, "of the air there", optional=True),
    ),
    work=_altitude,
    formula=(
        "p = 101.325 kPa x (1 - 0.0065 H / 288.15) ^ 5.255876",
        "H = 6356766 x height / (6356766 + height)",
        "fill factor = p at from / p at height",
    ),
    holds="A standard day; weather moves the pressure by some 3 %. The shut tank keeps "
    "its temperature. The fill factor is for the same speed and a compressor that "
    "fills as well as below; the piston one lets it fill worse, which it does.",
    sources=(
        "air at height: us-standard-atmosphere-1976, same as ISO 2533 here",
        (
            "piston filling 1 + c - c r^(1/n): worked-out, the air left in the "
            "dead space expands again"
        ),
        "clearance 5 %, n 1.3: our-choice",
    ),
    example=("height=3000m", "pressure=8bar"),
)


# --- water

PUMPED_HOUR_MIN = 60.0


def _air_water(values: Values) -> list[Figure]:
    around = values["around"] * 10
    inside = (values["pressure"] + values["around"]) * 10
    vapour = values["humidity"] / 100 * saturation_hpa(values["intake"])
    full = saturation_hpa(values["tank"])
    if vapour >= around or full >= inside:
        raise SheetError("the air would be all steam; check temperatures and pressure")
    kelvin = values["intake"] + ZERO_C_K
    dry = (around - vapour) * 1e5 / (GAS_CONSTANT * kelvin)
    drawn = vapour * 1e5 / (VAPOUR_CONSTANT * kelvin)
    stays = min(drawn, dry * VAPOUR_SHARE * full / (inside - full))
    dropped = drawn - stays
    litres = values["delivery"] * values["duty"] / 100 * PUMPED_HOUR_MIN
    dew = dew_point_degc(vapour * inside / around)
    word = "drawn in - stays" if dropped else "none: the tank is warmer than the dew"
    return [
        Figure("water", dropped * litres / 1000, "g/h", "dropped x delivery x duty"),
        Figure("dropped", dropped, "g/m3", word),
        Figure("drawn in", drawn, "g/m3", "humidity x saturation / (461.5 T)"),
        Figure(
            "stays in the air", stays, "g/m3", "dry air x 0.622 e / (p - e) in tank"
        ),
        Figure("dew point in tank", dew, "degC", "of the air before it has cooled"),
    ]


AIR_WATER = Sheet(
    name="air-water",
    about="Water that drops out in the tanks while the compressor works.",
    inputs=(
        Input("delivery", "L/min", 1, 5000, "free air while it pumps"),
        Input("pressure", "kPa", 0, 1600, "gauge in the tank", error=GAUGE_ERROR_KPA),
        Input("intake", "degC", -40, 60, "of the air drawn in", error=2),
        Input("humidity", "%", 1, 100, "of the air drawn in", error=5),
        Input("tank", "degC", -40, 90, "of the air when it has cooled", error=2),
        Input("duty", "%", 1, 100, "share of the time it pumps", 100),
        AROUND,
    ),
    work=_air_water,
    formula=(
        "e = 6.112 x exp(17.62 t / (243.12 + t)) hPa, times humidity",
        "stays = dry air x 0.622 e / (p - e), p absolute, saturated in the tank",
        "water = (drawn in - stays) x delivery x duty",
    ),
    holds="No dryer; air saturated when it leaves the tank. Over liquid water: under "
    "0 degC it is a guess, and what drops is ice.",
    sources=(
        "saturation: wmo-no-8, Magnus form",
        "mixing ratio: worked-out, gas law",
    ),
    example=(
        "delivery=150L/min",
        "pressure=8bar",
        "intake=30degC",
        "humidity=80%",
        "tank=30degC",
        "duty=20%",
    ),
)

SHEETS = (COLD_FALL, ALTITUDE, AIR_WATER)
