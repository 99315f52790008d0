"""What stands on a tyre about load and speed, and how fast one let down may run."""

import re
from types import MappingProxyType

from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.calc.workshop import counted
from bot.units import GRAVITY, PSI_KPA, SYMBOLS

FIRST_INDEX = 120
_KG = """
1400 1450 1500 1550 1600 1650 1700 1750 1800 1850
1900 1950 2000 2060 2120 2180 2240 2300 2360 2430
2500 2575 2650 2725 2800 2900 3000 3075 3150 3250
3350 3450 3550 3650 3750 3875 4000 4125 4250 4375
4500 4625 4750 4875 5000 5150 5300 5450 5600 5800
6000 6150 6300 6500 6700 6900 7100 7300 7500 7750
8000"""
LOAD_INDEX_KG = MappingProxyType(
    {FIRST_INDEX + n: float(kg) for n, kg in enumerate(_KG.split())}
)
"""Load index to kg, 120 to 180, as printed in public tyre code (seen second-hand)."""

SPEED_KMH = MappingProxyType(
    {
        "A8": 40.0,
        "B": 50.0,
        "G": 90.0,
        "J": 100.0,
        "K": 110.0,
        "L": 120.0,
        "M": 130.0,
        "N": 140.0,
        "P": 150.0,
        "Q": 160.0,
        "R": 170.0,
        "S": 180.0,
    }
)
"""Speed symbol to km/h; C to F stay out, for no source was seen for them."""

_LOAD_MARK = re.compile(r"([0-9]{3})(?:/([0-9]{3}))?([A-Z][0-9]?)?")


def _load_marked(text: str) -> tuple[Values, Values]:
    """Load indices and speed of a marking such as 164/160G."""
    found = _LOAD_MARK.fullmatch(text.strip().upper())
    if found is None:
        raise SheetError(f"'{text[:20]}' is no load index; write it as 164 or 164/160G")
    single, twin, letter = found.groups()
    values = {"index": float(single)}
    if twin:
        values["twin"] = float(twin)
    if letter:
        if letter not in SPEED_KMH:
            raise SheetError(f"no source was seen for speed {letter}: type it without")
        values["symbol"] = SPEED_KMH[letter]
    return values, {}


def _load_index(values: Values) -> list[Figure]:
    load = LOAD_INDEX_KG[counted(values, "index")]
    figures = [
        Figure("load", load, "kg", "printed table, one tyre at its reference pressure"),
        Figure("two on an axle", 2 * load, "kg", "single tyres"),
        Figure("force", load * GRAVITY / 1000, "kN", "load x 9.80665"),
    ]
    if "twin" in values:
        each = LOAD_INDEX_KG[counted(values, "twin")]
        if each > load:
            raise SheetError("twin is above index: of two numbers the first is single")
        figures.append(Figure("each of twins", each, "kg", "printed table"))
        figures.append(Figure("four on an axle", 4 * each, "kg", "two pairs of twins"))
    if "symbol" in values:
        figures.append(Figure("speed", values["symbol"], "km/h", "printed table"))
    return figures


LOAD_INDEX = Sheet(
    name="load-index",
    about="What load a tyre's load index stands for.",
    inputs=(
        Input(
            "index",
            "",
            FIRST_INDEX,
            180,
            "number on the sidewall, of two the first; or type the marking alone, such "
            "as 164/160G",
        ),
        Input("twin", "", FIRST_INDEX, 180, "second number, for twins", optional=True),
        Input("symbol", "", 40, 180, "letter", optional=True, choices=SPEED_KMH),
    ),
    work=_load_index,
    formula=("from the printed table, 120 to 180",),
    holds="At the pressure and speed that go with the marking. Axle, rim and wheel may "
    "bear less; the lowest plate counts.",
    sources=(
        (
            "load index table: un-r54, annex 4, as printed in two public "
            "collections that agree"
        ),
    ),
    example=("164/160G",),
    reads=_load_marked,
)


def _speed(values: Values) -> list[Figure]:
    return [Figure("speed", values["symbol"], "km/h", "printed table")]


SPEED_SYMBOL = Sheet(
    name="speed-symbol",
    about="What speed the letter after a tyre's load index stands for.",
    inputs=(
        Input(
            "symbol",
            "",
            40,
            180,
            "letter; C to F are left out, for no source was seen",
            choices=SPEED_KMH,
        ),
    ),
    work=_speed,
    formula=("from the printed table",),
    holds="At road pressure. A tyre let down for soft ground has a lower limit, which "
    "its maker states.",
    sources=(
        "G to S: un-r54, speed category symbols",
        "A8 and B: un-r106, speed category symbols",
    ),
    example=("symbol=G",),
)

LOADED, EMPTY = 0.0, 1.0
MPH = SYMBOLS["mph"].scale

SOFT_KMH = MappingProxyType(
    {
        LOADED: ((65 * PSI_KPA, 55 * MPH), (45 * PSI_KPA, 25 * MPH)),
        EMPTY: ((65 * PSI_KPA, 55 * MPH), (25 * PSI_KPA, 35 * MPH)),
    }
)
"""Lowered pressure in kPa, and the most km/h that went with it on forestry trucks with
radial tyres of 110 psi at most: the higher pressure first. Source: a US Forest Service
study of 1987 (45 and 25 psi) and an abstract of one on 65 psi (seen)."""

NORMAL_KPA = 110 * PSI_KPA


def _soft_speed(values: Values) -> list[Figure]:
    kpa, road = values["pressure"], values["road"]
    if road > NORMAL_KPA:
        raise SheetError("no speed was published for tyres of over 110 psi (7.6 bar)")
    if kpa >= road:
        raise SheetError("that is the road pressure: the marked speed symbol counts")
    rows = SOFT_KMH[EMPTY if values["truck"] == EMPTY else LOADED]
    row = next((row for row in rows if kpa >= row[0] * (1 - 1e-9)), None)
    if row is None:
        least = f"{rows[-1][0] / PSI_KPA:.0f} psi ({rows[-1][0] / 100:.1f} bar)"
        raise SheetError(f"no speed was published under {least}: ask the tyre's maker")
    figures = [
        Figure("speed", row[1], "km/h", "the published speed, no permission"),
        Figure("published for", row[0], "kPa", "that pressure and up"),
        Figure("share", 100 * kpa / road, "%", "pressure / road"),
    ]
    if "speed" in values:
        figures.append(Figure("your speed", values["speed"], "km/h", "as given"))
    return figures


def _soft_limits(values: Values) -> list[Limit]:
    if "speed" not in values:
        return []
    return [
        Limit(
            _soft_speed(values)[0].value,
            Side.BELOW,
            "the published one",
            clears=False,
            of="your speed",
            doubt="go slower",
            because="other tyres and loads; the tyre maker's figure decides",
            do="slow down, or fill to road pressure as fill-again allows",
        )
    ]


SOFT_TYRE_SPEED = Sheet(
    name="soft-tyre-speed",
    about="The most speed that was published for tyres let down below road pressure.",
    inputs=(
        Input("pressure", "kPa", 100, 1200, "in the tyre now", error=7),
        Input("road", "kPa", 100, 1200, "its road pressure for that load"),
        Input(
            "truck",
            "",
            0,
            1,
            "loaded unless truly empty",
            LOADED,
            choices={"loaded": LOADED, "empty": EMPTY},
        ),
        Input("speed", "km/h", 1, 150, "your speed", optional=True, error=3),
    ),
    work=_soft_speed,
    limits=_soft_limits,
    formula=(
        "loaded: 45 psi up to 25 mph; empty: 25 psi up to 35 mph; either: 65 psi up to "
        "55 mph",
    ),
    holds="What others ran, not what your tyre bears: forestry trucks on radial tyres "
    "of 90 to 110 psi, 65 psi on paved road only and not far. The tyre maker's figure "
    "for load, pressure and speed decides; without it go slower still.",
    sources=(
        ("45 psi to 25 mph loaded, 25 psi under 35 mph empty: forest-service-1987"),
        "65 psi to 55 mph: trid-359077, abstract",
    ),
    example=("pressure=45psi", "road=100psi", "speed=25km/h"),
    cautions=(
        "WARNING: a soft tyre runs hot and may burst hours later. Fill it before the "
        "hard road, and no faster than its maker allows.",
    ),
)

SHEETS = (LOAD_INDEX, SPEED_SYMBOL, SOFT_TYRE_SPEED)
