"""Build-up: how long the compressor may take from one pressure to another.

Each published allowance has marks of its own; only a test between those may pass.
"""

from bot.calc.air import (
    CHOCK,
    GAUGE_ERROR_KPA,
    LOW_AIR_KPA,
    MOST_RATIO,
    TANK_SHARE,
)
from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.units import PSI_KPA

MARK_ERROR_KPA = 2.0
"""How far off a needle is called to be on a mark; the gauge's own error is much the
same at both marks and drops out of a rise. Source: our choice."""

SCALED, FLAT, OLD, EMPTY, WARNED = 0.0, 1.0, 2.0, 3.0, 4.0
_SPANS_PSI = {SCALED: (85.0, 100.0), FLAT: (85.0, 100.0), OLD: (50.0, 90.0)}
"""From and to, in psi, of each allowance that has marks of its own."""


def _allowed_s(values: Values) -> float:
    """The allowance in seconds that goes with the rule chosen."""
    if values["rule"] == SCALED:
        if "tanks" not in values or "chambers" not in values:
            raise SheetError(
                "the scaled rule needs tanks and chambers; or choose rule=flat or old"
            )
        return 25 * values["tanks"] / (TANK_SHARE * values["chambers"])
    return {FLAT: 45.0, OLD: 180.0, EMPTY: 300.0, WARNED: 180.0}[values["rule"]]


def _build_up(values: Values) -> list[Figure]:
    rise = values["end"] - values["start"]
    if rise <= 0:
        raise SheetError("end must be above start; read the gauge while it builds up")
    if values["rule"] == EMPTY and values["start"] > GAUGE_ERROR_KPA:
        raise SheetError("that rule starts from empty tanks; let the air out first")
    _refuse_short(values)
    allowed = _allowed_s(values)
    build_up, how = values["time"], "the time itself, between the rule's marks"
    if values["rule"] in _SPANS_PSI:
        low, high = _SPANS_PSI[values["rule"]]
        build_up *= (high - low) * PSI_KPA / rise
        how = f"time x ({low:.0f} to {high:.0f} psi) / (end - start)"
    if build_up < TOO_FAST * allowed:
        raise SheetError(
            "no truck's compressor is so fast: read the marks and the watch again"
        )
    return [
        Figure("build-up", build_up, "s", how),
        Figure("time allowed", allowed, "s", "by the rule chosen"),
        Figure("rise", rise, "kPa", "end - start"),
        Figure("share of it used", 100 * build_up / allowed, "%", "build-up / allowed"),
    ]


TOO_FAST = 0.1
"""A build-up in less than this share of what is allowed is a slip. Our choice."""


def _refuse_short(values: Values) -> None:
    """A span that ends before the rule's mark, which is known by the cut-out."""
    rule, cutout = values["rule"], values.get("cutout")
    if cutout is None:
        return
    if values["end"] > cutout + NEAR_KPA:
        raise SheetError("end is over cutout, where the pump stops: read both again")
    if rule == EMPTY and values["end"] < 0.8 * cutout - NEAR_KPA:
        raise SheetError("that rule ends at 80 % of cutout: let it build up further")
    if rule == WARNED and values["end"] < cutout - NEAR_KPA:
        raise SheetError("that rule ends at cutout: let it build up further")


NEAR_KPA = 5 * PSI_KPA
"""So near to a rule's mark the test is still the rule's. Our choice."""


LEAST_CUT_OUT_KPA = 85 * PSI_KPA
"""A lower cut-out passes nothing. Our choice, after the least cut-in of a bus in FMVSS
121 S5.1.1.1 (seen second-hand)."""


def _unlike_the_rule(values: Values) -> str:
    """Why a short time passes nothing, for the marks are not the rule's; or ""."""
    rule, start, end = values["rule"], values["start"], values["end"]
    if rule in _SPANS_PSI:
        low, high = _SPANS_PSI[rule]
        far = max(abs(start - low * PSI_KPA), abs(end - high * PSI_KPA))
        if far > NEAR_KPA:
            return f"time it from {low:.0f} to {high:.0f} psi"
        if rule == SCALED and values["tanks"] > MOST_RATIO * values["chambers"]:
            return "such tanks are rare: see that all chambers are counted"
        return ""
    if "cutout" not in values:
        return "give cutout, for the rule ends by it"
    if values["cutout"] < LEAST_CUT_OUT_KPA:
        return "a cut-out under 85 psi fills no tank as it should"
    if rule == WARNED and not 0.8 * LOW_AIR_KPA <= start <= 1.5 * LOW_AIR_KPA:
        return "start where the warning goes off, between 50 and 90 psi"
    return ""


def _build_up_limits(values: Values) -> list[Limit]:
    says = {
        SCALED: "FMVSS 121 S5.1.1, 25 s x tanks / required tanks; local law rules",
        FLAT: "model commercial driver manual, dual systems; no law",
        OLD: "model commercial driver manual, single systems before 1975; no law",
        EMPTY: "Western Australia r. 334, empty to 80 % of cut-out; local law rules",
        WARNED: "New Zealand manual, warning off to cut-out; local law rules",
    }[values["rule"]]
    because = _unlike_the_rule(values)
    do = "slow: see the compressor, its intake and leaks before you drive"
    return [
        Limit(
            _allowed_s(values),
            Side.BELOW,
            says,
            clears=not because,
            because=because,
            do=do,
        )
    ]


BUILD_UP = Sheet(
    name="build-up",
    about="Build-up time between two pressures against what is allowed for the tanks.",
    inputs=(
        Input("start", "kPa", 0, 1600, "first mark", error=MARK_ERROR_KPA),
        Input("end", "kPa", 0, 1600, "second mark", error=MARK_ERROR_KPA),
        Input("time", "s", 1, 3600, "from the first mark to the second", error=1),
        Input(
            "rule",
            "",
            0,
            4,
            "scaled: by tank size; flat: 45 s; old: single system, 50 to 90 psi; "
            "empty: to 80 % of cut-out; warned: from warning off to cut-out",
            FLAT,
            choices={
                "scaled": SCALED,
                "flat": FLAT,
                "old": OLD,
                "empty": EMPTY,
                "warned": WARNED,
            },
        ),
        Input("tanks", "L", 1, 1000, "all tanks of the truck", optional=True, error=2),
        Input(
            "chambers", "L", 0.1, 60, "all service chambers", optional=True, error=0.3
        ),
        Input(
            "cutout",
            "kPa",
            400,
            1600,
            "where the governor cuts out, for the rules empty and warned",
            optional=True,
            error=GAUGE_ERROR_KPA,
        ),
    ),
    work=_build_up,
    formula=(
        "scaled: allowed = 25 s x tanks / (12 x chambers), 85 to 100 psi",
        "flat: allowed = 45 s, 85 to 100 psi; old: 180 s, 50 to 90 psi",
        "empty: allowed = 5 min, 0 to 80 % of cut-out; warned: 3 min to cut-out",
        "build-up = time x rule's rise / (end - start), where its marks are in psi",
    ),
    holds="Scaled: engine at the maker's highest recommended speed, the truck's own "
    "tanks only. Flat: at operating speed. Old: at 600 to 900 rpm. Warned: at governed "
    "speed. Other marks than the psi rules' are scaled by the rise, a guess near them "
    "only, for delivery drops as pressure rises; a truck that cuts out at 105 psi or "
    "lower may not fit 85 to 100.",
    sources=(
        (
            "25 s x actual / required, 85 to 100 psi: fmvss-121, S5.1.1; "
            "nhtsa-letter-2947o, quotes it"
        ),
        (
            "required tanks 12 x chamber volume: fmvss-121, S5.1.2.1; "
            "nhtsa-letter-aiam1545, quotes it"
        ),
        (
            "45 s, and 50 to 90 psi in 3 min at 600 to 900 rpm: driver-manual, "
            "final air brake check, a manual, no law"
        ),
        (
            "empty to 80 % of cut-out in 5 min: wa-vehicles-regulations-2014, "
            "regulation 334"
        ),
        (
            "warning off to cut-out in 3 min: nz-hvsc, items 2 to 4, not "
            "passenger service"
        ),
    ),
    example=(
        "start=85psi",
        "end=100psi",
        "time=24s",
        "rule=scaled",
        "tanks=106.5L",
        "chambers=7.6L",
    ),
    limits=_build_up_limits,
    cautions=(
        CHOCK,
        "DANGER: exhaust gas kills. Run the engine in the open only.",
    ),
)

SHEETS = (BUILD_UP,)
