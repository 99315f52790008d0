"""Slips of a new author: the fault says the very line to write, which then reads."""

import re
from datetime import date
from pathlib import Path

import pytest

from bot.cards.lint import lint_card
from bot.cards.meant import meant_limit
from bot.cards.read import read_card
from bot.model.card import Card
from bot.model.place import Fault

GOOD = (Path(__file__).parent / "cards" / "drain-left-open.md").read_text()
PATH = "kb/cards/air-supply/drain-left-open.md"
NOTHING = "- No, nothing: not A; likely B."
SLANTED = "*1 min; truck: pump off*"

SLIPS = [
    (NOTHING, "- No: nothing: not A; likely B."),
    (NOTHING, "- No, nothing: Not A; Likely B."),
    (NOTHING, "- No, nothing: not a; likely b."),
    (NOTHING, "- No, nothing: not A and likely B."),
    (NOTHING, "- No, nothing: not A, likely B."),
    (NOTHING, "- No, nothing: not A; likely B"),
    (SLANTED, "_1 min; truck: pump off_"),
    (SLANTED, "**1 min; truck: pump off**"),
    (SLANTED, "1 min; truck: pump off"),
    (SLANTED, "*1 min, truck: pump off*"),
    (SLANTED, "*1 minute; truck: pump off.*"),
    (SLANTED, "*1 min; Truck: pump off*"),
    (SLANTED, "*1 min; truck pump off*"),
    (SLANTED, "*truck: pump off; 1 min*"),
    ("parts: pump (scarce)", "part: pump (Scarce)"),
    ("- **B** Worn pump", "- **b** Worn pump"),
    ("- **B** Worn pump", "- B. Worn pump"),
    ("- **A** Drain", "- __A)__ Drain"),
    ("(usual): [repair 1](#1-close-the-drain)", "(Usual): repair 1"),
    ("**May it move:** no limit.", "May it move: No limit"),
    ("**May it move:** no limit.", "**May it move?** no limit."),
    ("## What people notice", "## What people notice:"),
    ("## If nothing was found", "## if nothing is found"),
    ("### 1. Close the drain", "### Repair 1: Close the drain"),
    ("### 1. Close the drain", "### 1) Close the drain"),
    ("### 1. Close the drain", "### Close the drain"),
    ("share: open", "Share: open"),
]
LEAD = " Then [repair 1](#1-close-the-drain)."


def said(text: str) -> tuple[Fault, ...]:
    found = read_card(text, PATH)
    assert isinstance(found, tuple), "read without a fault"
    return found


def advised(text: str, fault: Fault) -> str:
    """The text with the line of the fault written as the fault says."""
    line = re.search(
        r"write '(.*?)'(?:, on a line of its own|: number in turn)?$", f"{fault}"
    )
    assert line, fault
    lines = text.split("\n")
    lines[fault.place.line - 1] = line[1]
    return "\n".join(lines)


@pytest.mark.parametrize(("right", "slip"), SLIPS[:-1])
def test_a_line_that_is_nearly_right_is_one_fault_that_says_how_to_write_it(
    right: str, slip: str
) -> None:
    assert GOOD.count(right) == 1
    text = GOOD.replace(right, slip)
    (fault,) = said(text)
    assert advised(text, fault) == GOOD


@pytest.mark.parametrize(
    "slip",
    [" Then repair 1.", " then [repair 1](#1-close-the-drain).", " Then do repair 1"],
)
def test_a_step_named_by_its_number_gets_its_whole_link(slip: str) -> None:
    good = GOOD.replace(NOTHING, NOTHING + LEAD)
    text = good.replace(NOTHING + LEAD, NOTHING + slip)
    (fault,) = said(text)
    assert advised(text, fault) == good


def test_a_name_of_the_front_matter_is_told_with_the_right_one() -> None:
    faults = [fault.says for fault in said(GOOD.replace(*SLIPS[-1]))]
    assert "'Share' is not known; write 'share'" in faults


@pytest.mark.parametrize("dash", ["\u2013", "\u2022", "*", "+"])
def test_a_line_with_another_sign_for_a_dash_is_one_fault(dash: str) -> None:
    for line in (NOTHING, "- tank wet underneath", "- **B** Worn pump"):
        text = GOOD.replace(line, dash + line[1:])
        (fault,) = said(text)
        assert fault.says == f"begin the line with '- ', not with '{dash}'"


def test_signs_within_a_diagram_are_no_list() -> None:
    drawn = "1. Close it.\n\n```\n+ ---- + tank\n* wheel\n```"
    assert isinstance(read_card(GOOD.replace("1. Close it.", drawn), PATH), Card)


def test_steps_with_dashes_are_told_to_be_numbered_and_the_findings_are_kept() -> None:
    steps = "Hold a wet hand under the drain cock."
    (fault,) = said(GOOD.replace(steps, f"- {steps}\n- Wait.\n\nThen look."))
    assert "number the steps" in fault.says


def test_a_heading_too_deep_is_one_fault() -> None:
    assert len(said(GOOD.replace("### 1. Close", "#### 1. Close"))) == 1


def test_a_sentence_that_is_no_lead_is_quoted_alone() -> None:
    (fault,) = said(GOOD.replace(NOTHING, f"{NOTHING} Do not drive."))
    assert fault.says.startswith("cannot read 'Do not drive'; after what it tells come")


@pytest.mark.parametrize(
    ("answer", "limit"),
    [
        ("over 20 V", "20 V or more"),
        ("more than 20 volts", "20 V or more"),
        ("20 volts or more", "20 V or more"),
        ("> 20V", "20 V or more"),
        ("20 V and over", "20 V or more"),
        ("below 0.1 bar a minute", "under 0.1 bar/min"),
        ("20 V or less", "under 20 V"),
        ("between 5 and 6 bar", "5 to 6 bar"),
        ("5-6 bar", "5 to 6 bar"),
        ("under 20 V", ""),
        ("no gauge here", ""),
        ("over 20 years old", ""),
    ],
)
def test_limits_in_other_words(answer: str, limit: str) -> None:
    assert meant_limit(answer) == limit


def test_a_limit_in_other_words_is_told_as_it_must_stand() -> None:
    text = GOOD.replace("- 0.1 bar/min or more:", "- over 0.1 bar/min:")
    card = read_card(text, PATH)
    assert isinstance(card, Card)
    says = [fault.says for fault in lint_card(card, {}, date(2027, 1, 1))]
    assert "write the limit 'over 0.1 bar/min' as '0.1 bar/min or more'" in says
