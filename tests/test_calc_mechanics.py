"""Every sheet of the engine, cooling, chassis, driveline and fastener drawers: the same
refusals, whole figures for anything in range, and units that change nothing.
"""

import math
import random
from collections.abc import Mapping

import pytest

from bot.calc import chassis, cooling, driveline, engine, fasteners
from bot.calc.sheet import Sheet, SheetError, work_out
from bot.calc.typed import typed
from bot.units import SYMBOLS, unit

SHEETS = {
    sheet.name: sheet
    for drawer in (engine, cooling, chassis, driveline, fasteners)
    for sheet in drawer.SHEETS
}


def within(sheet: Sheet, draw: random.Random) -> Mapping[str, float]:
    """Any values in range, now and then without the optional ones."""
    return {
        asked.name: draw.choice(list(asked.choices.values()))
        if asked.choices
        else draw.choice(
            [asked.least, asked.most, draw.uniform(asked.least, asked.most)]
        )
        for asked in sheet.inputs
        if not asked.optional or draw.random() < 0.7
    }


@pytest.mark.parametrize("name", SHEETS)
def test_whatever_is_in_range_gives_finite_figures_or_one_plain_sentence(
    name: str,
) -> None:
    draw, refused = random.Random(name), []
    for _ in range(300):
        try:
            found = work_out(SHEETS[name], within(SHEETS[name], draw))
        except SheetError as error:
            refused.append(str(error))
            continue
        for figure in found.figures:
            assert math.isfinite(figure.value)
            assert math.isfinite(figure.error)
    assert all("\n" not in said and len(said) < 160 for said in refused)
    assert len(refused) < 300


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize("text", ["nan", "inf", "-inf", "1e400", "9**9**9", "", "½"])
def test_what_is_no_number_is_refused(name: str, text: str) -> None:
    for asked in SHEETS[name].inputs:
        with pytest.raises(SheetError):
            typed(SHEETS[name], [f"{asked.name}={text}"])


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 1e300])
def test_a_value_that_cannot_be_is_refused(name: str, value: float) -> None:
    sheet = SHEETS[name]
    good, _ = typed(sheet, sheet.example)
    for asked in sheet.inputs:
        with pytest.raises(SheetError):
            work_out(sheet, {**good, asked.name: value})


@pytest.mark.parametrize("name", SHEETS)
def test_another_unit_for_an_input_changes_nothing(name: str) -> None:
    sheet = SHEETS[name]
    good, _ = typed(sheet, sheet.example)
    right = work_out(sheet, good)
    for asked in sheet.inputs:
        if asked.name not in good or asked.choices:
            continue
        here = SYMBOLS[asked.unit]
        for symbol, other in SYMBOLS.items():
            number = (good[asked.name] + here.offset - other.offset) / other.scale
            number *= here.scale
            if other.kind != here.kind or unit(symbol) is not other:
                continue
            if here.offset or other.offset or not 1 <= abs(number) < 1e6:
                continue
            try:
                again, _ = typed(sheet, [f"{asked.name}={number:.4f}{symbol}"])
            except SheetError:
                continue  # a symbol that cannot be typed
            found = work_out(sheet, {**good, **again})
            for one, two in zip(right.figures, found.figures, strict=True):
                assert two.value == pytest.approx(one.value, rel=1e-3, abs=1e-3)


def test_no_two_sheets_share_a_name() -> None:
    drawers = (engine, cooling, chassis, driveline, fasteners)
    assert len(SHEETS) == sum(len(drawer.SHEETS) for drawer in drawers)


@pytest.mark.parametrize("name", SHEETS)
def test_every_figure_says_how_it_was_got(name: str) -> None:
    values, _ = typed(SHEETS[name], SHEETS[name].example)
    assert all(figure.by for figure in work_out(SHEETS[name], values).figures)


@pytest.mark.parametrize("name", SHEETS)
def test_a_larger_error_of_a_reading_never_gives_a_smaller_one_of_the_result(
    name: str,
) -> None:
    sheet = SHEETS[name]
    values, _ = typed(sheet, sheet.example)
    small = work_out(sheet, values).result.error
    wide = {asked.name: 1.5 * asked.error for asked in sheet.inputs}
    assert work_out(sheet, values, wide).result.error >= small
