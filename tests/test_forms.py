"""Forms on the screen: the truck's note, the first questions, sums, open jobs."""

from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot

from bot.calc.book import SHEETS
from bot.calc.curve import curve
from bot.calc.sheet import work_out
from bot.calc.typed import typed
from bot.desk.report import job_report
from bot.desk.settings import Settings
from bot.desk.truck import in_use, note
from bot.job.job import Stage
from bot.model.fitted import ALONE, FEATURES, KINDS, ONE_OF
from bot.model.truck import Truck
from bot.paper.text import set_text
from bot.store.journal import Journal
from bot.tui.cab import Cab
from bot.tui.frame import Desk
from tests.test_away import SHAKES, board, few, look
from tests.test_tui import answer, grid, on_screen, read_all, stage, type_in

__all__ = ["few"]
SIZES = [(120, 40), (80, 24), (40, 20)]


async def go(cab: Cab, pilot: Pilot[None], *labels: str) -> None:
    """Take the rows that begin with some words, one after the other."""
    for label in labels:
        asked = cab.asked()
        assert asked
        row = next(o for o in asked.options if o.label.startswith(label))
        await type_in(cab, pilot, row.key)
        await pilot.pause()


def truck(home: Path) -> Truck:
    found = note(str(home))
    assert isinstance(found, Truck)
    return found


# --- the first questions --------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
def test_three_questions_once_then_the_job(
    few: Desk, tmp_path: Path, size: tuple[int, int]
) -> None:
    kept: list[Settings] = []
    first = replace(few, is_first=True, keep=kept.append)

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "Heron")
        await go(cab, pilot, "By air", "Yes, by a hand lever")
        assert not cab.is_away
        assert "What is wrong?" in grid(cab)

    on_screen(Cab(first), size, drive)
    assert truck(tmp_path / "home").fitted == ("air brakes", "hand lever")
    assert truck(tmp_path / "home").name == "Heron"
    assert [wanted.was_asked for wanted in kept] == [True]


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ("a wheel nut was missing this morning", "a sentence"),
        ("smoke", "it may be a name, but it warns"),
    ],
)
def test_a_complaint_comes_before_the_questions(
    few: Desk, tmp_path: Path, words: str, why: str
) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, words)
        if cab.is_away:
            await go(cab, pilot, "It is what is wrong")
        assert cab.talk, why
        assert cab.talk.job.words == (words,)

    on_screen(Cab(replace(few, is_first=True)), (80, 24), drive)
    assert note(str(tmp_path / "home")) is None


@pytest.mark.parametrize(
    "way", [("Skip all",), ("Skip this", "Skip this", "Skip this")]
)
def test_all_can_be_skipped(few: Desk, tmp_path: Path, way: tuple[str, ...]) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await go(cab, pilot, *way)
        assert stage(cab) is Stage.DESCRIBE

    on_screen(Cab(replace(few, is_first=True)), (80, 24), drive)
    assert note(str(tmp_path / "home")) is None


def test_a_truck_without_a_name_is_noted_all_the_same(
    few: Desk, tmp_path: Path
) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await go(cab, pilot, "Skip this", "By fluid alone", "Skip all")
        assert not cab.is_away

    on_screen(Cab(replace(few, is_first=True)), (80, 24), drive)
    assert truck(tmp_path / "home").fitted == ("fluid brakes",)


def test_escape_leaves_the_questions(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("escape")
        await pilot.pause()
        assert stage(cab) is Stage.DESCRIBE

    on_screen(Cab(replace(few, is_first=True)), (80, 24), drive)


# --- the note of the truck ------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
def test_each_line_of_the_note_is_changed_where_it_stands(
    few: Desk, tmp_path: Path, size: tuple[int, int]
) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("f3")
        await go(cab, pilot, "The truck")
        await type_in(cab, pilot, "Heron")
        await go(cab, pilot, "Where it is mended", "at home")
        await go(cab, pilot, "What is spent", "rather money")
        await go(cab, pilot, "What it has", "Brakes", "Brakes", "Winch", "Winch")
        await pilot.press("escape")
        await go(cab, pilot, "Parts aboard")
        await type_in(cab, pilot, "fuel filter")
        await type_in(cab, pilot, "fan belt")
        await go(cab, pilot, "fuel filter")
        await pilot.press("escape")
        await go(cab, pilot, "Figures in")
        await type_in(cab, pilot, "psi bar")
        assert "measure the same" in cab.says.note
        await type_in(cab, pilot, "psi degF")
        await go(cab, pilot, "It goes in a year")
        await type_in(cab, pilot, "soon")
        assert "is no distance" in cab.says.note
        await type_in(cab, pilot, "6000 km")
        form = cab.asked()
        assert form
        assert form.options[8].label == "It goes in a year: 6,000 km"

    on_screen(Cab(few), size, drive)
    held = truck(tmp_path / "home")
    assert (held.where.value, held.rather.value) == (
        "at home",
        "rather money than time",
    )
    assert held.fitted == ("air over fluid",)
    assert held.without == ("winch",)
    assert held.aboard == ("fan belt",)
    assert held.units == ("psi", "degF")
    assert held.yearly_km == 6000


def test_every_feature_can_be_told_and_taken_back(few: Desk, tmp_path: Path) -> None:
    home = str(tmp_path / "home")
    assert few.shelves
    garage = few.shelves.garage
    garage.begin("Heron")
    for name in FEATURES:
        garage.change("fitted", name)
        garage.change("untold", name)
    assert truck(tmp_path / "home") == Truck("Heron")
    assert len(KINDS) == len(ONE_OF)
    assert not {*ALONE} & {name for row in ONE_OF for name in row}
    garage.begin("Badger")
    assert in_use(home) == "badger"
    garage.mean("heron")
    assert garage.others() == ("badger",)


def test_a_danger_typed_into_a_form_is_heard(few: Desk, tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("f3")
        await go(cab, pilot, "The truck")
        await type_in(cab, pilot, "Heron")
        await go(cab, pilot, "Parts aboard")
        await type_in(cab, pilot, "a wheel is coming off, half the nuts are gone")
        assert not cab.is_away
        assert stage(cab) is Stage.STOPPED

    on_screen(Cab(few), (80, 24), drive)
    assert truck(tmp_path / "home").aboard == ()


def test_a_note_with_mistakes_is_told_line_by_line(few: Desk, tmp_path: Path) -> None:
    (tmp_path / "home" / "trucks").mkdir()
    (tmp_path / "home" / "trucks" / "heron.yaml").write_text("name: Heron\nwhen: now\n")

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("f3")
        await go(cab, pilot, "The truck")
        assert "heron.yaml:2" in board(cab)

    on_screen(Cab(few), (80, 24), drive)


# --- sums -----------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
def test_a_sum_is_filled_in_an_input_at_a_time(
    few: Desk, size: tuple[int, int]
) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("f3")
        await go(cab, pilot, "Sums", "Air", "How fast a parked")
        await go(cab, pilot, "start")
        await type_in(cab, pilot, "900 bar")
        assert "must be" in cab.says.note
        await type_in(cab, pilot, "8.2 bar")
        assert "Not yet" in board(cab)
        await go(cab, pilot, "end")
        await type_in(cab, pilot, "7.4 bar")
        await go(cab, pilot, "time")
        await type_in(cab, pilot, "10 min")
        assert "leak: 0.0800" in board(cab)
        await go(cab, pilot, "How the result goes", "time")
        assert "*" in board(cab)
        assert "leak against time" in board(cab)
        await pilot.press("escape")
        await go(cab, pilot, "Formula")
        assert "start" in board(cab)

    on_screen(Cab(few), size, drive)


@pytest.mark.parametrize("name", sorted(SHEETS))
def test_a_curve_passes_through_the_result(name: str) -> None:
    sheet = SHEETS[name]
    values = work_out(sheet, *typed(sheet, sheet.example)).values
    for along in sheet.inputs:
        if along.choices or along.name not in values:
            continue
        drawn = curve(sheet, values, along, ())
        assert all(len(row) <= 40 for row in drawn)
        if drawn:
            assert drawn[0].endswith(f"against {along.name}:")
            assert sum(row.count("*") for row in drawn) >= 3


# --- open jobs ------------------------------------------------------------------------


def test_open_jobs_say_whether_the_truck_may_move(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, SHAKES)
        assert cab.talk
        assert few.shelves
        (job,) = few.shelves.open_jobs()
        assert job.verdict == ""
        await answer(cab, pilot, "1")
        await read_all(cab, pilot)
        (job,) = few.shelves.open_jobs()
        assert job.verdict == cab.talk.view.drive.value
        await pilot.press("f3")
        assert f"Job 1: {job.verdict.upper()}" in grid(cab)

    on_screen(Cab(few), (80, 24), drive)


def test_a_story_without_a_page_gives_no_verdict(few: Desk, tmp_path: Path) -> None:
    talk = few.begin(None)
    talk.hear("qwertz uiop")
    journal = Journal(tmp_path / "home")
    told = set_text(job_report(1, journal, talk._library))  # type: ignore[arg-type]
    assert "Not known yet" in told
    assert "NO LIMIT" not in told


def test_an_arrow_and_enter_at_once_take_what_the_arrow_chose(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("f3")
        await look(cab, pilot, "nuts loo")
        cab.box.action_step(1)
        await cab.box.action_submit()
        await pilot.pause()
        assert cab.is_away
        assert "Wheel nuts come loose" in grid(cab)

    on_screen(Cab(few), (80, 24), drive)
