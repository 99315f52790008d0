"""The linter: what is wrong with the sense of a card, at its line."""

from datetime import date
from pathlib import Path

import pytest
import yaml

from bot.cards.lint import lint_card, lint_shelf
from bot.cards.read import read_card
from bot.cards.template import fresh_card
from bot.cards.wordings import lint_beside
from bot.desk.acts import Guard
from bot.desk.lint import lint
from bot.match.acts import HARMLESS, acts
from bot.model.card import Card, Drive, Prose, Share
from bot.model.pages import Note
from bot.model.place import slug
from bot.model.rule import Shelf, StopRule
from tests.fakes import real_lexicon

GOOD = (Path(__file__).parent / "cards" / "drain-left-open.md").read_text()
PATH = "kb/cards/air-supply/drain-left-open.md"
MOTOR = "kb/cards/brakes/motor-hums.md"
PAGES = {PATH: "drain-left-open", MOTOR: "motor-hums"}
TODAY = date(2027, 1, 1)
KEYS = ("the-book",)


def says(text: str, today: date = TODAY) -> list[str]:
    card = read_card(text, PATH)
    assert isinstance(card, Card), card
    return [fault.says for fault in lint_shelf(Shelf((card,)), PAGES, today, KEYS)]


def test_good_card_has_nothing_to_mend() -> None:
    assert says(GOOD) == []


SIX_SIGNS = """- pump gets hot and does not stop
- needle climbs, then hangs
- long wait for pressure
- tank wet underneath
- switch never clicks off
"""
BROKEN = [
    (
        "](#1-close-the-drain)\n- **B**",
        "](#1-close-drain)\n- **B**",
        "write '[repair 1](#1-close-the-drain)'",
    ),
    ("Then [repair 1](#1-close-the-drain).", "Then [x](#nothing).", "broken link"),
    (
        "Then [repair 1](#1-close-the-drain).",
        "Then [repair 2](#2-close-the-drain).",
        "'repair 2' is now repair 1; write '[repair 1](#1-close-the-drain)'",
    ),
    (
        "../brakes/motor-hums.md",
        "../brakes/motor-hms.md",
        "write '../brakes/motor-hums",
    ),
    (
        "likely B.\n\n### 2.",
        "likely B. Go to [x](../brakes/motor-hum.md).\n\n### 2.",
        "write '../brakes/motor-hums.md'",
    ),
    (
        "likely B.\n\n### 2.",
        "likely B. Stop: [x](../../stop-rules/no.md).\n\n### 2.",
        "no such stop rule",
    ),
    (
        "B. Drive with care.",
        "B. Do not move.",
        "says do not move, and not until when",
    ),
    (
        "B. Drive with care.",
        "B. Do not move until [repair 9](#9-pray).",
        "no heading here is called so",
    ),
    ("1. Close it.", "1. See [that](other.md).", "broken link 'other.md'"),
    (" or [repair 3](#3-fit-another-pump)", "", "no cause leads to the repair"),
    ("Begin at zero on the gauge.\n\n", "", "repairs without proof"),
    (": not A; likely B.", ": tells nothing.", "tells nothing and leads"),
    (
        "> **CAUTION** A pump that runs without rest gets hot.\n> It burns the hand. "
        "Let it cool.",
        "> **CAUTION** Hot pump.",
        "caution is too short",
    ),
    ("Hold a wet hand", "At 6 bar hold a wet hand", "figure without source: '6 bar'"),
    ("- under 0.1 bar/min", "- under 0.05 bar/min", "gap or overlap"),
    ("- under 0.1 bar/min", "- less", "leave a gap or overlap"),
    ("- Loud:", "- 3 bar or more:", "needs a line 'Readings"),
    (SIX_SIGNS, "", "4 signs; write 5 to 12"),
    ("common-practice", "a-book", "no source has the key 'a-book'"),
    ("Note how long it runs, and ask the club.\n", "", "what then, and whom to call"),
    ("; fact: leak rate*\n\n1.", "; not before: check 9*\n\n1.", "no check 9"),
    ("; fact: leak rate*\n\n1.", "; not before: check 2*\n\n1.", "move it up"),
    ("1. Close it.", f"```\n{'-' * 61}\n```", "over 60 columns"),
    ("- switch never clicks off", "- Runs all night pump", "says the same as"),
    ("; fact: leak rate*\n\n1.", "; fact: leek rate*\n\n1.", "no other check has"),
]


@pytest.mark.parametrize(("old", "new", "wanted"), BROKEN)
def test_linter_says_what_is_wrong(old: str, new: str, wanted: str) -> None:
    assert old in GOOD, "the case does not change the card"
    found = says(GOOD.replace(old, new, 1))
    assert any(wanted in said for said in found), found


def test_debt_that_no_answer_of_its_check_could_close_is_pointed_out() -> None:
    debt = "not A; likely B. Do not move until [check 3](#3-listen-to-the-leak)."
    text = GOOD.replace("not A; likely B.", debt, 1)
    assert says(text) == []
    shut = text.replace("likely A; hardly B.\n- Quiet: likely B; hardly A.", MILD)
    assert [said for said in says(shut) if "waits for 'Listen to the leak'" in said]


MILD = (
    "likely A; hardly B. Do not move until [repair 1](#1-close-the-drain).\n"
    "- Quiet: likely B; hardly A. Drive with care."
)


def test_headings_beside_a_page_are_those_of_the_page() -> None:
    card = read_card(GOOD, PATH)
    assert isinstance(card, Card)
    said = "runs and runs\n# listen-to-the-leak\n= Loud\nhisses\n"
    assert list(lint_beside(said, "x", card)) == []
    wrong = said + "= Lout\nhm\n# listen-to-leak\n= Loud\nhm\n"
    first, second = lint_beside(wrong, "x", card)
    assert (first.place.line, second.place.line) == (5, 7)
    assert "write 'Loud'" in first.says
    assert "write 'listen-to-the-leak'" in second.says


def test_check_that_nobody_reaches_is_pointed_out() -> None:
    text = GOOD.replace(
        "not A; likely B.",
        "not A; likely B. Then [repair 2](#2-re-ring-the-pump).",
        1,
    )
    found = [said for said in says(text) if "nobody reaches" in said]
    assert len(found) == 2  # the second check, and the third behind it


def test_review_date_gone_by_is_pointed_out() -> None:
    assert any("review was due" in said for said in says(GOOD, date(2029, 1, 1)))


def test_cause_that_no_finding_tells_for_is_pointed_out() -> None:
    text = GOOD.replace("likely B", "hardly B").replace("hardly B; hardly", "hardly")
    assert any("no finding tells for 'Worn pump'" in said for said in says(text))


def test_what_the_template_says_must_be_written_anew() -> None:
    text = fresh_card(system="air-supply")
    found = read_card(text, "kb/cards/air-supply/my-page.md")
    assert isinstance(found, Card)
    said = [f.says for f in lint_card(found, PAGES, TODAY) if "template" in f.says]
    assert len(said) >= 15
    assert not [f for f in said if "Do this" in f and "still" not in f]


def test_whole_kb_has_nothing_to_mend(kb: Path) -> None:
    assert lint(kb, date(2026, 11, 25)) == ()


def make_kb(folder: Path, *cards: tuple[str, str]) -> Path:
    for name, text in cards:
        page = folder / "cards" / "air-supply" / f"{name}.md"
        page.parent.mkdir(parents=True, exist_ok=True)
        page.write_text(text)
    return folder


def test_wrong_card_is_named_and_the_rest_are_still_checked(tmp_path: Path) -> None:
    wrong = GOOD.replace("move:** no limit", "move:** slowly")
    kb = make_kb(tmp_path, ("wrong", wrong), ("drain-left-open", GOOD))
    found = [str(fault) for fault in lint(kb, TODAY)]
    assert any("wrong.md" in fault and "May it move" in fault for fault in found)
    assert any(
        "motor-hums" in fault and "drain-left-open.md" in fault for fault in found
    )


def without_look_alikes() -> str:
    start, end = GOOD.index("## It is not this when"), GOOD.index("## Causes")
    return GOOD[:start] + GOOD[end:]


def test_untidy_layout_is_advice_with_the_line(tmp_path: Path) -> None:
    text = without_look_alikes().replace("\n\n## Checks", "\n\n\n## Checks")
    kb = make_kb(tmp_path, ("drain-left-open", text))
    (found,) = [fault for fault in lint(kb, TODAY) if "untidy" in fault.says]
    assert found.place.line == text[: text.index("\n\n\n##")].count("\n") + 3
    assert "take this empty line out" in found.says


def test_untidy_layout_is_left_for_last(tmp_path: Path) -> None:
    text = without_look_alikes().replace("\n\n## Checks", "\n\n\n## Checks")
    wrong = text.replace("Then [repair 1](#1-close-the-drain).", "Then [x](#nothing).")
    kb = make_kb(tmp_path, ("drain-left-open", wrong))
    said = [fault.says for fault in lint(kb, TODAY)]
    assert any("broken link" in one for one in said)
    assert not any("untidy" in one for one in said)


def test_a_picture_is_no_link_to_a_page(tmp_path: Path) -> None:
    text = without_look_alikes().replace("1. Close it.", "![The drain](drain.png)")
    kb = make_kb(tmp_path, ("drain-left-open", text))
    page = kb / "cards" / "air-supply"
    (said,) = [f.says for f in lint(kb, TODAY) if "is not here" not in f.says]
    assert "no file 'drain.png' beside this page" in said
    (page / "drain.png").write_bytes(b"x" * 100)
    assert not [f for f in lint(kb, TODAY) if "is not here" not in f.says]


@pytest.mark.parametrize("name", [".does", ""])
def test_what_no_page_may_bid_is_refused_whatever_is_named(
    name: str, guard: Guard
) -> None:
    """Sentences of an author on trial, who named the acts and had them pass."""
    for step in (
        "Raise the axle with the jack and reach in under it from below.",
        "Lie underneath with only the jack holding the corner up.",
    ):
        text = with_step(step)
        if name:
            text = text.replace("pump off; after", "pump off; does: lifting; after")
        assert any("what no page may bid" in said for said in acts_found(guard, text))


def test_file_that_is_no_text_gets_one_fault(tmp_path: Path) -> None:
    kb = make_kb(tmp_path, ("latin", "x"))
    (kb / "cards" / "air-supply" / "latin.md").write_bytes(b"---\nid: \xe9\n")
    assert any("UTF-8" in fault.says for fault in lint(kb, TODAY))


def test_stray_file_is_pointed_out(tmp_path: Path) -> None:
    kb = make_kb(tmp_path, ("drain-left-open", GOOD))
    (kb / "cards" / "lost.md").write_text("x")
    assert any("not read; fault pages are" in fault.says for fault in lint(kb, TODAY))


def test_card_in_the_wrong_folder_is_pointed_out(tmp_path: Path) -> None:
    (tmp_path / "cards" / "brakes").mkdir(parents=True)
    (tmp_path / "cards" / "brakes" / "drain-left-open.md").write_text(GOOD)
    assert any(
        "in the folder 'brakes'" in fault.says for fault in lint(tmp_path, TODAY)
    )


def test_windows_line_ends_and_byte_order_mark_read_alike(tmp_path: Path) -> None:
    text = "\ufeff" + GOOD.replace("\n", "\r\n")
    kb = make_kb(tmp_path, ("drain-left-open", ""))
    (kb / "cards" / "air-supply" / "drain-left-open.md").write_bytes(text.encode())
    allowed = ("motor-hums", "is not here")
    assert not [f for f in lint(kb, TODAY) if not any(a in f.says for a in allowed)]


def test_like_signs_in_two_cards_without_a_not_line_are_pointed_out(
    tmp_path: Path,
) -> None:
    other = GOOD.replace("drain-left-open", "other").replace("motor-hums", "third")
    kb = make_kb(tmp_path, ("drain-left-open", GOOD), ("other", other))
    found = [f for f in lint(kb, TODAY) if "is like" in f.says]
    assert len(found) >= 8
    assert found[0].place.line == line_of_sign(GOOD)
    told = GOOD.replace("motor-hums", "other")
    (kb / "cards" / "air-supply" / "drain-left-open.md").write_text(told)
    assert not [f for f in lint(kb, TODAY) if "is like" in f.says]


def line_of_sign(text: str) -> int:
    return text[: text.index("- pump runs all night")].count("\n") + 1


def with_step(step: str) -> str:
    return GOOD.replace("1. Take it apart.", f"1. {step}")


@pytest.fixture(scope="module")
def guard(kb: Path) -> Guard:
    """The project's own ear for acts, and its cautions."""
    return Guard(kb)


def acts_found(guard: Guard, text: str) -> list[str]:
    """What the linter says of the acts on a page."""
    found = read_card(text, PATH)
    assert isinstance(found, Card), found
    return [fault.says for fault in guard.lint(found, real_lexicon())]


@pytest.mark.parametrize(
    ("step", "wanted"),
    [
        ("Jack it up with a bottle jack and crawl under.", "what no page may bid"),
        ("Feel for the injection jet with a finger.", "what no page may bid"),
        ("Raise the axle with the jack until the wheel hangs free.", "like lifting"),
        ("Unscrew the air line from the relay valve.", "air pressure"),
        ("Take it round the block and try the new part on the hill.", "trial drive"),
    ],
)
def test_dangerous_act_without_a_caution_is_pointed_out(
    step: str, wanted: str, guard: Guard
) -> None:
    (said,) = acts_found(guard, with_step(step))
    assert wanted in said


@pytest.mark.parametrize(
    "step",
    [
        "Wipe the jack clean and put it back in its locker.",
        "Never crawl under a truck that stands on a jack.",
        "Write the pressure of each tyre on the door.",
        "Ask the driver whether it was towed.",
    ],
)
def test_harmless_step_with_dangerous_words_is_left_alone(
    step: str, guard: Guard
) -> None:
    assert acts_found(guard, with_step(step)) == []


def test_an_act_that_the_slanted_line_names_is_not_complained_of(guard: Guard) -> None:
    step = "Raise the axle with the jack until the wheel hangs free."
    named = with_step(step).replace("pump off; after", "pump off; does: lifting; after")
    assert acts_found(guard, with_step(step))
    (said,) = acts_found(guard, named)
    assert "its caution is missing" in said


def test_a_heading_is_heard_like_a_step(guard: Guard) -> None:
    heading = "Raise the axle with the jack until the wheel hangs free"
    text = GOOD.replace("### 2. Re-ring the pump", f"### 2. {heading}")
    text = text.replace("#2-re-ring-the-pump", f"#2-{slug(heading)}")
    (said,) = acts_found(guard, text)
    assert "like lifting" in said


@pytest.mark.parametrize(
    ("needs", "wanted"),
    [
        ("truck: engine idling", "does: engine running"),
        ("truck: engine at fast idle", "does: engine running"),
        ("truck: wheel off the ground (15 min)", "does: lifting"),
        ("truck: wheel off (40 min)", "does: wheel or rim"),
        ("tools: axle stand, bar", "does: lifting"),
    ],
)
def test_a_state_or_tool_wants_the_act_that_goes_with_it(
    needs: str, wanted: str, guard: Guard
) -> None:
    old = "tools: spanners; truck: pump off;"
    (said,) = acts_found(guard, GOOD.replace(old, f"{needs};"))
    assert wanted in said


FORBIDDEN = "Jack it up with a bottle jack and crawl under."


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("Begin at zero on the gauge.", FORBIDDEN),
        ("Note how long it runs, and ask the club.", FORBIDDEN),
        ("Old oil wears it.", FORBIDDEN),
        (
            "- Yes, cold air blows:",
            "- Yes, jack it up with a bottle jack and crawl under:",
        ),
        ("- Clean: the pump stops at its mark.", f"- Clean: {FORBIDDEN}"),
        ("## Sources", f"## What some say\n\n{FORBIDDEN}\n\n## Sources"),
    ],
)
def test_what_no_page_may_bid_is_refused_wherever_it_stands(
    old: str, new: str, guard: Guard
) -> None:
    assert GOOD.count(old) == 1
    said = acts_found(guard, GOOD.replace(old, new))
    assert any("what no page may bid" in each for each in said)


def test_a_field_note_and_a_stop_rule_may_not_bid_it_either(guard: Guard) -> None:
    note = Note("n", "t", "a", TODAY, Share.OPEN, ("wren",), (Prose(FORBIDDEN),))
    rule = StopRule(
        id="r",
        title="t",
        question="q?",
        signs=(),
        drive=Drive.DO_NOT_MOVE,
        share=Share.OPEN,
        check_by=TODAY,
        authors=("wren",),
        cautions=(),
        do_now=(FORBIDDEN,),
        call_for_help=(),
        who_decides=(),
        sources=(),
    )
    for held in (note, rule):
        (said,) = guard.forbidden(held, real_lexicon())
        assert "what no page may bid" in said.says


@pytest.mark.parametrize("name", ["planted.yaml", "strangers.yaml"])
def test_planted_sentences_are_found_and_look_alikes_left_alone(
    name: str, guard: Guard
) -> None:
    """tests/acts: by writers who saw neither pages nor what the ear learnt."""
    rows = yaml.safe_load((Path(__file__).parent / "acts" / name).read_text())
    ear, lexicon = guard.ear, real_lexicon()
    heard = [(row["act"], bool(acts(row["text"], lexicon, ear))) for row in rows]
    found = [hit for act, hit in heard if act != HARMLESS]
    false = [hit for act, hit in heard if act == HARMLESS]
    assert len(found) >= 60
    assert sum(found) >= 0.95 * len(found)
    assert sum(false) <= 0.10 * len(false)


def test_plain_work_is_left_alone(guard: Guard) -> None:
    """tests/acts/plain.yaml: ordinary work, by one who saw nothing of it either."""
    rows = yaml.safe_load((Path(__file__).parent / "acts" / "plain.yaml").read_text())
    false = [bool(acts(row["text"], real_lexicon(), guard.ear)) for row in rows]
    assert len(false) == 100
    assert sum(false) <= 0.10 * len(false)


def test_a_complaint_says_which_words_ring_and_on_which_line(guard: Guard) -> None:
    step = "Read it.\n2. Raise the axle with the jack until the wheel hangs free."
    card = read_card(with_step(step), PATH)
    assert isinstance(card, Card)
    (fault,) = guard.lint(card, real_lexicon())
    assert "sounds like lifting (by " in fault.says
    assert "'jack'" in fault.says
    lines = with_step(step).split("\n")
    assert lines[fault.place.line - 1].startswith("2. Raise")


def test_an_author_may_vouch_for_a_step_unless_it_is_plainly_dangerous(
    guard: Guard,
) -> None:
    def vouched(step: str) -> list[str]:
        old = "truck: pump off; after: drive"
        new = "truck: pump off; does: nothing dangerous; after: drive"
        assert old in GOOD
        return acts_found(guard, with_step(step).replace(old, new))

    harmless = "Start the wipers."
    assert acts_found(guard, with_step(harmless))
    assert vouched(harmless) == []
    assert vouched("Raise the axle with the jack until the wheel hangs free.")
    (said,) = vouched("Feel for the injection jet with a finger.")
    assert "what no page may bid" in said


def test_knowledge_base_without_its_cautions_says_so(tmp_path: Path) -> None:
    kb = make_kb(tmp_path, ("drain-left-open", GOOD))
    said = [str(fault) for fault in lint(kb, TODAY)]
    assert any("cautions.md" in s and "is not here" in s for s in said)
    assert any("acts.txt" in s and "is not here" in s for s in said)
