"""From typed values to the figure that a check's limits are set against."""

import pytest

from bot.calc.readings import ReadingError, worked_out
from bot.model.card import Duration, Quantity, Readings, Sum
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
