"""The chat screen: keys in, text grids out; the same conversation as everywhere."""

import asyncio
import itertools
import shutil
from collections.abc import Awaitable, Callable
from functools import cache
from io import StringIO
from pathlib import Path

import pytest
from textual.app import App
from textual.content import Content
from textual.pilot import Pilot
from textual.widgets import Input

from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cli.lines import lines
from bot.cli.main import main
from bot.desk.bench import OpenJob
from bot.desk.conversation import Conversation
from bot.desk.library import KbLibrary
from bot.job.job import Stage
from bot.model.card import Card, Caution, Prose, Signal
from bot.model.card import Drive as Verdict
from bot.model.rule import StopRule
from bot.store.journal import Journal
from bot.talk.clean import clean
from bot.talk.library import Library
from bot.talk.messages import (
    Ask,
    Candidate,
    Candidates,
    Done,
    Message,
    Say,
    Stop,
    Suspicions,
    Warn,
)
from bot.tui.cab import Cab
from bot.tui.frame import Desk
from bot.tui.leaves import Row
from bot.tui.log import MOST_MOUNTED, Log, Turn
from bot.tui.pages import Matter, Part, matter, parts, question, remarks
from bot.tui.prose import Paragraph, flowed, phrase, prose, set_out
from bot.tui.suspects import held_by
from tests.fakes import FakeLibrary
from tests.seeds import seed

GRIDS = Path(__file__).parent / "grids"
SIZES = ((120, 40), (80, 24), (40, 20))
AT = "2026-01-01T08:00:00+00:00"

CARD = """---
kind: fault
system: air-supply
fits:
  - air brakes
share: open
check-by: 2028-11-30
authors:
  - sandpiper
---

# The air horn is weak

**May it move:** drive with care.

The horn takes air from the auxiliary circuit through a small valve.

> **WARNING** A horn at full blast harms ears for good. Wear plugs near it.

## What people notice

- the horn only croaks
- horn gives a faint moan
- no blast from the roof horn

## It is not this when

- the electric horn is dead: [the electric horn is dead](horn-silent.md)

## Causes

Note the letters. At *not* strike one out, at *sure* ring it, at *likely* and
*hardly* add a plus or a minus.

- **A** Water in the horn (usual): [repair 1](#1-blow-the-horn-dry)
- **B** Pinched horn pipe (common): [repair 2](#2-free-the-pipe)

## Checks

### 1. Read the pressure at the horn

*5 min; do first; tools: tyre gauge; truck: engine off*

> **CAUTION** Air from an open pipe blinds an eye. Wear glasses.

1. Take the pipe off the horn and hold the gauge to it.
2. Have someone press the button.

Readings: pressure at the horn (bar).

- 3 bar or more: likely A; hardly the rest.
- under 3 bar: likely B; hardly the rest.

### 2. Shake the horn

*2 min; truck: engine off*

1. Take the horn off and shake it.

- Yes, water runs out: sure A.
- No, dry: hardly A.

## Repairs

### 1. Blow the horn dry

*10 min; tools: air hose; truck: engine off; after: no limit*

1. Blow it through from the wide end.

### 2. Free the pipe

*20 min; tools: spanners; truck: engine off; after: no limit*

1. Follow the pipe and open its kinks.

## Proof

*2 min*

Press the button once an hour.

- Clean: a full blast at once.
- Not clean: a croak.

## If nothing was found

Call the club.

## Sources

- 3 bar: common-practice.
"""

RULE = """---
kind: stop rule
question: Is the horn sounding by itself now?
signs:
  - horn will not stop
share: open
check-by: 2028-11-30
authors:
  - sandpiper
---

# The horn will not stop

**May it move:** creep to safety.

> **DANGER** A horn that sounds all the time drowns a shout of warning. Stop first.

## Do now

1. Stop clear of traffic and set the park brake.
2. Shut the tap of the auxiliary circuit.

## Call for help when

- The tap does not shut.

## Who decides

The law where you are.

## Sources

- no figures: common-practice.
"""

RULE_PATH = "horn-stuck.md"
HOSTILE = (
    "a\x1b]0;owned\x07b\x1b[2Jc [/x] [b]d[/b] [@click=app.quit]x[/] \u202ee $error "
    "[link](javascript:x) <b>f</b> \x9b31m"
)


@cache
def read(text: str) -> Card | StopRule:
    is_card = "## Causes" in text
    found = read_card(text, "horn-weak.md") if is_card else read_rule(text, RULE_PATH)
    assert isinstance(found, Card | StopRule), found
    return found


def horns() -> FakeLibrary:
    """A library of one card and one rule, whatever is said."""
    card, rule = read(CARD), read(RULE)
    assert isinstance(card, Card)
    assert isinstance(rule, StopRule)
    return FakeLibrary(
        {card.id: card}, {rule.id: rule}, raises={"will not stop": rule.id}, sure=0.7
    )


class Hands:
    """A clock for hands that are slow, until told to be quick."""

    def __init__(self) -> None:
        self.now = 0.0
        self.pace = 1.0

    def __call__(self) -> float:
        self.now += self.pace
        return self.now


def desk(
    home: Path,
    library: Library | None = None,
    *,
    offers: tuple[OpenJob, ...] = (),
    clock: Callable[[], float] | None = None,
) -> Desk:
    journal = Journal(home)
    held = library or horns()

    def begin(number: int | None) -> Conversation:
        entry = journal.entry(number) if number else None
        return Conversation(held, journal, lambda: AT, entry)

    return Desk(begin, home / "crash.txt", offers, clock=clock or Hands())


Drive = Callable[[Cab, Pilot[None]], Awaitable[None]]


def on_screen(cab: Cab, size: tuple[int, int], drive: Drive) -> None:
    async def run() -> None:
        async with cab.run_test(size=size) as pilot:
            await pilot.pause()
            await drive(cab, pilot)

    asyncio.run(run())


async def type_in(cab: Cab, pilot: Pilot[None], words: str) -> None:
    cab.box.value = words
    await pilot.press("enter")


async def read_all(cab: Cab, pilot: Pilot[None]) -> None:
    for _ in range(30):
        if cab.board.is_read:
            return
        await pilot.press("enter")
    raise AssertionError("the end of the page is never reached")


async def answer(cab: Cab, pilot: Pilot[None], *keys: str) -> None:
    for key in keys:
        await read_all(cab, pilot)
        await pilot.press(key)
        if cab.box.value == key:
            await pilot.press("enter")


def stage(cab: Cab) -> Stage:
    assert cab.talk is not None
    return cab.talk.job.stage


def grid(app: App[None]) -> str:
    strips = app.screen._compositor.render_strips()
    return "\n".join(strip.text.rstrip() for strip in strips) + "\n"


def lowest_contrast(app: App[None]) -> tuple[float, str]:
    """The WCAG ratio of the least readable text on the screen."""
    worst, where = 21.0, ""
    for strip in app.screen._compositor.render_strips():
        for text, style, _ in strip:
            if not style or not any(map(str.isalnum, text)):
                continue
            fore = style.color.triplet if style.color else None
            back = style.bgcolor.triplet if style.bgcolor else None
            assert fore, text
            assert back, text
            one, other = sorted((luminance(fore), luminance(back)))
            if (other + 0.05) / (one + 0.05) < worst:
                worst, where = (other + 0.05) / (one + 0.05), text
    return worst, where


def luminance(colour: tuple[int, int, int]) -> float:
    """Relative luminance, WCAG 2 (from memory)."""
    parts = (
        c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4
        for c in (part / 255 for part in colour)
    )
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), parts, strict=True))


# --- whole jobs -----------------------------------------------------------------------


def test_another_job_is_begun_in_words(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn is weak")
        assert stage(cab) is Stage.NARROW
        await read_all(cab, pilot)
        await type_in(cab, pilot, "start over")
        await pilot.pause()
        assert stage(cab) is Stage.DESCRIBE
        assert "Job 1 stays as it is" in grid(cab)

    on_screen(Cab(desk(tmp_path)), (80, 24), drive)


@pytest.mark.parametrize("size", [(80, 24), (40, 20)])
def test_a_whole_job_is_done_with_single_keys(
    tmp_path: Path, kb: Path, size: tuple[int, int]
) -> None:
    cards = tmp_path / "kb" / "cards" / "tyre-inflation"
    cards.mkdir(parents=True)
    for name in ("wheel-valve-leaks", "wheel-air-line-broken", "hub-air-seal-leaks"):
        shutil.copy(kb / "cards" / "tyre-inflation" / f"{name}.md", cards)
    shutil.copytree(kb / "stop-rules", tmp_path / "kb" / "stop-rules")
    shutil.copy(kb / "words.yaml", tmp_path / "kb")
    journal = Journal(tmp_path)
    real = KbLibrary(str(tmp_path / "kb"), str(tmp_path), journal)
    library = real if size == (80, 24) else horns()

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "one tyre goes down overnight")
        for _ in range(60):
            assert cab.talk is not None
            if cab.talk.is_over:
                break
            asked = cab.question
            assert asked is not None
            last = asked.options[-1].key if "find" in asked.text else "1"
            await answer(cab, pilot, "2" if "Right?" in asked.text[-8:] else last)
            assert isinstance(cab.focused, Input)
        assert cab.talk is not None
        assert cab.talk.is_over
        await answer(cab, pilot, "2")

    cab = Cab(desk(tmp_path, library))
    on_screen(cab, size, drive)
    entry = journal.entry(1)
    assert entry is not None
    assert entry.job.stage is Stage.CLOSED
    assert cab.return_code == 0


def test_every_answer_is_in_the_journal_before_it_is_shown(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn croaks")
        entry = Journal(tmp_path).entry(1)
        assert entry is not None
        assert entry.job.words == ("the horn croaks",)
        assert "You: the horn croaks" in grid(cab)

    on_screen(Cab(desk(tmp_path)), (80, 24), drive)


# --- what is seen ---------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
def test_screen_at_a_check_looks_as_it_did(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    path = GRIDS / f"check-{size[0]}x{size[1]}.txt"

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn croaks")
        await answer(cab, pilot, "1")
        seen = grid(cab)
        if not path.exists():
            path.parent.mkdir(exist_ok=True)
            path.write_text(seen)
            pytest.fail(f"{path.name} was missing and is written now; look at it")
        assert seen == path.read_text()

    on_screen(Cab(desk(tmp_path)), size, drive)


def test_new_messages_are_shown_from_their_first_line(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn will not stop")
        verdict, stop, first = grid(cab).split("\n")[:3]
        assert "CREEP TO SAFETY" in verdict
        assert "! STOP  The horn will not stop." in stop
        assert "Do now: Stop clear of traffic" in first
        pages = [grid(cab)]
        while not cab.board.is_read:
            await pilot.press("enter")
            pages.append(grid(cab))
        seen = "\n".join(pages)
        for said in (
            "! DANGER",
            "Shut the tap",
            "CREEP TO SAFETY",
            "Do this",
        ):
            assert said in seen
        assert "The law" not in seen
        await type_in(cab, pilot, "?")
        rest = [grid(cab)]
        while cab.board.is_covered:
            await pilot.press("enter")
            rest.append(grid(cab))
        assert "The law" in "\n".join(rest)

    on_screen(Cab(desk(tmp_path)), (40, 12), drive)


@pytest.mark.parametrize("size", [(40, 20), (80, 14)])
def test_the_question_stays_in_sight_when_the_size_changes(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn croaks")
        await answer(cab, pilot, "1")
        await read_all(cab, pilot)
        await pilot.resize_terminal(*size)
        await pilot.pause()
        await pilot.pause()
        assert "What did you read?" in grid(cab)
        await pilot.press("up")
        assert "under 3 bar" in grid(cab)

    on_screen(Cab(desk(tmp_path)), (80, 24), drive)


@pytest.mark.parametrize("theme", ["night", "sun"])
@pytest.mark.parametrize("size", [(120, 40), (40, 20)])
def test_all_text_has_a_contrast_of_seven_to_one(
    tmp_path: Path, theme: str, size: tuple[int, int]
) -> None:
    warned = tuple(
        Part("say", (Paragraph(Content(signal.value)),)) for signal in Signal
    )
    cautions: tuple[Message, ...] = tuple(
        Warn(Caution(signal, "It hurts.")) for signal in Signal
    )

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        def look() -> None:
            ratio, where = lowest_contrast(cab)
            assert ratio >= 7, (ratio, where)

        look()
        await type_in(cab, pilot, "the horn will not stop")
        look()
        await answer(cab, pilot, "1", "1")
        look()
        await cab.board.lay(Matter(parts=(*warned, *parts(cautions))))
        await pilot.pause()
        look()
        await pilot.press("ctrl+c")
        look()
        await pilot.press("escape")
        cab.box.value = "1"
        await pilot.pause()
        look()

    on_screen(Cab(desk(tmp_path), theme), size, drive)


def test_no_color_leaves_the_colours_to_the_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn will not stop")
        for strip in cab.screen._compositor.render_strips():
            for _, style, _ in strip.apply_filter(
                cab._filters[-1], cab.screen.styles.background
            ):
                colours = (style.color, style.bgcolor) if style else ()
                assert all(c is None or c.is_default for c in colours)

    on_screen(Cab(desk(tmp_path)), (80, 24), drive)


def without_colours(app: App[None]) -> list[tuple[str, bool, bool]]:
    """What is on the screen: text, bold and reversed or not, and no colour at all."""
    return [
        (segment.text, bool(style and style.bold), bool(style and style.reverse))
        for strip in app.screen._compositor.render_strips()
        for segment in strip
        for style in (segment.style,)
        if segment.text.strip()
    ]


@pytest.mark.parametrize("theme", ["night", "sun", "plain"])
def test_no_state_is_told_by_colour_alone(tmp_path: Path, theme: str) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn croaks")
        plain = without_colours(cab)
        cab.box.choose("1")
        await pilot.pause()
        lit = {text for text, _, reverse in without_colours(cab) if reverse}
        rows = {text for text, _, reverse in plain if reverse}
        assert any("The air horn is weak" in text for text in lit - rows)
        await pilot.press("enter")
        await read_all(cab, pilot)
        told = [text for text, _, _ in without_colours(cab)]
        assert any("! CAUTION" in text for text in told)
        cab.tell("a note")
        await pilot.pause()
        assert ("a note", True) in [
            (text.strip(), bold) for text, bold, _ in without_colours(cab)
        ]

    on_screen(Cab(desk(tmp_path), theme), (80, 24), drive)


def test_hostile_text_stays_text_everywhere(tmp_path: Path) -> None:
    rule = read(RULE)
    assert isinstance(rule, StopRule)
    bad = Caution(Signal.DANGER, HOSTILE)
    card = Candidate("x", HOSTILE, 0.5, (HOSTILE,))
    from dataclasses import replace

    from bot.job.events import CardChosen
    from bot.model.card import Drive as Verdict
    from bot.talk.messages import Choice

    ask = Ask(
        HOSTILE,
        (Choice("1", f"{HOSTILE} ({HOSTILE})", CardChosen("x")),),
        (Choice("+", HOSTILE, CardChosen("x")),),
    )
    messages: tuple[Message, ...] = (
        Say(HOSTILE),
        Warn(bad),
        Stop(
            replace(
                rule,
                title=HOSTILE,
                cautions=(bad,),
                do_now=(HOSTILE,),
                who_decides=(Prose(HOSTILE),),
            )
        ),
        Candidates((card, replace(card, title="other " + HOSTILE)), 0.5, True),
        Suspicions(HOSTILE, ((HOSTILE, 0.5),), 0.5, Verdict.CARE),
        Done(HOSTILE),
        ask,
    )

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await cab.chat.add(Turn(clean(HOSTILE), remarks(messages)))
        laid = matter(messages)
        assert laid
        await cab._show(None, question(messages), laid)
        cab.tell(HOSTILE)
        await pilot.pause()
        text = grid(cab)
        assert not set(text) & set("\x1b\x07\x9b\u202e")
        assert text.count("[@click=app.quit]x[/]") > 5
        for strip in cab.screen._compositor.render_strips():
            for _, style, _ in strip:
                assert not style or "@click" not in style.meta

    offers = (OpenJob(1, AT, HOSTILE, "check"),)
    cab = Cab(desk(tmp_path, offers=offers))
    on_screen(cab, (100, 120), drive)


# --- keys and taps --------------------------------------------------------------------


def test_focus_never_leaves_the_box(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn croaks")
        for spot in ("#log", "#standing", "#you", ".words", "#sheet"):
            await pilot.click(spot)
            await pilot.press("tab")
            assert cab.focused is cab.box, spot
        await pilot.press("escape", "shift+tab")
        assert cab.focused is cab.box

    on_screen(Cab(desk(tmp_path)), (80, 24), drive)


def test_a_double_press_counts_once(tmp_path: Path) -> None:
    hands = Hands()

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn croaks")
        hands.pace = 0.01
        hands.now += 1
        await pilot.press("1", "enter", "1", "enter")
        assert cab.talk is not None
        assert cab.talk.job.card == "horn-weak"
        assert cab.talk.job.answers == ()
        assert cab.box.value == ""

    on_screen(Cab(desk(tmp_path, clock=hands)), (80, 40), drive)


def test_a_question_not_yet_seen_cannot_be_answered(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn will not stop")
        assert not cab.board.is_read
        top = cab.board.sheet.scroll_y
        await pilot.press("1", "enter")
        assert cab.board.sheet.scroll_y > top
        assert stage(cab) is Stage.STOPPED
        await answer(cab, pilot, "1")
        assert stage(cab) is Stage.NARROW

    on_screen(Cab(desk(tmp_path)), (40, 12), drive)


def test_a_row_can_be_tapped_and_so_can_a_mark(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn croaks")
        await pilot.click(cab.query(Row).first(), offset=(30, 0))
        await pilot.pause()
        assert cab.talk is not None
        assert cab.talk.job.card == "horn-weak"
        await pilot.click(".marks", offset=(0, 0))
        await pilot.pause()
        assert cab.talk.job.skipped

    on_screen(Cab(desk(tmp_path)), (80, 40), drive)


def test_a_digit_chooses_and_going_on_typing_makes_it_words(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn croaks")
        await answer(cab, pilot, "1")
        assert cab.question is not None
        assert cab.question.has_numbers
        await pilot.press("2")
        assert [row.key for row in cab.query(".lit").results(Row)] == ["2"]
        await pilot.press(".", "1", "space", "b", "a", "r", "enter")
        assert cab.talk is not None
        assert [a.answer for a in cab.talk.job.answers] == ["under 3 bar"]

    on_screen(Cab(desk(tmp_path)), (80, 40), drive)


def test_a_key_acts_with_enter_alone(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn croaks")
        await pilot.press("1")
        assert [row.key for row in cab.query(".lit").results(Row)] == ["1"]
        assert stage(cab) is Stage.NARROW
        await pilot.press("=", "<")
        assert cab.box.value == "1=<"
        assert not cab.query(".lit")

    on_screen(Cab(desk(tmp_path)), (80, 24), drive)


def test_a_paste_of_many_lines_is_one_line_without_controls(tmp_path: Path) -> None:
    from textual.events import Paste

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        cab.box.post_message(Paste("the horn\n\x1b[31mcroaks\r\n badly"))
        await pilot.pause()
        assert cab.box.value == "the horn croaks badly"

    on_screen(Cab(desk(tmp_path)), (80, 24), drive)


def test_arrow_up_brings_back_what_was_typed(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn croaks")
        await pilot.press("ctrl+up")
        assert cab.box.value == "the horn croaks"
        await pilot.press("ctrl+down")
        assert cab.box.value == ""

    on_screen(Cab(desk(tmp_path)), (80, 24), drive)


# --- coming and going -----------------------------------------------------------------


def open_job(home: Path) -> tuple[OpenJob, ...]:
    talk = Conversation(horns(), Journal(home), lambda: AT)
    talk.hear("the horn croaks")
    return (OpenJob(talk.number, AT, "the horn croaks", "check"),)


def test_an_open_job_is_offered_and_gone_on_with(tmp_path: Path) -> None:
    offers = open_job(tmp_path)

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        assert "Job 1: the horn croaks, check, of 2026-01-01" in grid(cab)
        await answer(cab, pilot, "1")
        assert cab.talk is not None
        assert cab.talk.number == 1
        assert cab.talk.job.stage is Stage.NARROW

    on_screen(Cab(desk(tmp_path, offers=offers)), (80, 24), drive)


@pytest.mark.parametrize(
    ("typed", "words"), [("2", ()), ("rear lamp out", ("rear lamp out",))]
)
def test_a_new_job_can_be_begun_beside_an_open_one(
    tmp_path: Path, typed: str, words: tuple[str, ...]
) -> None:
    offers = open_job(tmp_path)

    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, typed)
        assert cab.talk is not None
        assert cab.talk.number == (2 if words else 0)
        assert cab.talk.job.words == words

    on_screen(Cab(desk(tmp_path, offers=offers)), (80, 24), drive)


def test_the_menu_keeps_what_is_being_typed(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("h", "o", "escape")
        assert "Pause the job and leave" in grid(cab)
        await pilot.press("1", "enter")
        assert cab.box.value == "ho"
        assert not cab.menu.is_open

    on_screen(Cab(desk(tmp_path)), (80, 24), drive)


def test_going_on_tells_what_was_said_and_found(tmp_path: Path) -> None:
    journal = Journal(tmp_path)
    talk = Conversation(horns(), journal, lambda: AT)
    for typed in ("the horn croaks", "1", "1"):
        talk.hear(typed)
    again = Conversation(horns(), journal, lambda: AT, journal.entry(1))
    told = "\n".join(lines(again.open()))
    assert 'You said: "the horn croaks"' in told
    assert "Read the pressure at the horn: 3 bar or more" in told
    assert "harms ears for good" in told


def test_pause_and_leave_pauses_the_job(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await type_in(cab, pilot, "the horn croaks")
        await pilot.press("escape")
        await pilot.press("2", "enter")

    cab = Cab(desk(tmp_path))
    on_screen(cab, (80, 24), drive)
    entry = Journal(tmp_path).entry(1)
    assert entry is not None
    assert entry.job.stage is Stage.PAUSED
    assert cab.return_code == 0


@pytest.mark.parametrize("keys", [("q", "u", "i", "t", "enter"), ("ctrl+c", "ctrl+c")])
def test_leaving_takes_a_word_or_two_presses(
    tmp_path: Path, keys: tuple[str, ...]
) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press(*keys)

    cab = Cab(desk(tmp_path))
    on_screen(cab, (80, 24), drive)
    assert cab.return_code == 0


def test_first_ctrl_c_only_says_how_to_leave(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        await pilot.press("ctrl+c")
        assert "type quit" in grid(cab)
        await pilot.press("x")
        assert "type quit" not in grid(cab)

    on_screen(Cab(desk(tmp_path)), (80, 24), drive)


def test_old_turns_are_taken_off_the_screen(tmp_path: Path) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        piece = Part("say", (Paragraph(Content("x")),))
        for _ in range(6):
            await cab.chat.add(Turn("", (piece,) * 50))
        assert len(cab.query(".leaf")) < MOST_MOUNTED + 60
        assert cab.query_one(Log).query(Turn)

    on_screen(Cab(desk(tmp_path)), (80, 24), drive)


def test_a_crash_is_one_line_and_a_trace_in_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def drive(cab: Cab, pilot: Pilot[None]) -> None:
        monkeypatch.setattr(Cab, "is_headless", False)
        cab._handle_exception(ValueError("a mistake of ours"))

    cab = Cab(desk(tmp_path))
    on_screen(cab, (80, 24), drive)
    assert cab.return_code == 70
    assert "\n" not in cab.trouble
    assert "a mistake of ours" in (tmp_path / "crash.txt").read_text()


def test_without_a_terminal_the_plain_lines_take_over(
    tmp_path: Path,
    kb: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr("sys.stdin", StringIO("quit\n"))
    assert main(["--kb", str(kb), "--home", str(seed(tmp_path))]) == 0
    assert "What is wrong?" in capsys.readouterr().out


def test_an_unknown_theme_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CHOCK_THEME", "fog")
    assert main(["screen", "--home", str(tmp_path)]) == 1
    assert "night or sun" in capsys.readouterr().err


# --- text -----------------------------------------------------------------------------


def test_markdown_becomes_paragraphs_that_hang_under_their_numbers() -> None:
    text = "Do **this**:\n\n2. one *two* three\n3. [four](#five)\n"
    laid = set_out(prose(text), 12)
    assert laid.plain == "Do this:\n2. one two\n   three\n3. four"


def test_a_phrase_may_begin_like_a_list_or_a_heading() -> None:
    assert phrase("# 1. a_b * c").plain == "# 1. a_b * c"


@pytest.mark.parametrize("width", range(6, 30, 3))
def test_no_line_is_wider_than_asked(width: int) -> None:
    words = " ".join("x" * n for n in itertools.chain(range(12), range(12)))
    paragraph = Paragraph(Content(words), Content("12. "))
    for line in set_out((paragraph,), max(width, 16)).plain.split("\n"):
        assert len(line) <= max(width, 16)
    chips = [Content(word) for word in words.split()]
    for line in flowed(chips, width).plain.split("\n"):
        assert len(line.rstrip()) <= width


def test_what_is_open_and_not_proved_stands_in_the_pane() -> None:
    nut = "A nut is loose (do not move)"
    found = Suspicions("a", (), 0.1, Verdict.DO_NOT_MOVE, (nut,), "Tighten it")
    rows = [row.lead.plain + row.text.plain for row in held_by(found)]
    assert rows == [f"Open: {nut}", "Repaired, not proved: Tighten it"]
