"""Units: any usual spelling in, and no number that cannot be trusted."""

import ast
import math
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.units import SYMBOLS, amount, amounts, convert, number, unit

SPELLINGS = [
    ("6.8 bar", 6.8, "bar"),
    ("6,8bar", 6.8, "bar"),
    ("30psi", 30.0, "psi"),
    ("30 pounds", 30.0, "psi"),
    ("28.1 volts", 28.1, "V"),
    ("28V", 28.0, "V"),
    ("80 deg c", 80.0, "degC"),
    ("80°C", 80.0, "degC"),
    ("-12 C", -12.0, "degC"),
    ("2 psi/min", 2.0, "psi/min"),
    ("2 psi a minute", 2.0, "psi/min"),
    ("0.5 ohms", 0.5, "ohm"),
]


@pytest.mark.parametrize(("text", "value", "symbol"), SPELLINGS)
def test_usual_spellings_are_understood(text: str, value: float, symbol: str) -> None:
    found = amount(text)
    assert found is not None
    assert found.unit is not None
    assert (found.value, found.unit.symbol) == (value, symbol)


@pytest.mark.parametrize(
    "text",
    ["", "bar", "nan", "inf", "1e308", "1_0", "9**9", "1,234", "٣", "3 apples", "0x10"],
)
def test_doubtful_numbers_are_refused(text: str) -> None:
    assert amount(text) is None
    assert number(text) is None


@pytest.mark.parametrize(("psi", "kpa"), [(3, 21), (4, 28)])
def test_psi_matches_the_kpa_printed_beside_it(psi: float, kpa: float) -> None:
    """Source: Ontario truck handbook, section 6-1-4, air-loss limits (seen)."""
    assert round(convert(psi, SYMBOLS["psi"], SYMBOLS["kPa"])) == kpa


@pytest.mark.parametrize(
    ("given_", "symbol", "wanted", "other"),
    [(0, "degC", 32, "degF"), (100, "degC", 212, "degF"), (-40, "degC", -40, "degF")],
)
def test_fixed_points_of_the_temperature_scales(
    given_: float, symbol: str, wanted: float, other: str
) -> None:
    """Source: definitions of the scales (from memory)."""
    assert convert(given_, SYMBOLS[symbol], SYMBOLS[other]) == pytest.approx(wanted)


def test_temperature_and_its_difference_are_never_mixed() -> None:
    with pytest.raises(ValueError, match="temperature"):
        convert(1, SYMBOLS["K"], SYMBOLS["degC"])


@given(st.floats(-1e5, 1e5), st.sampled_from(sorted(SYMBOLS)))
def test_there_and_back_is_where_it_began(value: float, symbol: str) -> None:
    for other in SYMBOLS.values():
        if other.kind == SYMBOLS[symbol].kind:
            there = convert(value, SYMBOLS[symbol], other)
            assert math.isclose(
                convert(there, other, SYMBOLS[symbol]), value, abs_tol=1e-6
            )


def test_several_amounts_in_one_line_share_the_last_unit() -> None:
    found = amounts("it was 8,0 at first and then 7.4 bar after ten")
    assert [(a.value, a.unit.symbol if a.unit else "") for a in found] == [
        (8.0, "bar"),
        (7.4, "bar"),
    ]


@given(st.text(max_size=300))
def test_any_text_at_all_is_read_without_an_error(text: str) -> None:
    for found in (*amounts(text), *filter(None, [amount(text)])):
        assert math.isfinite(found.value)
    unit(text)


def patterns() -> Iterator[tuple[str, str]]:
    """Every constant pattern in the program, with the module that it stands in."""
    for path in sorted(Path("bot").rglob("*.py")):
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(call, ast.Call) and ast.unparse(call.func).startswith("re."):
                for part in ast.walk(call):
                    if isinstance(part, ast.Constant) and isinstance(part.value, str):
                        yield path.as_posix(), part.value


def test_no_other_module_has_units_in_its_patterns() -> None:
    """One table of units: a pattern elsewhere would know other spellings than it."""
    keeps = {"bot/units.py", "bot/cards/figures.py"}  # which figures owe a source
    words = {"bar", "psi", "kpa", "mins", "minutes", "secs", "hours", "volts", "euros"}
    found = [
        (path, pattern)
        for path, pattern in patterns()
        if path not in keeps and words & set(re.findall("[a-z]+", pattern))
    ]
    assert found == []
