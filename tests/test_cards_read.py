"""Reading a card: what is wrong is said at its line, with what to write instead."""

from pathlib import Path

import pytest

from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.model.card import REST, Bearing, Card, Drive, Limit, Price, Strength, Sum
from bot.model.rule import StopRule

GOOD = (Path(__file__).parent / "cards" / "drain-left-open.md").read_text()
PATH = "kb/cards/air-supply/drain-left-open.md"


def good() -> Card:
    found = read_card(GOOD, PATH)
    assert isinstance(found, Card), found
    return found


def faults(text: str) -> list[str]:
    found = read_card(text, PATH)
    assert isinstance(found, tuple), "read without a fault"
    return [str(fault).removeprefix(f"{PATH}:") for fault in found]


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


def test_card_is_read_with_all_its_parts() -> None:
    card = good()
    assert [cause.id for cause in card.causes] == ["drain-cock-left-open", "worn-pump"]
    assert [check.id for check in card.checks] == [
        "feel-under-the-drain",
        "time-the-fall",
        "listen-to-the-leak",
    ]
    assert card.signs[2] == "hiss: low down, by the tank"
    assert card.look_alikes[0].card == "motor-hums"
    assert card.causes[1].note == "Old oil wears it."
    assert card.drive is Drive.NO_LIMIT
    assert card.proof.not_clean == "it runs on."


def test_finding_carries_bearings_links_verdict_and_limit() -> None:
    feel, fall, _ = good().checks
    assert feel.findings[0].bearings == (
        Bearing(Strength.SURE, "drain-cock-left-open"),
        Bearing(Strength.HARDLY, REST),
    )
    assert feel.findings[0].on("worn-pump") is Strength.HARDLY
    assert feel.findings[0].next is not None
    assert fall.findings[0].drive is Drive.CARE
    assert fall.findings[0].limit == Limit(0.1, None, "bar/min")
    assert fall.readings is not None
    assert fall.readings.sum is Sum.FALL_PER_MINUTE


def test_needs_carry_time_parts_states_and_flags() -> None:
    card = good()
    assert card.checks[2].needs.first
    assert card.checks[1].needs.fact == "leak rate"
    assert card.checks[1].needs.truck[1].setup is not None
    ring = card.repairs[1].needs
    assert [c.price for c in ring.parts[0].choices] == [Price.DEAR, Price.CHEAP]
    assert ring.time.minutes == 120


def test_places_are_the_lines_of_the_file() -> None:
    card = good()
    wanted = line_of(GOOD, "- 0.1 bar/min or more")
    assert card.checks[1].findings[0].place.line == wanted
    assert card.causes[0].place.line == line_of(GOOD, "- **A** Drain cock left open")
    assert card.sign_places[0].line == line_of(GOOD, "- pump runs all night")


BROKEN = [
    ("kind: fault", "kind: rule", "write 'kind: fault'"),
    ("move:** no limit.", "move:** slowly.", "'do not move', 'creep"),
    ("**May it move:** no limit.\n\n", "", "write under the title '**May it move:**"),
    ("share: open", "share: all", "use 'open', 'club', 'private'"),
    ("check-by: 2028-06-30", "check-by: 2028-02-30", "is no date; write e.g."),
    ("check-by: 2028-06-30\n", "", "'check-by' is missing; add"),
    ("authors:\n", "colour: red\nauthors:\n", "'colour' is not known; known:"),
    ("share: open", "share: open\nshare: open", "stands twice (first on"),
    ("  - wren", "  - &a wren", "'&' or '*' is special here"),
    ("  - wren", "  - !!int 3", "'!' is special here"),
    ("  - wren", "  - wren: sings: all", "not valid YAML"),
    ("- tank wet underneath\n", "- tank wet\n\nand so on\n\n", "with a dash; after"),
    ("turn: [the motor", "turn, [the motor", "not a look-alike; write 'what it"),
    ("system: air-supply", "system: plumbing", "system 'plumbing' is not known"),
    ("## Checks", "## Tests", "section 'Tests' is not known"),
    ("## Proof", "## Sources", "section 'Sources' stands twice"),
    (
        "(usual): [repair",
        "(mostly): [repair",
        "'mostly' is not how often; write 'u",
    ),
    ("** Worn pump (now", "** Worn, pump (now", "not a cause; write '**A** Name"),
    ("**B** Worn", "**A** Worn", "'A' stands twice"),
    ("Note the letters.", "Mind the letters.", "write above the causes: 'Note the"),
    ("not A; likely B", "not A; likely C", "no cause has the letter C; use A, B"),
    ("No, nothing: not", "No, nothing; not", "not a finding; write 'ANSWER:"),
    (
        "No, nothing: not",
        "No, nothing: never",
        "or 'sure', 'likely', 'hardly'",
    ),
    ("not A; likely B", "not A; likely A", "'A' stands twice in this finding"),
    ("B. Drive with care.", "B. Go.", "cannot read"),
    ("*1 min; truck: pump off*", "*soon; truck: pump off*", "begin with the work"),
    ("*1 min; truck: pump off*", "soon; truck: pump off", "line under the heading"),
    ("*1 min; truck: pump off*", "*1 min; colour: red*", "'colour' is not known here"),
    ("pump (scarce)", "pump (pricey)", "has no price; write 'name (cheap)'"),
    ("pump (scarce); after: no limit", "pump (scarce)", "say what the truck may do"),
    (
        "wait 10 min, end (bar)",
        "wait long, end (bar)",
        "is no wait; write 'wait 10 min'",
    ),
    ("end (bar); work", "end (parsec); work", "'parsec' is no unit known"),
    ("per minute (bar/min).", "per minute.", "say the unit of what is worked out"),
    ("1. Close it.", "- Close it.", "dashes are for findings; number the steps"),
    ("- Not clean: it runs on.", "- Maybe: it runs on.", "end the proof with two"),
    ("> It burns the hand.", "It burns the hand.", "begin each line of a caution"),
    ("**CAUTION** A pump", "**CARE** A pump", "not a caution; write"),
    (": common-practice.", ": a friend.", "not a source; write"),
    ("; fact: leak rate*\n\n1.", "; only: wings*\n\n1.", "not known of trucks; use"),
    (
        "; fact: leak rate*\n\n1.",
        "; not before: 1*\n\n1.",
        "write 'not before: check 2'",
    ),
    ("(usual)", "(usual, only wings)", "not known of trucks; use"),
    ("**CAUTION** A pump", "**CAUTION, singing** A pump", "'singing' is no act"),
    ("## If nothing was found\n\n", "", "no section '## If nothing was found'"),
    ("1. Feel under the drain", "1. Time the fall", "stands twice; give the second"),
    ("### 2. Time", "### 3. Time", "write '### 2. Time the fall': number in turn"),
    ("### 2. Time", "### Time", "write '### 2. Time the fall': number in turn"),
    ("- Quiet: likely", "- Loud: likely", "stands twice; give the second"),
    ("# The workshop tank", "The workshop tank", "begin the page with '# "),
    ("it. Let it cool", "it.\u202e Let it cool", "hidden character U+202E"),
    ("Hold a wet hand", "Hold a \x1b[2Jwet hand", "hidden character U+001B"),
]


@pytest.mark.parametrize(("old", "new", "says"), BROKEN)
def test_each_mistake_is_named_with_what_to_write(
    old: str, new: str, says: str
) -> None:
    old = old.replace("it. Let", "hand. Let")
    new = new.replace("it.\u202e", "hand.\u202e")
    assert old in GOOD, "the case does not change the card"
    text = GOOD.replace(old, new, 1)
    assert any(says in fault for fault in faults(text)), faults(text)


def test_fault_stands_at_the_line_of_the_mistake() -> None:
    text = GOOD.replace("likely B.\n\n###", "likely C.\n\n###", 1)
    wanted = line_of(text, "- No, nothing")
    assert faults(text)[0].startswith(f"{wanted}: ")


def test_all_faults_of_a_card_are_reported_together() -> None:
    text = GOOD.replace("share: open", "share: all").replace("(usual)", "(daily)")
    assert len(faults(text)) >= 2


def test_text_after_the_findings_is_not_silently_ignored() -> None:
    text = GOOD.replace("\n## Repairs", "\nOne more thing.\n\n## Repairs", 1)
    assert any("findings come last" in fault for fault in faults(text))


def test_link_reference_lines_do_not_vanish() -> None:
    text = GOOD.replace("1. Close it.", "1. Close it.\n\n[a]: https://example.org 'x'")
    assert any("not shown alike" in fault for fault in faults(text))


def test_deep_nesting_that_would_hide_text_is_refused() -> None:
    text = GOOD.replace("1. Close it.", f"{'> ' * 20}1. Close it.")
    assert faults(text)


@pytest.mark.parametrize("text", ["", "---", "---\n---", "no card", "---\n- a\n---\n"])
def test_what_is_no_card_gets_one_plain_fault(text: str) -> None:
    assert len(faults(text)) >= 1


RULE = """---
kind: stop rule
question: Is the pump smoking now?
signs:
  - pump smokes
share: open
check-by: 2028-06-30
authors:
  - wren
---

# The pump is on fire

**May it move:** do not move.

> **DANGER** Fire. It kills. Get away.

## Do now

1. Pull the plug.

## Call for help when

It still burns.

## Who decides

The fire brigade.

## Sources

- no figures: common-practice.
"""


def test_stop_rule_is_read() -> None:
    rule = read_rule(RULE, "kb/stop-rules/hot-pump.md")
    assert isinstance(rule, StopRule), rule
    assert rule.do_now == ("Pull the plug.",)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("> **DANGER** Fire. It kills. Get away.\n\n", "", "begins with a caution"),
        ("1. Pull the plug.", "Pull the plug.", "write each thing to do on one line"),
        (
            "1. Pull",
            "\n".join(f"{n}. Go." for n in range(7)) + "\n8. Pull",
            "six things",
        ),
        ("## Who decides", "## Who", "section 'Who' is not known"),
    ],
)
def test_mistakes_in_a_stop_rule_are_named(old: str, new: str, says: str) -> None:
    found = read_rule(RULE.replace(old, new, 1), "kb/stop-rules/hot-pump.md")
    assert isinstance(found, tuple)
    assert any(says in fault.says for fault in found), found


def test_cause_without_a_link_is_one_fault_and_not_one_for_every_finding() -> None:
    text = GOOD.replace(
        "Drain cock left open (usual): [repair 1](#1-close-the-drain)",
        "Drain cock left open (usual)",
    )
    line = line_of(text, "- **A** Drain cock left open")
    assert faults(text) == [
        f"{line}: cause 'Drain cock left open' leads to no repair; write after it "
        "': [repair 1](#1-its-heading)'"
    ]


def test_wrong_findings_are_not_said_to_be_missing_as_well() -> None:
    text = GOOD.replace("- Loud: likely", "- Loud; likely")
    text = text.replace("- Quiet: likely", "- Quiet; likely")
    assert len(faults(text)) == 2
