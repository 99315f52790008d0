"""Looking things up from a job on the screen, and back to the very same step."""

from pathlib import Path

import pytest
from textual.pilot import Pilot

from bot.desk.browse import Shelves
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.job.job import Stage
from bot.store.journal import Journal
from bot.tui.cab import Cab
from bot.tui.frame import Desk
from tests.test_tui import (
    AT,
    Hands,
    answer,
    grid,
    on_screen,
    read_all,
    stage,
    type_in,
)

PAGE = "wheel-nuts-loose"


@pytest.fixture
def few(tmp_path: Path, kb: Path) -> Desk:
    """A desk with a few pages, two of them with links to each other."""
    home = tmp_path / "home"
    home.mkdir()
    small = tmp_path / "kb"
    for name in (
        f"cards/tyres-wheels/{PAGE}.md",
        "cards/tyres-wheels/wheel-vibration.md",
        "procedures/change-a-wheel.md",
        "stop-rules/wheel-coming-off.md",
        "words.yaml",
    ):
        to = small / name
        to.parent.mkdir(parents=True, exist_ok=True)
        to.write_text((kb / name).read_text())
    journal = Journal(home)
    library = KbLibrary(str(small), str(home), journal)

    def begin(number: int | None) -> Conversation:
        entry = journal.entry(number) if number else None
        return Conversation(library, journal, lambda: AT, entry)

    shelves = Shelves(str(home), journal, library)
    return Desk(begin, home / "crash.txt", clock=Hands(), shelves=shelves)


async def look(cab: Cab, pilot: Pilot[None], words: str) -> None:
    """Type without Enter."""
    cab.box.value = words
    await pilot.pause()


@pytest.mark.parametrize("size", [(120, 40), (80, 24), (40, 20)])
def test_from_a_step_to_a_page_and_back_to_the_same_step(
    few: Desk, size: tuple[int, int]
) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the steering wheel shakes at 60, and calms down above")
        await answer(cab, pilot, "1")
        await read_all(cab, pilot)
        at, asked = cab.board.matter, cab.question
        await pilot.press("f3")
        await look(cab, pilot, "nuts loo")
        await pilot.press("down", "enter")
        assert "Wheel nuts come loose" in grid(cab)
        assert "MAY IT MOVE: DO NOT MOVE" in grid(cab)
        linked = cab.asked()
        assert linked
        shakes = next(o for o in linked.options if "shakes" in o.label)
        await type_in(cab, pilot, shakes.key)
        assert "It shakes at one road speed" in grid(cab)
        await pilot.press("escape")
        assert "Wheel nuts come loose" in grid(cab)
        await pilot.press("f3")
        await pilot.pause()
        assert not cab.is_away
        assert cab.board.matter == at
        assert cab.board.is_read
        assert cab.question == asked
        assert cab.talk is not None
        assert len(cab.talk.job.answers) == 0

    on_screen(Cab(few), size, drive)


def test_words_at_the_start_begin_a_new_job(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "it shakes at 60, and calms down above")
        await pilot.press("f3")
        await type_in(cab, pilot, "a wheel nut was missing this morning")
        assert cab.talk is not None
        assert cab.talk.number == 2
        assert not cab.is_away
        await pilot.press("f2")
        await pilot.pause()
        assert "Job 1 stays as it is" in grid(cab)
        await pilot.press("f2", "f3")
        await pilot.pause()
        assert "Job 1" in grid(cab)
        await type_in(cab, pilot, "2")
        assert cab.talk.number == 1

    on_screen(Cab(few), (80, 24), drive)


def board(cab: Cab) -> str:
    """All that stands on the board, in sight or not."""
    rows = [p for part in cab.board.matter.parts for p in part.paragraphs]
    return "\n".join(row.text.plain for row in rows)


def test_a_sum_is_worked_out_and_a_wrong_one_is_told_in_a_line(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("f3")
        await look(cab, pilot, "leak-rate")
        await pilot.press("down", "enter")
        await type_in(cab, pilot, "start=8.2bar end=9bar time=10min")
        assert cab.says.note.endswith(".")
        await type_in(cab, pilot, "start=8.2bar end=7.4bar time=10min")
        assert "leak: 0.0800" in board(cab)

    on_screen(Cab(few), (80, 24), drive)


def test_the_story_of_a_job_and_the_truck_are_one_key_away(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "it shakes at 60, and calms down above")
        await pilot.press("f3")
        await type_in(cab, pilot, "3")
        await type_in(cab, pilot, "1")
        assert "it shakes at 60" in grid(cab)
        await pilot.press("escape", "escape")
        await type_in(cab, pilot, "5")
        assert "no note of a truck yet" in grid(cab)
        await pilot.press("escape", "escape")
        assert not cab.is_away
        assert stage(cab) is Stage.NARROW

    on_screen(Cab(few), (80, 24), drive)


def test_a_row_that_is_not_there_is_told(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("f3")
        await type_in(cab, pilot, "9")
        assert "no such row" in grid(cab)
        assert cab.is_away

    on_screen(Cab(few), (80, 24), drive)
