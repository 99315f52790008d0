"""Brakes, steering, wheel ends, shafts and bolts: laws, refusals, second opinions.

Pint 0.25.3 (units), scipy 1.17.1 (angles in space, greatest speed of a joint) stand in
as second opinions; a test that needs pint is skipped where it is not installed.
"""

import math
import random

import pint
import pytest
from scipy.optimize import minimize_scalar
from scipy.spatial.transform import Rotation

from bot.calc import chassis
from bot.calc.book import SHEETS
from bot.calc.chassis import rim_angle_deg
from bot.calc.driveline import compound_deg, equivalent_deg, swing_pc
from bot.calc.fasteners import clamp_kn, proof_mpa, stress_area_mm2, torque_nm
from bot.calc.sheet import SheetError
from bot.calc.typed import typed
from tests.sums import of, result, worked

LOTS = 1000
STROKE = "push-rod-stroke released=50mm pressure=85psi"


def test_push_is_as_a_library_of_units_says() -> None:
    units: pint.UnitRegistry[float] = pint.UnitRegistry()
    square_inch, psi = units.inch**2, units.psi
    draw = random.Random(1)
    for _ in range(LOTS):
        area, pressure = draw.uniform(6, 36), draw.uniform(0, 140)
        force = (area * square_inch * pressure * psi).to("kN").magnitude
        found = of("push-rod-force", type=area, pressure=pressure * 6.894757293168361)
        assert found["push"] == pytest.approx(force, rel=1e-9)


def test_push_grows_with_the_type_and_with_the_pressure() -> None:
    small, large = (result(f"push-rod-force type={t} pressure=60psi") for t in (15, 30))
    assert large == pytest.approx(2 * small)
    low, high = (result(f"push-rod-force type=30 pressure={p}psi") for p in (30, 90))
    assert high == pytest.approx(3 * low)


def test_only_a_limit_read_from_the_local_table_clears_a_stroke() -> None:
    for basis in ("type=30", "rated=64mm", "type=30 limit=63mm", "type=16 limit=44mm"):
        (said,) = worked(f"{STROKE} applied=80mm {basis}").verdicts
        assert said.startswith("Within" if "44" in basis else "No fault seen: under"), (
            basis
        )
    own = worked(f"{STROKE} applied=80mm limit=51mm").verdicts
    assert own[0].startswith("Within the limit: under 51 mm")
    with pytest.raises(SheetError, match="nothing to hold it against"):
        worked(f"{STROKE} applied=80mm")


@pytest.mark.parametrize("basis", ["limit=51mm", "rated=64mm", "type=30"])
def test_a_long_stroke_is_rejected_by_any_limit(basis: str) -> None:
    said = worked(f"{STROKE} applied=110mm {basis}").verdicts
    assert said[0].startswith("NOT within the limit")


@pytest.mark.parametrize(
    ("line", "starts"),
    [
        ("released=60mm applied=120mm limit=63mm type=16", "NOT within"),
        ("released=62mm applied=70mm limit=2in", "No fault seen: under"),
        ("released=6mm applied=18mm limit=2in", "No fault seen: under"),
        ("released=60mm applied=100mm limit=2in", "Within"),
        ("released=60mm applied=100mm type=T30", "No fault seen: under"),
        ("released=60mm applied=112mm type=30/30", "Too close"),
        ("released=60mm applied=112mm type=24l", "Too close"),
        ("released=60mm applied=115mm type=24-long3", "No fault seen: under"),
    ],
)
def test_stroke_has_one_verdict_and_a_seized_brake_is_no_pass(
    line: str, starts: str
) -> None:
    (said,) = worked(f"push-rod-stroke pressure=6bar {line}").verdicts
    assert said.startswith(starts)
    stroke = worked(f"push-rod-stroke pressure=6bar {line}").result.value
    assert ("hardly moves" in said) is (stroke < 12.7)


def test_a_long_stroke_chamber_is_never_allowed_less_than_the_standard_one() -> None:
    for size in (12, 16, 20, 24, 30):
        at = {
            kind: worked(f"{STROKE} applied=80mm type={kind}").limits[0]
            for kind in (f"{size}", f"{size}-long")
        }
        assert at[f"{size}-long"].value > at[f"{size}"].value
        assert not at[f"{size}"].clears


def test_every_wheel_without_a_row_has_the_angle_of_the_law() -> None:
    draw = random.Random(2)
    rows = [inch * 25.4 for inch in (16, 18, 19, 20, 21, 22)]
    for _ in range(LOTS):
        wheel = draw.uniform(300, 650)
        if min(abs(wheel - row) for row in rows) <= 1:
            continue
        for kind, law in ((chassis.MANUAL, 14.0), (chassis.POWERED, 30.0)):
            allowed = of("steering-play", play=5, wheel=wheel, steering=kind)[
                "allowed at the rim"
            ]
            assert rim_angle_deg(allowed, wheel) == pytest.approx(law)


@pytest.mark.parametrize(
    ("play", "says"), [(50, "Within"), (63, "Too close"), (75, "NOT within")]
)
def test_steering_is_judged_by_the_row_of_its_wheel(play: int, says: str) -> None:
    said = worked(f"steering-play play={play}mm wheel=508mm steering=manual").verdicts
    assert said[0].startswith(says)


@pytest.mark.parametrize(("play", "says"), [(50, "Within"), (80, "NOT"), (160, "NOT")])
def test_powered_steering_has_one_verdict_by_the_strictest_rule(
    play: int, says: str
) -> None:
    line = f"steering-play play={play}mm wheel=508mm steering=powered"
    (said,) = worked(line).verdicts
    assert said.startswith(says)


def test_the_same_angle_on_a_larger_wheel_is_more_at_the_rim() -> None:
    angles = [
        result(f"steering-play play=40mm wheel={w}mm steering=manual")
        for w in range(300, 651, 50)
    ]
    assert angles == sorted(angles, reverse=True)


def test_no_end_play_at_all_is_not_passed() -> None:
    said = worked("bearing-play low=0.5mm high=0.5mm most=0.15mm").verdicts
    assert [word[:10] for word in said] == ["NOT within"]


def test_end_play_does_not_care_where_the_dial_was_set() -> None:
    for zero in (-3, 0, 7):
        line = f"bearing-play low={zero}mm high={zero + 0.08:.2f}mm"
        assert result(line) == pytest.approx(0.08)


def test_hubs_compare_the_same_from_either_side() -> None:
    assert result("hub-heat left=90 right=55") == result("hub-heat left=55 right=90")
    cool = worked("hub-heat left=60 right=58").verdicts
    assert cool[0].startswith("No fault seen: under")
    hot = worked("hub-heat left=90 right=55").verdicts
    assert hot[0].startswith("NOT within")


def test_two_hubs_that_are_hot_alike_are_told() -> None:
    said = worked("hub-heat left=115 right=112").verdicts
    assert said[0].startswith("NOT within the limit: over 107 degC")


@pytest.mark.parametrize("angles", ["front=0.4 rear=0.4", "front=5 rear=4.5"])
def test_crossed_yokes_are_told_at_any_angle(angles: str) -> None:
    (said,) = worked(f"joint-pair {angles} yokes=crossed").verdicts
    assert said.startswith("NOT within the limit")
    assert "Set them in line" in said


def test_the_joint_angle_is_that_of_two_lines_in_space() -> None:
    """scipy turns a line until its shadows from above and beside have both angles."""
    draw = random.Random(3)
    for _ in range(LOTS):
        top, side = draw.uniform(0.01, 40), draw.uniform(0.01, 40)
        lean = math.atan(math.tan(math.radians(side)) * math.cos(math.radians(top)))
        turn = Rotation.from_euler("zy", [math.radians(top), -lean])
        x, y, z = turn.apply([1.0, 0.0, 0.0])
        shadow_top = math.degrees(math.atan2(y, x))
        shadow_side = math.degrees(math.atan2(z, x))
        found = compound_deg(shadow_top, shadow_side)
        assert found == pytest.approx(math.degrees(math.acos(x)), abs=1e-6)


def driven_rad(turned_rad: float, angle_rad: float) -> float:
    """Where a cross joint's driven yoke stands."""
    return math.atan2(math.sin(turned_rad), math.cos(angle_rad) * math.cos(turned_rad))


def test_the_speed_swing_is_that_of_a_joint_turned_step_by_step() -> None:
    """Speed from the joint's own motion, its greatest and least found by scipy."""
    draw, step = random.Random(4), 1e-5
    for _ in range(LOTS // 10):
        angle = math.radians(draw.uniform(1, 40))

        def speed(turned: float, angle: float = angle) -> float:
            ahead = driven_rad(turned + step, angle)
            return (ahead - driven_rad(turned - step, angle)) / (2 * step)

        fastest = -minimize_scalar(lambda t: -speed(t), bounds=(-0.7, 0.7)).fun
        slowest = minimize_scalar(speed, bounds=(0.8, 2.3)).fun
        swing = 100 * (fastest - slowest)
        assert swing_pc(math.degrees(angle)) == pytest.approx(swing, rel=1e-4)


def test_two_joints_shake_as_their_exact_motion_does() -> None:
    """Cosines multiply or divide exactly; the rule of squares is within 2 %."""
    draw = random.Random(5)
    for _ in range(LOTS):
        one, other = draw.uniform(0, 15), draw.uniform(0, 15)
        cosines = [math.cos(math.radians(angle)) for angle in (one, other)]
        exact = math.acos(min(cosines) / max(cosines))
        found = equivalent_deg(one, other, crossed=False)
        assert found == pytest.approx(math.degrees(exact), rel=0.02, abs=1e-6)
        exact = math.acos(cosines[0] * cosines[1])
        found = equivalent_deg(one, other, crossed=True)
        assert found == pytest.approx(math.degrees(exact), rel=0.02, abs=1e-6)


def test_equal_ends_in_line_leave_no_shake_and_crossed_ones_add() -> None:
    assert result("joint-pair front=6 rear=6") == 0
    assert result("joint-pair front=6 rear=6 yokes=crossed") > 6


@pytest.mark.parametrize(
    ("rear", "says"), [(5.2, "No fault seen: under"), (2, "NOT within")]
)
def test_ends_are_held_to_one_degree_of_each_other(rear: float, says: str) -> None:
    line = f"joint-pair front=5deg+-0.1deg rear={rear}deg+-0.1deg"
    assert worked(line).verdicts[0].startswith(says)


def test_a_faster_shaft_is_allowed_no_larger_angle() -> None:
    bounds = []
    for rpm in range(100, 5001, 100):
        values = {"top": 1.0, "side": 1.0, "speed": float(rpm)}
        bounds.append(SHEETS["joint-angle"].limits(values)[0].value)
    assert bounds == sorted(bounds, reverse=True)


def test_stress_area_is_the_mean_of_pitch_and_root_circle() -> None:
    """ISO 68-1 thread: pitch circle d - 0.6495 P, root circle d - 1.2269 P."""
    draw = random.Random(6)
    for _ in range(LOTS):
        size = draw.uniform(4, 60)
        pitch = draw.uniform(0.05, 0.25) * size
        mean = ((size - 0.649519 * pitch) + (size - 1.226869 * pitch)) / 2
        area = math.pi / 4 * mean * mean
        assert stress_area_mm2(size, pitch) == pytest.approx(area, rel=2e-4)


def test_torque_and_clamp_load_invert() -> None:
    draw = random.Random(7)
    for _ in range(LOTS):
        force, size = draw.uniform(1, 500), draw.uniform(4, 60)
        friction = draw.uniform(0.08, 0.4)
        torque = torque_nm(force, size, friction)
        assert clamp_kn(torque, size, friction) == pytest.approx(force)


def test_torque_is_as_a_library_of_units_says() -> None:
    units: pint.UnitRegistry[float] = pint.UnitRegistry()
    draw = random.Random(8)
    for _ in range(LOTS):
        pound_feet, size = draw.uniform(5, 900), draw.uniform(6, 36)
        torque = pound_feet * units.lbf * units.foot
        force = (torque / (0.2 * size * units.mm)).to("kN").magnitude
        newton_metres = torque.to("N m").magnitude
        assert clamp_kn(newton_metres, size, 0.2) == pytest.approx(force, rel=1e-9)
        values, _ = typed(SHEETS["bolt-clamp"], [f"torque={pound_feet:.4f}lbf ft"])
        assert values["torque"] == pytest.approx(newton_metres, abs=1e-4)


def test_a_stronger_class_bears_more_at_every_size() -> None:
    for size in (6.0, 16.0, 17.0, 36.0):
        proofs = [proof_mpa(grade, size) for grade in (4.6, 5.8, 8.8, 10.9, 12.9)]
        assert proofs == sorted(set(proofs))


def test_a_bolt_sum_says_its_own_large_error() -> None:
    """A factor of 0.20, off by 0.05, puts the clamp load off by a quarter or more."""
    for line in (
        "bolt-clamp torque=85 size=12 class=8.8",
        "wheel-nut torque=600 class=10.9",
        "bolt-torque size=12 class=8.8",
    ):
        found = worked(line).result
        assert found.error >= 0.25 * found.value * 0.999


def test_no_bolt_sum_clears_and_a_bolt_past_proof_is_told() -> None:
    fine = worked("wheel-nut torque=300 class=10.9 maker=600")
    assert [said[:3] for said in fine.verdicts] == ["NOT", "No "]
    assert {f.name: f.value for f in fine.figures}["of the maker's torque"] == 50
    over = worked("bolt-clamp torque=200 size=12 class=8.8").verdicts
    assert over[0].startswith("NOT within the limit")


@pytest.mark.parametrize(
    ("line", "starts"),
    [
        ("torque=20Nm", "NOT within the limit: under 67 %"),
        ("torque=300Nm", "NOT within the limit: under 67 %"),
        ("torque=610Nm", "No fault seen: over 67 %"),
        ("torque=655Nm maker=600Nm", "Too close to call against 110 %"),
        ("torque=655Nm maker=600Nm wrench=5+-1%", "NOT within the limit: over 110 %"),
        ("torque=600Nm maker=600Nm", "No fault seen: under"),
        ("torque=450Nm maker=600Nm", "NOT within the limit: under 90 %"),
    ],
)
def test_a_loose_nut_is_told_with_or_without_the_makers_torque(
    line: str, starts: str
) -> None:
    said = worked(f"wheel-nut {line} class=10.9").verdicts
    assert said[0].startswith(starts)
    assert not any(word.startswith("Within") for word in said)


def test_a_thread_is_read_as_it_is_written() -> None:
    spelt = worked("wheel-nut torque=400Nm size=20 pitch=1.5 class=10.9")
    assert worked("wheel-nut torque=400Nm M20x1.5 class=10.9") == spelt
    assert result("bolt-strength M12 class=8.8") == result(
        "bolt-strength size=12 class=8.8"
    )


def test_a_bolt_torque_says_what_it_does_on_paste() -> None:
    (said,) = worked("bolt-torque size=12 class=8.8").verdicts
    assert "threads as dry as" in said
    assert "longer" not in said


def test_a_wheel_nut_sum_warns_before_all_else_that_the_maker_rules() -> None:
    first = SHEETS["wheel-nut"].cautions[0]
    assert first.startswith("DANGER")
    assert "maker's torque" in first


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (f"{STROKE} applied=40mm", "swap the two readings"),
        (
            "push-rod-stroke released=50mm applied=90mm pressure=60psi type=30",
            "build up to 6 bar",
        ),
        (
            "push-rod-stroke released=50mm applied=90mm pressure=8bar type=30",
            "pump the pedal down to 6 bar",
        ),
        (f"{STROKE} applied=56mm type=30", "hardly moves"),
        (f"{STROKE} applied=90mm", "or type= or rated= as stamped"),
        ("wheel-nut torque=600Nm maker=60Nm class=10.9", "check it, its unit"),
        ("wheel-nut torque=600Nm M22xx class=10.9", "such as M22x1.5"),
        (f"{STROKE} applied=90mm type=31", "type is one of"),
        ("push-rod-force type=30 pressure=-20psi", "pressure must be"),
        ("steering-play play=700mm wheel=508mm steering=electric", "steering is one"),
        ("bearing-play low=0.2mm high=0.1mm", "swap the two"),
        (
            "bearing-play low=0mm high=0.1mm most=0.1mm least=0.2mm",
            "swap the two limits",
        ),
        ("hub-heat left=500 right=60", "left must be"),
        ("joint-angle top=50 side=2", "top must be"),
        ("bolt-strength size=13 class=8.8", "give pitch="),
        ("bolt-strength size=12 pitch=4 class=8.8", "too coarse"),
        ("bolt-strength size=12 class=9.9", "class is one of"),
    ],
)
def test_readings_that_cannot_be_are_refused_in_one_sentence(
    line: str, says: str
) -> None:
    with pytest.raises(SheetError, match=says):
        worked(line)
