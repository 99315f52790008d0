"""Every sum against figures from outside: one line a case in tests/published/sums.

A line reads ``sheet name=value ... -> figure: value unit +- tolerance``. The comment
above it names the document by the key of its record in `kb/sources.yaml`, which says
how well it is known; or the law that it was worked out by, apart from this program.
"""

import re
from pathlib import Path
from typing import NamedTuple

import pytest

from bot.calc.book import SHEETS
from bot.calc.sheet import in_unit, work_out
from bot.calc.typed import typed
from bot.cards.sources import NO_DOCUMENT, Record, read_source, read_sources
from bot.model.place import NOWHERE
from bot.model.sources import Source

ROOT = Path(__file__).parent.parent
FOLDER = Path(__file__).parent / "published" / "sums"
KEY = re.compile(r"\[([a-z0-9-]+)\]")
FOUND = read_sources((ROOT / "kb" / "sources.yaml").read_text(), "sources.yaml")
KEYS = {record.key for record in FOUND if isinstance(record, Record)}


class Case(NamedTuple):
    where: str
    source: str
    sheet: str
    given: tuple[str, ...]
    figure: str
    value: float
    unit: str
    tolerance: float


def cases() -> list[Case]:
    found = []
    for path in sorted(FOLDER.glob("*.txt")):
        source, in_comment = "", False
        for number, line in enumerate(path.read_text().splitlines(), 1):
            if line.startswith("#"):
                text = line.removeprefix("#").strip()
                source = f"{source} {text}" if in_comment else text
                in_comment = True
                continue
            in_comment = False
            if line.strip():
                found.append(case(f"{path.stem}:{number}", source, line))
    return found


def case(where: str, source: str, line: str) -> Case:
    left, _, right = line.partition(" -> ")
    sheet, *given = re.split(r"\s+(?=[a-z]+=)", left.strip())
    wanted, _, tolerance = right.partition(" +- ")
    name, _, amount = wanted.partition(": ")
    value, _, unit = amount.strip().partition(" ")
    return Case(
        where, source, sheet, tuple(given), name, float(value), unit, float(tolerance)
    )


@pytest.mark.parametrize("case", cases(), ids=lambda case: f"{case.where}-{case.sheet}")
def test_sum_gives_the_figure_from_outside(case: Case) -> None:
    sheet = SHEETS[case.sheet]
    values, errors = typed(sheet, case.given)
    figures = {f.name: f for f in work_out(sheet, values, errors).figures}
    found = figures[case.figure]
    value = in_unit(found.value, found.unit, case.unit)
    assert value == pytest.approx(case.value, abs=case.tolerance), case.source


def test_every_case_names_a_document_by_its_key_or_is_worked_out_apart() -> None:
    for found in cases():
        named = KEY.findall(found.source)
        assert named, found.where
        assert set(named) <= KEYS | {"worked-out"}, found.where


@pytest.mark.parametrize("name", SHEETS)
def test_every_sheet_is_whole(name: str) -> None:
    """Its example works, every source says how well it is known, units are known."""
    sheet = SHEETS[name]
    values, errors = typed(sheet, sheet.example)
    worked = work_out(sheet, values, errors)
    assert worked.figures
    assert sheet.about.endswith(".")
    assert sheet.holds.endswith(".")
    assert sheet.formula
    for source in sheet.sources:
        held = read_source(source, NOWHERE)
        assert isinstance(held, Source), source
        assert {c.key for c in held.citations} <= KEYS | {*NO_DOCUMENT}, source
    for asked in sheet.inputs:
        assert asked.least < asked.most
        assert asked.usual is None or asked.least <= asked.usual <= asked.most
