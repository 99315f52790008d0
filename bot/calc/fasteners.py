"""Bolts and nuts: what they carry, and what a torque makes of it.

Metric bolts of the strength classes of ISO 898-1. All functions take and give plain
floats in the units that their names end in. A torque wrench sets friction first and
clamp load second, so every clamp load here is off by a quarter or more.
"""

import math
import re
from dataclasses import replace
from types import MappingProxyType

from bot.calc.sheet import Figure, Input, Limit, Sheet, SheetError, Side, Values

_PROOF_MPA = MappingProxyType(
    {4.6: 225.0, 5.8: 380.0, 8.8: 600.0, 10.9: 830.0, 12.9: 970.0}
)
"""Proof stress by class; 8.8 to 16 mm has 580. Source: tables after ISO 898-1, but for
5.8 in two sellers' pages (seen second-hand)."""

_COARSE_MM = MappingProxyType(
    {
        6.0: 1.0,
        8.0: 1.25,
        10.0: 1.5,
        12.0: 1.75,
        14.0: 2.0,
        16.0: 2.0,
        18.0: 2.5,
        20.0: 2.5,
        22.0: 2.5,
        24.0: 3.0,
        27.0: 3.0,
        30.0: 3.5,
        33.0: 3.5,
        36.0: 4.0,
    }
)
"""Coarse pitch by size. Source: ISO 261 (from memory); stress areas that follow from
all but 33 mm agree with a printed table (seen)."""

RUSTY, SLICK = 0.30, 0.12
"""Friction factors of rusty threads and of anti-seize paste. Source: engineering pages
(seen second-hand)."""


def stress_area_mm2(size_mm: float, pitch_mm: float) -> float:
    """Area of a thread that carries the load, in mm2.

    Formula: pi/4 (size - 0.9382 pitch)^2. Limits: ISO metric threads.
    Source: ISO 898-1, in a public calculator's text (seen second-hand).

    >>> round(stress_area_mm2(12, 1.75), 1)
    84.3
    """
    if not 0 < pitch_mm < size_mm / 2:
        raise ValueError("no such thread")
    return math.pi / 4 * (size_mm - 0.9382 * pitch_mm) ** 2


def proof_mpa(grade: float, size_mm: float) -> float:
    """Stress that a bolt of a class bears without lasting stretch, in MPa.

    Source: ISO 898-1, see the table.

    >>> proof_mpa(8.8, 16), proof_mpa(8.8, 20)
    (580.0, 600.0)
    """
    return 580.0 if grade == 8.8 and size_mm <= 16 else _PROOF_MPA[grade]


def torque_nm(force_kn: float, size_mm: float, friction: float) -> float:
    """Torque that clamps with a force, in N m.

    Formula: friction factor x size x force. Limits: the factor stands for thread and
    head friction together and is good to a quarter at best.
    Source: engineering pages after a textbook (seen second-hand).

    >>> round(torque_nm(34.23, 12, 0.20), 1)
    82.2
    """
    return friction * size_mm * force_kn


def clamp_kn(torque_nm: float, size_mm: float, friction: float) -> float:
    """Force with which a torque clamps, in kN: the inverse of `torque_nm`.

    >>> clamp_kn(50, 10, 0.20)
    25.0
    """
    if friction <= 0:
        raise ValueError("no friction factor")
    return torque_nm / (friction * size_mm)


def _pitch(values: Values) -> float:
    """The pitch given, or the coarse one of that size."""
    pitch = values.get("pitch", _COARSE_MM.get(values["size"]))
    if pitch is None:
        raise SheetError("that size has no usual coarse pitch here; give pitch=")
    if pitch > values["size"] / 4:
        raise SheetError("that pitch is too coarse for the size; measure both again")
    return pitch


def _area_and_proof(values: Values) -> tuple[float, float]:
    """Stress area in mm2 and proof load in kN."""
    area = stress_area_mm2(values["size"], _pitch(values))
    return area, area * proof_mpa(values["class"], values["size"]) / 1000


def _strength(values: Values) -> list[Figure]:
    area, proof = _area_and_proof(values)
    return [
        Figure("proof load", proof, "kN", "stress area x proof stress"),
        Figure("stress area", area, "mm2", "pi/4 (size - 0.9382 pitch)^2"),
        Figure("pitch", _pitch(values), "mm", "as given, or coarse"),
    ]


def _clamped(values: Values, torque: float) -> list[Figure]:
    """What one torque clamps with rusty and with slick threads."""
    size, load = values["size"], "clamp load at this torque, friction"
    return [
        Figure("rusty threads", clamp_kn(torque, size, RUSTY), "kN", f"{load} 0.30"),
        Figure("anti-seize", clamp_kn(torque, size, SLICK), "kN", f"{load} 0.12"),
    ]


def _torque(values: Values) -> list[Figure]:
    area, proof = _area_and_proof(values)
    force = proof * values["share"] / 100
    torque = torque_nm(force, values["size"], values["friction"])
    return [
        Figure("torque", torque, "N m", "friction x size x clamp load"),
        Figure("clamp load", force, "kN", "share x proof load"),
        Figure("proof load", proof, "kN", "stress area x proof stress"),
        Figure("stress area", area, "mm2", "pi/4 (size - 0.9382 pitch)^2"),
        *_clamped(values, torque),
    ]


def _pulled(values: Values) -> float:
    """Torque on the nut in N m: what the wrench shows and its error."""
    return values["torque"] * (1 + values["wrench"] / 100)


def _clamp(values: Values) -> list[Figure]:
    area, proof = _area_and_proof(values)
    torque = _pulled(values)
    force = clamp_kn(torque, values["size"], values["friction"])
    return [
        Figure("clamp load", force, "kN", "torque / (friction x size)"),
        Figure("of proof load", 100 * force / proof, "%", "clamp load / proof load"),
        Figure("proof load", proof, "kN", "stress area x proof stress"),
        Figure("stress area", area, "mm2", "pi/4 (size - 0.9382 pitch)^2"),
        *_clamped(values, torque),
    ]


def _clamp_limits(values: Values) -> list[Limit]:
    """Past proof a bolt is spoilt; below it nothing is said of the joint."""
    _, proof = _area_and_proof(values)
    says = "proof load after ISO 898-1; the maker's torque decides"
    return [Limit(proof, Side.BELOW, says, clears=False, doubt="treat it as over")]


def _usual_nm(values: Values) -> float:
    """Torque that such a stud usually gets, in N m.

    Formula: half the proof load at a friction factor of 0.20. Limits: our choice; it
    gives 608 N m for M22 x 1.5 of class 10.9, where one maker has 610 to 678 (seen).
    """
    _, proof = _area_and_proof(values)
    return torque_nm(proof / 2, values["size"], 0.20)


def _nut(values: Values) -> list[Figure]:
    usual, torque = _usual_nm(values), _pulled(values)
    maker = values.get("maker", usual)
    if not 0.5 <= maker / usual <= 2:
        raise SheetError(
            f"maker={maker:g} N m is far from the {usual:.0f} N m that such a stud "
            "usually gets; check it, its unit, the size and the class"
        )
    share = 100 * torque / usual
    figures = [
        *_clamp(values),
        Figure("of the usual torque", share, "%", f"torque / {usual:.0f} N m, a guess"),
    ]
    if "maker" in values:
        share = 100 * torque / maker
        figures.append(Figure("of the maker's torque", share, "%", "torque / maker"))
    return figures


def _nut_limits(values: Values) -> list[Limit]:
    """A loose nut is told even where the maker's torque is not known."""
    again = "slacken and tighten to the maker's torque before you drive"
    if "maker" not in values:
        name, says = "of the usual torque", "two thirds of the usual torque, our choice"
        least, side, because = 67.0, Side.ABOVE, "find the maker's torque, give maker="
    else:
        name, says = "of the maker's torque", "a tenth off, our choice"
        low = _pulled(values) < values["maker"]
        least, side = (90.0, Side.ABOVE) if low else (110.0, Side.BELOW)
        because = ""
    held = Limit(least, side, says, clears=False, of=name, doubt=again, do=again)
    return [replace(held, because=because), *_clamp_limits(values)]


_THREAD = re.compile(r"[Mm]?([0-9]+(?:[.,][0-9]+)?)(?:[xX*]([0-9]+(?:[.,][0-9]+)?))?")


def thread_marked(text: str) -> tuple[Values, Values]:
    """Size and pitch of a metric thread from its marking.

    >>> thread_marked("M22x1.5")[0]
    {'size': 22.0, 'pitch': 1.5}
    """
    match = _THREAD.fullmatch(text)
    if match is None:
        raise SheetError(
            f"what is '{text[:40]}'? Write name=value, or a thread such as M22x1.5"
        )
    parts = zip(("size", "pitch"), match.groups(), strict=True)
    return {name: float(part.replace(",", ".")) for name, part in parts if part}, {}


SIZE = Input("size", "mm", 4, 60, "outside diameter; or type M22x1.5 alone")
PITCH = Input(
    "pitch", "mm", 0.5, 6, "thread to thread; coarse unless said", optional=True
)
CLASS = Input(
    "class",
    "",
    4.6,
    12.9,
    "strength class marked on the head",
    choices=MappingProxyType({f"{grade:g}": grade for grade in _PROOF_MPA}),
)
FRICTION = Input(
    "friction",
    "",
    0.08,
    0.40,
    "factor: dry 0.20 to 0.25, rusty 0.30, oiled 0.15 to 0.20, anti-seize 0.12 to 0.16",
    0.20,
    error=0.05,
)
TORQUE = Input("torque", "N m", 0.5, 3000, "on the wrench")
WRENCH = Input(
    "wrench", "%", -20, 20, "pulls so much more than it shows, by its test", 0, error=5
)
FORMULAS = (
    "torque = friction x size x clamp load",
    "proof load = stress area x proof stress",
    "stress area = pi/4 (size - 0.9382 pitch)^2",
)
SOURCES = (
    "proof stress by class: iso-898-1, proof loads, as reprinted",
    "stress area: iso-898-1, formula of the stress area, as reprinted",
    "coarse pitches: iso-261",
    ("friction factors: common-practice, engineering pages that cannot be named"),
    "scatter of a quarter and more in clamp load: common-practice",
)
HOLDS = (
    "Whole metric threads with the class on the head, nut no weaker than the bolt. "
    "The same torque can clamp with a quarter more or less, and far more on paste: for "
    "checking only. Steering, brake, wheel and spring fasteners take the maker's "
    "torque, nothing else."
)

BOLT_STRENGTH = Sheet(
    name="bolt-strength",
    about="What a metric bolt bears without stretching for good.",
    inputs=(SIZE, PITCH, CLASS),
    work=_strength,
    formula=FORMULAS[1:],
    holds="New, whole, cold metric bolts pulled straight. Bending, rust, a nick or a "
    "weaker nut take from it, and a bolt is never loaded to proof by design.",
    sources=SOURCES[:3],
    example=("size=12", "class=8.8"),
    reads=thread_marked,
)


def _torque_limits(values: Values) -> list[Limit]:
    """On paste the same torque pulls harder."""
    _, proof = _area_and_proof(values)
    says, name = "proof load, if this torque is pulled on paste", "anti-seize"
    do = "only on threads as dry as friction= says; on paste the maker's lesser torque"
    paste = Limit(proof, Side.BELOW, says, clears=False, of=name, doubt=do, do=do)
    return [replace(paste, because=do)]


BOLT_TORQUE = Sheet(
    name="bolt-torque",
    about="Torque for a share of the proof load, where no maker's figure exists.",
    inputs=(
        SIZE,
        PITCH,
        CLASS,
        Input("share", "%", 10, 90, "of the proof load to clamp with", 75),
        FRICTION,
    ),
    work=_torque,
    formula=FORMULAS,
    holds=HOLDS,
    sources=(
        *SOURCES,
        (
            "75 % of proof for joints that come apart: common-practice, "
            "engineering pages that cannot be named"
        ),
    ),
    example=("size=16", "class=10.9", "friction=0.20"),
    limits=_torque_limits,
    reads=thread_marked,
    cautions=(
        "WARNING: not for steering, brakes, wheels or springs; there only the maker's "
        "torque holds.",
    ),
)

BOLT_CLAMP = Sheet(
    name="bolt-clamp",
    about="How hard a torque clamps a bolt, against what it bears.",
    inputs=(TORQUE, SIZE, PITCH, CLASS, FRICTION, WRENCH),
    work=_clamp,
    formula=FORMULAS,
    holds=HOLDS,
    sources=SOURCES,
    example=("torque=85", "size=12", "class=8.8"),
    limits=_clamp_limits,
    reads=thread_marked,
)

WHEEL_NUT = Sheet(
    name="wheel-nut",
    about="How hard a wheel nut clamps. A check only: the maker's torque rules.",
    inputs=(
        TORQUE,
        Input("size", "mm", 10, 36, "of the stud; or type M22x1.5 alone", 22),
        Input("pitch", "mm", 1, 4, "thread to thread", 1.5),
        Input(
            "class", "", 4.6, 12.9, "strength class of the stud", choices=CLASS.choices
        ),
        FRICTION,
        WRENCH,
        Input("maker", "N m", 50, 2000, "torque the maker asks", optional=True),
    ),
    work=_nut,
    formula=FORMULAS,
    holds=HOLDS,
    sources=(
        *SOURCES,
        "M22 x 1.5 as the usual stud: common-practice",
        (
            "610 to 678 N m for it, oiled: common-practice, one maker's text that "
            "cannot be named"
        ),
        "half of proof as usual, its bounds, error of the wrench: our-choice",
    ),
    example=("torque=600Nm", "M22x1.5", "class=10.9", "maker=600Nm"),
    limits=_nut_limits,
    reads=thread_marked,
    cautions=(
        "DANGER: a wheel that comes off kills. Tighten only to the maker's torque, in "
        "the maker's order, threads as the maker says (dry or oiled), and check again "
        "after the first drive.",
        "WARNING: wheel on the ground, brakes on and chocked before a long bar is "
        "pulled. A split or beadlock rim is let right down first.",
    ),
)

SHEETS = (BOLT_STRENGTH, BOLT_TORQUE, BOLT_CLAMP, WHEEL_NUT)
