"""Looking things up from a job on the screen, and back to the very same step."""

import asyncio
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest
from screenwalk import walk
from textual.pilot import Pilot

from bot.desk.browse import Shelves
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.desk.settings import Settings, keep, settings
from bot.job.job import Stage
from bot.match.titles import called
from bot.model.place import BotError
from bot.store.journal import Journal
from bot.tui.away import SETTINGS
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
SHAKES = "the steering wheel shakes at 60, and calms down above"


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
        await type_in(cab, pilot, SHAKES)
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


def test_colours_and_bell_are_turned_over_and_kept(few: Desk, tmp_path: Path) -> None:
    home = tmp_path / "home"

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("f3")
        rows = cab.asked()
        assert rows
        wanted = next(o.key for o in rows.options if o.label == SETTINGS)
        await type_in(cab, pilot, wanted)
        await type_in(cab, pilot, "1")
        await pilot.pause()
        assert cab.theme == "sun"
        await type_in(cab, pilot, "2")
        await pilot.pause()
        assert "is silent" in grid(cab)

    on_screen(Cab(replace(few, keep=partial(keep, str(home)))), (80, 24), drive)
    assert settings(str(home)) == Settings("sun", bell=False)


@pytest.mark.parametrize("kept", ["", "theme: fog\nbell", "\x00", "theme: sun\n"])
def test_settings_that_make_no_sense_are_as_at_first(tmp_path: Path, kept: str) -> None:
    (tmp_path / "settings.txt").write_text(kept)
    assert settings(str(tmp_path)) == Settings("sun" if "sun" in kept else "night")


def test_a_store_that_takes_nothing_says_that_settings_hold_for_now(
    tmp_path: Path,
) -> None:
    with pytest.raises(BotError, match="for now only"):
        keep(str(tmp_path / "none" / "there"), Settings())


@pytest.mark.parametrize("seed", [3, 11])
def test_after_any_step_an_answer_can_be_given(few: Desk, seed: int) -> None:
    assert not asyncio.run(walk(seed, few, steps=6))


@pytest.mark.parametrize(
    "typed",
    [
        "1 tyre only, the rear left one",
        "28 volts now with the lamps on, all good",
        "2 of them were loose",
        "0 on the gauge",
        "> a bar lost",
    ],
)
def test_a_sentence_may_begin_with_anything(few: Desk, typed: str) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, SHAKES)
        await answer(cab, pilot, "1")
        await read_all(cab, pilot)
        assert cab.talk
        before = cab.talk.job
        for letter in typed:
            cab.box.insert_text_at_cursor(letter)
            await pilot.pause()
            assert cab.talk.job is before
        assert not cab.query(".lit")
        await pilot.press("enter")
        assert typed in "\n".join(cab.talk.job.told + cab.talk.job.words) or (
            cab.talk.job.guess is not None
            or cab.talk.job.doubt
            or cab.talk.job == before
        )

    on_screen(Cab(few), (80, 24), drive)


def test_ctrl_z_chooses_taking_back_and_names_it(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, SHAKES)
        await answer(cab, pilot, "1")
        await pilot.press("ctrl+z")
        assert cab.box.value == "<"
        assert "undo the choice of page" in str(cab.says.render())
        await pilot.press("enter")
        assert stage(cab) is Stage.NARROW

    on_screen(Cab(few), (80, 24), drive)


def test_what_is_found_for_words_half_typed_and_misspelt() -> None:
    titles = ["Wheel nuts come loose", "The wheel wobbles", "Air leaks at a hub"]
    assert called("whel nu", titles) == (0,)
    assert called("wheel", titles) == (1, 0)
    assert called("--", titles) == ()


def test_an_answer_is_given_anew_from_the_list_of_what_was_entered(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, SHAKES)
        await answer(cab, pilot, "1")
        for _ in range(3):
            await read_all(cab, pilot)
            assert cab.question
            last = [o.key for o in cab.question.options][-1]
            await type_in(cab, pilot, last)
            await pilot.pause()
        assert cab.talk
        first, *others = cab.talk.entered()
        await pilot.press("f4")
        assert "Which answer is not right?" in grid(cab)
        await type_in(cab, pilot, "1")
        await pilot.pause()
        assert not cab.is_away
        assert first[0] in grid(cab)
        await answer(cab, pilot, "1")
        await pilot.pause()
        now = dict(cab.talk.entered())
        assert now[first[0]] != first[1]
        assert [now[check] for check, _ in others] == [given for _, given in others]

    on_screen(Cab(few), (120, 40), drive)


def test_nothing_entered_is_told(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("f4")
        assert "Nothing is answered yet." in grid(cab)

    on_screen(Cab(few), (40, 20), drive)


def test_a_danger_told_away_from_the_job_is_heard_there(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, SHAKES)
        await pilot.press("f3")
        await look(cab, pilot, "nuts loo")
        await pilot.press("down", "enter")
        assert cab.is_away
        await type_in(cab, pilot, "a wheel is coming off, half the nuts are gone")
        await pilot.pause()
        assert not cab.is_away
        assert cab.talk
        assert stage(cab) is Stage.STOPPED or cab.talk.job.doubt

    on_screen(Cab(few), (80, 24), drive)


@pytest.mark.parametrize("size", [(120, 40), (80, 24), (40, 20)])
def test_words_are_found_in_a_page_one_line_after_the_other(
    few: Desk, size: tuple[int, int]
) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("f3")
        await look(cab, pilot, "nuts loo")
        await pilot.press("down", "enter", "ctrl+f")
        await type_in(cab, pilot, "torque")
        seen = []
        for _ in range(3):
            seen.append(cab.says.note)
            assert "torque" in grid(cab).lower()
            await pilot.press("enter")
            await pilot.pause()
        assert [note.split(" of ")[0] for note in seen] == [
            "Line 1",
            "Line 2",
            "Line 3",
        ]
        await type_in(cab, pilot, "no such thing")
        assert "is not in the text" in cab.says.note
        await pilot.press("escape")
        assert cab.is_away
        assert not cab.finder.is_on
        assert cab.box.value == ""

    on_screen(Cab(few), size, drive)


def test_a_search_answers_nothing(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, SHAKES)
        await pilot.press("ctrl+f")
        await type_in(cab, pilot, "1")
        await pilot.press("enter", "enter")
        assert stage(cab) is Stage.NARROW

    on_screen(Cab(few), (80, 24), drive)


def test_plain_letters_draw_nothing_else(few: Desk) -> None:
    plain = replace(few, settings=Settings(is_plain=True))

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "it shakes at 60 °C, 水 and all")
        assert grid(cab).isascii()
        await answer(cab, pilot, "1")
        await pilot.press("f3")
        assert grid(cab).isascii()

    for size in ((120, 40), (80, 24), (40, 20)):
        on_screen(Cab(plain), size, drive)


def test_what_was_copied_is_said(few: Desk) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        cab.copy_to_clipboard("nine")
        assert "Copied: 4 letters" in cab.says.note

    on_screen(Cab(few), (80, 24), drive)


def test_a_page_is_shown_with_the_stop_rules_it_leads_to(few: Desk) -> None:
    assert few.shelves
    text = few.shelves.page(PAGE, 76)
    assert "STOP:" in text
    assert "Do now" in text
