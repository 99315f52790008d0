"""Air in tanks: how fast it is lost and how fast it builds up.

All functions take and give plain floats in the units that their names end in; pressures
are gauge unless the name says `abs`. Free air is air as the compressor draws it in.
"""

from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values
from bot.units import PSI_KPA

SEA_LEVEL_KPA = 101.325
"""Standard atmosphere at sea level. Source: ISO 2533 (seen second-hand)."""

GAUGE_ERROR_KPA = 7.0
"""How far a reading on a dashboard gauge may be off. Source: our choice, 1 psi."""

MARK_ERROR_KPA = 2.0
"""How far off a needle is called to be on a mark; the gauge's own error is much the
same at both marks and drops out of a rise. Source: our choice."""

CHOCK = (
    "WARNING: brakes may slam on or let go as pressure changes. Chock the wheels "
    "both ways first."
)


def free_air_l(volume_l: float, rise_kpa: float, around_kpa: float) -> float:
    """Free air that raises a closed volume by so much, at the same temperature, in L.

    Source: Boyle's law.

    >>> round(free_air_l(100, 800, 101.325), 1)
    789.5
    """
    return volume_l * rise_kpa / around_kpa


def fallen_kpa(values: Values) -> float:
    """How far the pressure fell from start to end, in kPa.

    Raises:
        SheetError: it rose.
    """
    fall = values["start"] - values["end"]
    if fall < 0:
        raise SheetError("the pressure rose; something still fills the tank: shut it")
    return fall


START = Input("start", "kPa", 0, 1600, "gauge at the start", error=GAUGE_ERROR_KPA)
END = Input("end", "kPa", 0, 1600, "gauge at the end", error=GAUGE_ERROR_KPA)
CHARGED = Input("start", "kPa", 50, 1600, "gauge before", error=GAUGE_ERROR_KPA)
TIME = Input("time", "min", 0.1, 10_000, "minutes between the two", error=0.05)
VOLUME = Input("volume", "L", 1, 3000, "all tanks that hang together")
AROUND = Input(
    "around",
    "kPa abs",
    30,
    110,
    "air pressure outside; sea level unless said",
    SEA_LEVEL_KPA,
)
BOYLE = "free air: Boyle's law (law of physics)"


# --- how fast a parked system loses pressure

SINGLE, COMBINATION, TRIPLE = 1.0, 2.0, 3.0
OFF, ON = 0.0, 1.0
MANUAL, ONTARIO, QUEBEC = 0.0, 1.0, 2.0

CHARGED_KPA, SHORT_TEST_MIN = 90 * PSI_KPA, 30.0
"""A leak test starts from a charged system and lasts minutes; otherwise its figure can
reject and clears nothing. Source: 90 psi on the pedal, model commercial driver manual
section 5.3 (seen second-hand); half an hour is our choice."""

_MANUAL_PSI = {
    (SINGLE, OFF): 2,
    (COMBINATION, OFF): 3,
    (TRIPLE, OFF): 5,
    (SINGLE, ON): 3,
    (COMBINATION, ON): 4,
    (TRIPLE, ON): 6,
}
_ONTARIO_KPA = {SINGLE: 21.0, COMBINATION: 28.0, TRIPLE: 28.0}
_QUEBEC_KPA = {SINGLE: 40.0, COMBINATION: 48.0, TRIPLE: 62.0}


LOW_AIR_KPA = 60 * PSI_KPA
"""The usual low-air mark. Source: model commercial driver manual section 5 (seen
second-hand)."""


def _refuse_low(start_kpa: float) -> None:
    """A system near its low-air mark is not tested but filled."""
    if start_kpa < LOW_AIR_KPA:
        raise SheetError(
            "under 60 psi (4.1 bar) brakes may fail: do not drive, fill to cut-out, "
            "then test"
        )


def _leak_rate(values: Values) -> list[Figure]:
    if values["rule"] != MANUAL and values["brakes"] == OFF:
        raise SheetError(
            "Ontario and Quebec test with the pedal down; test with brakes=applied"
        )
    _refuse_low(values["start"])
    fall = fallen_kpa(values)
    rate = fall / values["time"]
    figures = [
        Figure("leak", rate, "kPa/min", "fall / time, not yet corrected for cooling"),
        Figure("fall", fall, "kPa", "start - end"),
    ]
    if "volume" in values:
        lost = free_air_l(values["volume"], rate, values["around"])
        figures.append(Figure("free air lost", lost, "L/min", "volume x leak / around"))
    return figures


def _leak_limits(values: Values) -> list[Limit]:
    vehicle, rule = values["vehicle"], values["rule"]
    if rule == ONTARIO:
        says = "Ontario daily test, pedal down: more is a major defect; local law rules"
        return [Limit(_ONTARIO_KPA[vehicle], Side.BELOW, says)]
    if rule == QUEBEC:
        says = "Quebec C-24.2 r. 32 s. 166, one minute, pedal down; local law rules"
        return [Limit(_QUEBEC_KPA[vehicle], Side.BELOW, says)]
    allowed = _MANUAL_PSI[vehicle, values["brakes"]]
    says = f"{allowed} psi/min, model commercial driver manual section 5; no law"
    if vehicle == TRIPLE:
        says = f"{allowed} psi/min, a licence office's check as quoted; no law"
    full = values["start"] >= CHARGED_KPA and values["time"] <= SHORT_TEST_MIN
    clears = vehicle != TRIPLE and full
    return [Limit(allowed * PSI_KPA, Side.BELOW, says, clears=clears)]


LEAK_RATE = Sheet(
    name="leak-rate",
    about="How fast a parked air system loses pressure, engine off.",
    inputs=(
        START,
        END,
        TIME,
        Input(
            "vehicle",
            "",
            1,
            3,
            "truck alone, with a trailer, or three in a row",
            SINGLE,
            choices={"single": SINGLE, "combination": COMBINATION, "triple": TRIPLE},
        ),
        Input(
            "brakes", "", 0, 1, "pedal", OFF, choices={"released": OFF, "applied": ON}
        ),
        Input(
            "rule",
            "",
            0,
            2,
            "whose limit to hold it against",
            MANUAL,
            choices={"manual": MANUAL, "ontario": ONTARIO, "quebec": QUEBEC},
        ),
        Input("volume", "L", 1, 3000, VOLUME.says, optional=True),
        AROUND,
    ),
    work=_leak_rate,
    formula=("leak = (start - end) / time", "free air = volume x leak / around"),
    holds="Tanks settled and at one temperature: a fast fill ends hot, and a tank that "
    "cools by 20 K from 8 bar falls by half a bar without any leak (cold-fall takes "
    "that off). The limits were written for tanks of the least size; large tanks hide "
    "a large leak, so look at the free air too. From under 90 psi, or over more than "
    "half an hour, nothing is cleared.",
    sources=(
        "2 and 3 psi/min released, 3 and 4 applied, single and combination: model "
        "commercial driver manual, section 5.3 (seen second-hand); a manual, no law",
        "5 and 6 psi/min for three vehicles: a licence office's in-cab check as quoted "
        "(seen second-hand)",
        "21 and 28 kPa/min applied: Ontario truck handbook, 6-1-4 (seen)",
        "40, 48 and 62 kPa in one minute applied: Quebec C-24.2 r. 32 s. 166 (seen)",
        BOYLE,
    ),
    example=("start=8.2bar", "end=8.0bar", "time=5min", "volume=100L"),
    limits=_leak_limits,
    cautions=(CHOCK,),
)


# --- what a service tank loses when the supply side is emptied


def _supply_loss(values: Values) -> list[Figure]:
    _refuse_low(values["start"])
    fall = fallen_kpa(values)
    return [
        Figure("loss rate", fall / values["time"], "kPa/min", "fall / time"),
        Figure("kept", 100 * values["end"] / values["start"], "%", "end / start"),
        Figure("fall", fall, "kPa", "start - end"),
    ]


def _supply_limits(_: Values) -> list[Limit]:
    says = "10 psi in 10 min, agency letter of 1977 on check valves; local law rules"
    return [Limit(PSI_KPA, Side.BELOW, says)]


SUPPLY_LOSS = Sheet(
    name="supply-loss",
    about="How well a check valve keeps a brake tank when the supply side is emptied.",
    inputs=(CHARGED, END, TIME),
    work=_supply_loss,
    formula=("loss rate = (start - end) / time", "kept = end / start"),
    holds="Engine off, wet tank drained, this tank's own leaks measured before; test "
    "each circuit by itself, and for ten minutes.",
    sources=(
        "at most 10 psi in 10 min counts as protected: NHTSA letter aiam2670 of 1977 "
        "on FMVSS 121 S5.1.2.3 (seen)",
    ),
    example=("start=110psi", "end=107psi", "time=10min"),
    limits=_supply_limits,
    cautions=(
        CHOCK,
        "CAUTION: a drain throws water, oil and grit. Eyes covered, face turned away.",
    ),
)


# --- build-up time against the published allowance

SCALED, FLAT, OLD, EMPTY, WARNED = 0.0, 1.0, 2.0, 3.0, 4.0
_SPANS_PSI = {SCALED: (85.0, 100.0), FLAT: (85.0, 100.0), OLD: (50.0, 90.0)}
"""From and to, in psi, of each allowance that has marks of its own."""

TANK_SHARE = 12.0
"""Tanks for each litre of service chambers: FMVSS 121 S5.1.2.1 (seen)."""


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
    allowed = _allowed_s(values)
    build_up, how = values["time"], "the time itself, between the rule's marks"
    if values["rule"] in _SPANS_PSI:
        low, high = _SPANS_PSI[values["rule"]]
        build_up *= (high - low) * PSI_KPA / rise
        how = f"time x ({low:.0f} to {high:.0f} psi) / (end - start)"
    return [
        Figure("build-up", build_up, "s", how),
        Figure("time allowed", allowed, "s", "by the rule chosen"),
        Figure("rise", rise, "kPa", "end - start"),
        Figure("share of it used", 100 * build_up / allowed, "%", "build-up / allowed"),
    ]


def _build_up_limits(values: Values) -> list[Limit]:
    says = {
        SCALED: "FMVSS 121 S5.1.1, 25 s x tanks / required tanks; local law rules",
        FLAT: "model commercial driver manual, dual systems; no law",
        OLD: "model commercial driver manual, single systems before 1975; no law",
        EMPTY: "Western Australia r. 334, empty to 80 % of cut-out; local law rules",
        WARNED: "New Zealand manual, warning off to cut-out; local law rules",
    }[values["rule"]]
    return [Limit(_allowed_s(values), Side.BELOW, says)]


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
        Input("tanks", "L", 1, 1000, "all tanks of the truck", optional=True),
        Input("chambers", "L", 0.1, 60, "all service chambers", optional=True),
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
        "25 s x actual / required, 85 to 100 psi: FMVSS 121 S5.1.1 in NHTSA letter "
        "2947o (seen)",
        "required tanks 12 x chamber volume: FMVSS 121 S5.1.2.1, letter aiam1545 "
        "(seen)",
        "45 s, and 50 to 90 psi in 3 min at 600 to 900 rpm: model commercial driver "
        "manual, final air brake check (seen second-hand); a manual, no law",
        "empty to 80 % of cut-out in 5 min: Western Australia Road Traffic (Vehicles) "
        "Regulations 2014 r. 334 (seen)",
        "warning off to cut-out in 3 min: New Zealand heavy vehicle certification "
        "manual, air brakes, not passenger service (seen)",
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

SHEETS = (LEAK_RATE, SUPPLY_LOSS, BUILD_UP)
