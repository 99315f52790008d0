"""Size and air volume of a tyre, from its marking or from a tape.

Lengths are in mm; a rim goes by its code in inches, such as 20 or 22.5.
"""

import math
from dataclasses import dataclass

from bot.calc.sheet import Figure, Input, Sheet, SheetError, Values
from bot.units import INCH_MM

RING_SHARE = 0.70
"""Air in a heavy tyre over the plain ring between tread, rim and sidewalls.

Our choice, between an oval outline (0.785) and thick walls taken off (0.60 to 0.69);
good to 12 %, for no published volume of a heavy truck tyre was found.
"""

WALL_TUBE, WALL_TUBELESS, WIDTH_SHARE = 1.04, 0.88, 1.06
"""Wall height over the inch code (tube type; rims that end in .5), and true width."""

INCH_LOOSE = 0.07
"""How far the share of `RING_SHARE` aside a volume by an inch code may be off: what the
errors of wall and width come to in the sheet for such tyres."""


@dataclass(frozen=True, slots=True)
class TyreSize:
    """Outer diameter, section width and nominal rim diameter, in mm."""

    diameter: float
    width: float
    rim: float


def metric_size(width_mm: float, aspect: float, rim_code: float) -> TyreSize:
    """Nominal size from width, aspect in % and rim code: diameter = rim + 2 walls.

    Source: worked examples of the size marking (seen second-hand).

    >>> metric_size(395, 85, 20)
    TyreSize(diameter=1179.5, width=395, rim=508.0)
    """
    rim = rim_code * INCH_MM
    return TyreSize(rim + 2 * width_mm * aspect / 100, width_mm, rim)


def inch_size(code: float, rim_code: float, wall: float, share: float) -> TyreSize:
    """Size from an inch code such as 14.00; `wall` and `share` scale the code.

    Our own fit to four sizes, good to 2 % on the diameter: the marking gives neither
    the wall height nor the true width.

    >>> round(inch_size(14, 20, 1.04, 1.06).diameter)
    1248
    """
    rim = rim_code * INCH_MM
    return TyreSize(rim + 2 * wall * code * INCH_MM, share * code * INCH_MM, rim)


def marked(text: str) -> tuple[float, float, float]:
    """First number, aspect (0 where there is none) and rim code of a marking.

    Raises:
        SheetError: it is no such marking as 395/85R20, 14.00R20 or 11R22.5.

    >>> marked("395/85R20"), marked("14.00-20")
    ((395.0, 85.0, 20.0), (14.0, 0.0, 20.0))
    """
    section, _, rim = text.strip().upper().replace("R", "-").partition("-")
    width, _, aspect = section.partition("/")
    try:
        numbers = [float(part) for part in (width, aspect or "0", rim)]
    except ValueError as error:
        raise SheetError(_NO_SIZE.format(text[:20])) from error
    code, share, rim_code = numbers
    is_metric = aspect and 100 <= code <= 800 and 25 <= share <= 110
    is_inch = not aspect and 5 <= code <= 30
    if (is_metric or is_inch) and 12 <= rim_code <= 30:
        return code, share, rim_code
    raise SheetError(_NO_SIZE.format(text[:20]))


def read_size(text: str) -> TyreSize:
    """The size that a marking such as 395/85R20, 14.00R20 or 11R22.5 stands for.

    Raises:
        SheetError: it is no such marking.

    >>> round(read_size("395/85R20").diameter), round(read_size("14.00-20").width)
    (1180, 377)
    """
    code, aspect, rim_code = marked(text)
    if aspect:
        return metric_size(code, aspect, rim_code)
    return inch_size(code, rim_code, _wall(rim_code), WIDTH_SHARE)


def _wall(rim_code: float) -> float:
    return WALL_TUBELESS if rim_code % 1 else WALL_TUBE


def volume_marked(text: str) -> tuple[Values, Values]:
    """Air volume of one tyre by its marking; sheets add the error by their `scale`.

    >>> round(volume_marked("14.00R20")[0]["volume"])
    269
    """
    litres = tyre_volume_l(read_size(text), RING_SHARE)
    return {"volume": litres}, {} if "/" in text else {"volume": INCH_LOOSE * litres}


def _metric_marked(text: str) -> tuple[Values, Values]:
    width, aspect, rim_code = marked(text)
    if not aspect:
        raise SheetError(f"'{text[:20]}' is marked in inches: that is inch-tyre")
    return {"width": width, "aspect": aspect, "rim": rim_code}, {}


def _inch_marked(text: str) -> tuple[Values, Values]:
    code, aspect, rim_code = marked(text)
    if aspect:
        raise SheetError(f"'{text[:20]}' is marked in mm: that is metric-tyre")
    return {"code": code, "rim": rim_code, "type": _wall(rim_code)}, {}


_NO_SIZE = "'{}' is no tyre size; write it as 395/85R20, 14.00R20 or 11R22.5"


def tyre_volume_l(size: TyreSize, share: float) -> float:
    """Air volume: a share of the ring pi/4 (D^2 - d^2) W; good to 12 % at 0.70.

    >>> round(tyre_volume_l(TyreSize(1258, 385, 508), 0.70), 1)
    280.4
    """
    ring = math.pi / 4 * (size.diameter**2 - size.rim**2) * size.width
    return share * ring / 1e6


def _size_figures(size: TyreSize, share: float) -> list[Figure]:
    if size.diameter <= size.rim:
        raise SheetError("the tyre must be larger than its rim: rim is in inches")
    wall = (size.diameter - size.rim) / 2
    volume = tyre_volume_l(size, share)
    return [
        Figure("outer diameter", size.diameter, "mm", "rim + 2 x wall"),
        Figure("wall height", wall, "mm", "(diameter - rim) / 2"),
        Figure("width", size.width, "mm", "section, without ribs and lettering"),
        Figure("volume", volume, "L", "fill x pi / 4 x (diameter^2 - rim^2) x width"),
    ]


def _metric(values: Values) -> list[Figure]:
    size = metric_size(values["width"], values["aspect"], values["rim"])
    return _size_figures(size, values["fill"])


def _inch(values: Values) -> list[Figure]:
    size = inch_size(values["code"], values["rim"], values["type"], values["share"])
    return _size_figures(size, values["fill"])


def _volume(values: Values) -> list[Figure]:
    size = TyreSize(values["diameter"], values["width"], values["rim"] * INCH_MM)
    figures = _size_figures(size, values["fill"])
    ring = Figure("whole ring", figures[3].value / values["fill"], "L", "upper bound")
    return [figures[3], ring, figures[1]]


def _marking(text: str) -> tuple[Values, Values]:
    """Diameter, width and rim of a marking, and how far a tape may find them off."""
    size = read_size(text)
    values = {
        "diameter": size.diameter,
        "width": size.width,
        "rim": size.rim / INCH_MM,
    }
    wall = (size.diameter - size.rim) / 2
    loose = 0.01 * size.diameter if "/" in text else 0.07 * wall
    return values, {"diameter": loose, "width": 0.04 * size.width}


FILL = Input(
    "fill",
    "",
    0.5,
    0.85,
    "share of the ring that is air",
    RING_SHARE,
    error=0.12 * RING_SHARE,
)
RIM = Input("rim", "", 12, 30, "rim diameter code in inches, such as 20 or 22.5")
_VOLUME_SOURCE = (
    "air is 0.70 of the ring, good to 12 %: our-choice, no published volume was found"
)
_VOLUME_HOLDS = (
    "New tyre on its rim, no run-flat insert (take its own volume off). A measured "
    "volume beats it: see tyre-volume-by-tank."
)

METRIC_TYRE = Sheet(
    name="metric-tyre",
    about="Size and air volume of a tyre marked such as 395/85R20.",
    inputs=(
        Input("width", "mm", 100, 800, "first number of the marking", error=4),
        Input("aspect", "%", 25, 110, "second number of the marking", error=1),
        RIM,
        FILL,
    ),
    work=_metric,
    formula=("diameter = rim x 25.4 + 2 x width x aspect", "volume = fill x ring"),
    holds=f"Nominal: a new tyre is about 1 % either way. {_VOLUME_HOLDS}",
    sources=(
        "width good to 4 mm, aspect to 1 %: our-choice",
        ("diameter from the marking: un-r54, size designation, sections 2 and 6.1.2"),
        _VOLUME_SOURCE,
    ),
    example=("395/85R20",),
    reads=_metric_marked,
)

INCH_TYRE = Sheet(
    name="inch-tyre",
    about="Size and air volume of a tyre marked in inches, such as 14.00R20.",
    inputs=(
        Input("code", "", 5, 30, "first number of the marking"),
        RIM,
        Input(
            "type",
            "",
            0.5,
            1.5,
            "tubeless where the rim code ends in .5",
            WALL_TUBE,
            error=0.035,
            choices={"tube": WALL_TUBE, "tubeless": WALL_TUBELESS},
        ),
        Input("share", "", 0.9, 1.3, "true width / code", WIDTH_SHARE, error=0.04),
        FILL,
    ),
    work=_inch,
    formula=(
        "diameter = rim x 25.4 + 2 x 1.04 x code x 25.4 (tubeless 0.88)",
        "width = 1.06 x code x 25.4",
        "volume = fill x ring",
    ),
    holds="The marking gives neither wall nor width: measure the round of the tyre and "
    f"its width, and use tyre-volume. {_VOLUME_HOLDS}",
    sources=(
        (
            "1.04 and 1.06 of the code: our-choice, fitted to four sizes from "
            "10.00R20 to 16.00R20, two of them from memory"
        ),
        "0.88 for tubeless: common-practice, a glossary that cannot be named",
        _VOLUME_SOURCE,
    ),
    example=("14.00R20",),
    reads=_inch_marked,
)

TYRE_VOLUME = Sheet(
    name="tyre-volume",
    about="Air volume of a tyre from its marking, or better from its measured size.",
    inputs=(
        Input("diameter", "mm", 400, 2200, "over the tread", error=5),
        Input("width", "mm", 100, 900, "over the sidewalls, unloaded", error=5),
        RIM,
        FILL,
    ),
    work=_volume,
    formula=("volume = fill x pi / 4 x (diameter^2 - (rim x 25.4)^2) x width",),
    holds=f"A marking says less than a tape: 395/85R20 gives the nominal size, "
    f"14.00R20 not even that. {_VOLUME_HOLDS}",
    sources=(_VOLUME_SOURCE, "ring: worked-out, Pappus's rule"),
    example=("395/85R20",),
    reads=_marking,
)

FILL_CAUTIONS = (
    "DANGER: a tyre found at or below 80 % of its recommended pressure, or damaged, "
    "can burst while it is filled. Work out fill-again first.",
    "WARNING: clip-on chuck, in-line valve, long hose; stand in line with the tread, "
    "never before the sidewall. Do not leave it.",
    "WARNING: never above the pressure marked on tyre or rim.",
    "WARNING: a bead that does not seat by 40 psi (276 kPa, OSHA chart): stop, let all "
    "air out and find out why.",
    "WARNING: chock the wheels, keep the brake tanks above their protection pressure, "
    "and lead the exhaust out of the building.",
)
"""Stand wherever air goes into a tyre."""


def _by_tank(values: Values) -> list[Figure]:
    fall = values["tankstart"] - values["tankend"]
    rise = values["tyreend"] - values["tyrestart"]
    if fall <= 0 or rise <= 0:
        raise SheetError("the tank must fall and the tyre rise: read both again")
    if values["tyreend"] > values["tankend"]:
        raise SheetError("the tyre cannot end above the tank: check the two gauges")
    return [
        Figure("volume", values["tank"] * fall / rise, "L", "tank x fall / rise"),
        Figure("fall of the tank", fall, "kPa", "tankstart - tankend"),
        Figure("rise of the tyre", rise, "kPa", "tyreend - tyrestart"),
    ]


VOLUME_BY_TANK = Sheet(
    name="tyre-volume-by-tank",
    about="Air volume of a tyre, measured with a tank of known volume.",
    inputs=(
        Input("tank", "L", 5, 2000, "volume of the tank and hose", error=1),
        Input("tankstart", "kPa", 1, 1600, "tank before", error=7),
        Input("tankend", "kPa", 0, 1600, "tank after", error=7),
        Input("tyrestart", "kPa", 0, 1200, "tyre before", error=7),
        Input("tyreend", "kPa", 1, 1200, "tyre after", error=7),
    ),
    work=_by_tank,
    formula=("volume = tank x (tankstart - tankend) / (tyreend - tyrestart)",),
    holds="Compressor off, nothing else on the tank, air let across slowly, and both "
    "left to cool before they are read. Make the tyre rise by 100 kPa or more.",
    sources=("what leaves the tank enters the tyre: worked-out, Boyle's law",),
    example=(
        "tank=60L",
        "tankstart=8bar",
        "tankend=3bar",
        "tyrestart=1bar",
        "tyreend=2.07bar",
    ),
    cautions=FILL_CAUTIONS,
)

SHEETS = (METRIC_TYRE, INCH_TYRE, TYRE_VOLUME, VOLUME_BY_TANK)
