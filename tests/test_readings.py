"""From typed values to the figure that a check's limits are set against."""

import pytest

from bot.calc.air import GAUGE_ERROR_KPA
from bot.calc.readings import GAUGE_ERROR, ReadingError, in_order, measured, worked_out
from bot.cards.readings import read_readings, write_readings
from bot.model.card import Duration, Quantity, Readings, Sum
from bot.model.place import NOWHERE, Fault
from bot.units import amounts

FALL = Readings(
    (Quantity("start", "bar"), Quantity("end", "bar")),
    Duration("10", "min"),
    Sum.FALL_PER_MINUTE,
    "bar/min",
)
VOLTS = Readings((Quantity("battery voltage", "V"),), unit="V")
APART = Readings(
    (Quantity("panel", "psi"), Quantity("gauge", "psi")), None, Sum.DIFFERENCE, "bar"
)

HOTTER = Readings(
    (Quantity("hub", "degC"), Quantity("its mate", "degC")),
    None,
    Sum.DIFFERENCE,
    "degC",
)


@pytest.mark.parametrize(
    ("readings", "typed", "wanted"),
    [
        (FALL, "8.0 7.0", 0.1),
        (FALL, "from 8 bar to 7 bar", 0.1),
        (FALL, "100 then 85.5 psi", 0.09997),
        (FALL, "0.1 bar/min", 0.1),
        (FALL, "1,45 psi per minute", 0.09997),
        (VOLTS, "28.1", 28.1),
        (VOLTS, "28100 mV", 28.1),
        (APART, "30 42", 0.8274),
        (APART, "42 psi 30 psi", 0.8274),
        (HOTTER, "92 C and 40 C", 52),
        (HOTTER, "198 F and 104 F", 52.22),
        (HOTTER, "36 F", 20),
    ],
)
def test_any_usual_unit_gives_the_same_figure(
    readings: Readings, typed: str, wanted: float
) -> None:
    assert worked_out(readings, amounts(typed)) == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize(
    ("readings", "typed"),
    [(FALL, "8.0"), (FALL, "1 2 3"), (VOLTS, "8 bar"), (FALL, "8 V 7 V"), (VOLTS, "")],
)
def test_wrong_number_or_kind_is_refused_in_one_sentence(
    readings: Readings, typed: str
) -> None:
    with pytest.raises(ReadingError) as refused:
        worked_out(readings, amounts(typed))
    assert str(refused.value).endswith(".")


def sheet_readings(text: str) -> Readings:
    found = read_readings(text, NOWHERE)
    assert isinstance(found, Readings), found
    return found


LEAK = "Readings: start (bar), wait 5 min, end (bar); work out leak-rate (bar/min)"


def test_readings_feed_a_worksheet() -> None:
    """8.0 to 7.8 bar in 5 minutes is 0.04 bar/min; 100 L lose 3.95 L/min."""
    readings = sheet_readings(f"{LEAK} with volume 100L, brakes applied.")
    found = measured(readings, amounts("8.0 7.8"))
    assert found.value == pytest.approx(0.04)
    assert found.error > 0
    assert "L/min" in found.working
    assert "3 psi/min" in found.working
    assert measured(readings, amounts("8.0 7.8"), 10).value == pytest.approx(0.02)
    assert measured(readings, amounts("0.5 psi/min")).value == pytest.approx(
        0.0345, rel=1e-2
    )
    with pytest.raises(ReadingError, match=r"pressure rose"):
        measured(readings, amounts("7.0 8.0"))


def test_line_that_names_a_worksheet_is_written_as_it_was_read() -> None:
    line = f"{LEAK} with volume 100L, brakes applied."
    assert write_readings(sheet_readings(line)) == line


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (
            "begin (bar), wait 5 min, end (bar); work out leak-rate (bar/min).",
            "'begin'",
        ),
        ("start (bar), end (bar); work out leak-rate (bar/min).", "needs time"),
        (
            "start (bar), wait 5 min, end (bar); work out leak-rate (bar/min) "
            "with brakes maybe.",
            "one of: released, applied",
        ),
    ],
)
def test_worksheet_that_does_not_fit_is_a_fault(line: str, said: str) -> None:
    found = read_readings(f"Readings: {line}", NOWHERE)
    assert isinstance(found, Fault)
    assert said in found.says


def test_excess_keeps_its_sign() -> None:
    """What the suspect lost less what its mate lost: the mate may be the leaker."""
    line = "Readings: suspect (bar), mate (bar); work out the excess (bar)."
    readings = sheet_readings(line)
    assert measured(readings, amounts("0.4 0.1")).value == pytest.approx(0.3)
    assert measured(readings, amounts("0.1 0.4")).value == pytest.approx(-0.3)
    named = in_order(readings, "mate 0.4, suspect 0.1")
    assert measured(readings, named).value == pytest.approx(-0.3)


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("this 5.6, mate 6.0", 0.4),
        ("mate 6.0, this 5.6 bar", 0.4),
        ("the mate 6.0 and this tyre 5.6", 0.4),
    ],
)
def test_part_of_a_name_tells_which_value_it_is(typed: str, value: float) -> None:
    lost = Readings(
        (Quantity("loss of its mate", "bar"), Quantity("loss of this tyre", "bar")),
        None,
        Sum.EXCESS,
        "bar",
    )
    assert worked_out(lost, in_order(lost, typed)) == pytest.approx(value)


@pytest.mark.parametrize("typed", ["-0.2 bar/min", "-3 psi/min"])
def test_worked_out_change_has_no_minus(typed: str) -> None:
    with pytest.raises(ReadingError, match="without minus"):
        worked_out(FALL, amounts(typed))
    apart = worked_out(APART, amounts("-9 psi"))
    assert apart == pytest.approx(0.6205, rel=1e-3)


def test_one_gauge_errs_alike_at_a_check_and_in_a_sum() -> None:
    assert GAUGE_ERROR["pressure"] == GAUGE_ERROR_KPA


@pytest.mark.parametrize(
    "typed",
    ["0.1 by its mate, 0.4 by this one", "its mate 0.1, this one 0.4"],
)
def test_value_belongs_to_the_name_on_its_own_side(typed: str) -> None:
    lost = Readings(
        (Quantity("loss of this tyre", "bar"), Quantity("loss of its mate", "bar")),
        None,
        Sum.EXCESS,
        "bar",
    )
    assert worked_out(lost, in_order(lost, typed)) == pytest.approx(0.3)
