"""Two edits of one page: put together in the page's own terms, and nothing is lost."""

from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.cards.read import HOW_TO_STRIKE, read_card
from bot.club.merge import merge, union
from bot.club.units import Branch, Leaf, Unit, What, cut
from bot.model.card import Card

KB = Path(__file__).parent.parent / "kb"
PAGES = {
    path.relative_to(KB).as_posix(): path.read_text()
    for path in sorted(KB.rglob("*.md"))
    if path.parent != KB
}
SIDES = {
    path.relative_to(KB).as_posix(): path.read_text()
    for path in sorted(KB.rglob("*.wordings.txt"))[::9]
}

PAGE = f"""---
kind: fault
system: brakes
share: club
check-by: 2028-11-30
authors:
  - Moss
---

# One wheel runs hot

**May it move:** drive with care.

Shoes drag when they cannot come back.

> **WARNING** A hot drum burns. It takes skin. Hold the back of a hand near it first.

## What people notice

- one hub stinks after a run
- pulls to one side

## Causes

{HOW_TO_STRIKE}

- **A** Seized cam (usual): [repair 1](#1-free-the-cam)
- **B** Choked hose (rare): [repair 2](#2-mend-the-hose)

## Checks

### 1. Turn the wheel by hand

*5 min; truck: engine off, wheels chocked*

1. Lift nothing, roll it a yard.
2. Feel whether it drags.

- Yes, it drags: likely A, B.
- No, it rolls: not A.

### 2. Brush soapy water

*5 min; tools: soapy water; truck: engine off, wheels chocked*

1. Brush it over the hose.

- Yes, it froths: sure B. Then [repair 2](#2-mend-the-hose).
- No, it lies still: hardly B.

## Repairs

### 1. Free the cam

*60 min; truck: engine off, wheels chocked; after: no limit*

1. Grease it and work it.

### 2. Mend the hose

*30 min; parts: hose (fair); truck: engine off, wheels chocked; after: no limit*

1. Change the hose.

## Proof

*30 min; truck: parked*

Drive round the yard.

- Clean: the hub is cold.
- Not clean: the hub is warm.

## If nothing was found

Write down when it shows.

## Sources

- no figures: common-practice.
"""


def reads(text: str) -> bool:
    return isinstance(read_card(text, "cards/brakes/hot-wheel.md"), Card)


def with_(*pairs: tuple[str, str]) -> str:
    """The page with lines replaced."""
    text = PAGE
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def clashes(ours: str, theirs: str, base: str | None = PAGE) -> list[str]:
    merged = merge(base, ours, theirs, reads=reads)
    assert bool(merged.conflicts) != bool(merged.text)
    return [str(clash) for clash in merged.conflicts]


def both(ours: str, theirs: str, base: str | None = PAGE) -> str:
    """What two edits make together, whichever side each is on."""
    merged = merge(base, ours, theirs, reads=reads)
    assert merged.conflicts == ()
    assert merge(base, theirs, ours, reads=reads) == merged
    return merged.text


FROTH = "- Yes, it froths: sure B. Then [repair 2](#2-mend-the-hose)."
STILL = "- No, it lies still: hardly B."


def test_the_page_of_these_tests_reads() -> None:
    assert reads(PAGE)


def test_edits_of_neighbouring_lines_and_checks_are_both_taken() -> None:
    first = (FROTH, FROTH.replace("froths", "bubbles"))
    second = (STILL, "- No, it stays as it is: hardly B.")
    third = ("### 2. Brush soapy water", "### 2. Brush soapy water on")
    fourth = ("- No, it rolls: not A.", "- No, it rolls freely: not A.")
    whole = with_(first, second, third, fourth)
    assert both(with_(first, third), with_(second, fourth)) == whole
    assert both(with_(first, fourth), with_(third, second)) == whole


@pytest.mark.parametrize(
    ("old", "ours", "theirs", "told"),
    [
        (
            STILL,
            "- No, it lies still: not B.",
            "- No, it is still: hardly B.",
            "check 2 'Brush soapy water': finding 2: yours says '- No, it lies still: "
            "not B.', theirs says '- No, it is still: hardly B.'",
        ),
        ("2. Feel whether it drags.", "2. Feel it.", "2. Listen.", "instruction 2: "),
        ("Choked hose", "Blocked hose", "Shut hose", "cause B: yours says"),
        ("1. Change the hose.", "1. Cut it.", "1. Bin it.", "repair 2 'Mend the hose'"),
        ("2028-11-30", "2029-01-01", "2030-01-01", "front matter: check-by: "),
        ("- pulls to one side", "- pulls left", "- pulls right", "sign list: "),
        ("Shoes drag when", "Pads drag when", "All drags when", "opening: text: "),
        ("A hot drum burns.", "A drum burns.", "Drums burn.", "opening: caution: "),
        ("drive with care", "no limit", "do not move", "verdict: "),
        ("# One wheel runs hot", "# A wheel is hot", "# A hub is hot", "title: "),
        ("hub is cold", "hub is cool", "hub feels cold", "'Proof': finding 1: "),
        ("Write down when", "Note when", "Say when", "'If nothing was found': text"),
        ("*30 min; truck: p", "*40 min; truck: p", "*9 min; truck: p", "slanted line"),
        ("- no figures:", "- 4 psi:", "- 5 V:", "source list: "),
    ],
)
def test_what_both_changed_otherwise_is_told_in_the_page_s_own_terms(
    old: str, ours: str, theirs: str, told: str
) -> None:
    (says,) = clashes(with_((old, ours)), with_((old, theirs)))
    assert told in says
    assert not merge(PAGE, with_((old, ours)), with_((old, ours))).conflicts


def test_long_lines_are_quoted_where_they_part() -> None:
    long = "- No, it lies still: hardly B. " + "and on " * 60
    base = with_((STILL, long.strip() + " end"))
    ours, theirs = (base.replace("on end", f"on {word}") for word in ("here", "there"))
    (says,) = clashes(ours, theirs, base)
    assert "and on here', theirs says '... " in says
    assert len(says) < 420


def test_what_both_added_to_a_list_is_kept_in_an_order_of_its_own() -> None:
    sign, author = "- pulls to one side", "  - Moss"
    ours = with_((sign, f"{sign}\n- drum glows"), (author, f"{author}\n  - Wren"))
    theirs = with_((sign, f"{sign}\n- wheel smokes"), (author, f"{author}\n  - Tern"))
    text = both(ours, theirs)
    assert "- pulls to one side\n- drum glows\n- wheel smokes\n\n" in text
    assert "authors:\n  - Moss\n  - Tern\n  - Wren\n---" in text


def test_a_line_that_both_added_stands_once_wherever_each_put_it() -> None:
    last, first = "- pulls to one side", "- one hub stinks after a run"
    ours = with_((last, f"{last}\n- wheel smokes"))
    theirs = with_((first, f"- wheel smokes\n{first}"))
    assert both(ours, theirs).count("- wheel smokes\n") == 1


def test_a_line_that_one_moved_stays_where_it_put_it() -> None:
    ours = with_(("- pulls to one side", "- pulls to the one side"))
    sign = "- one hub stinks after a run\n"
    theirs = with_((sign, ""), ("side\n\n## Causes", f"side\n{sign}\n## Causes"))
    wanted = theirs.replace("to one side", "to the one side")
    assert both(ours, theirs) == wanted


def test_a_line_that_both_added_is_no_edit_of_one_that_one_took_out() -> None:
    first, second = "- one hub stinks after a run\n", "- pulls to one side\n"
    ours = with_((first, f"{first}- wheel smokes\n"))
    theirs = with_((second, "- wheel smokes\n"))
    assert both(ours, theirs) == theirs


def test_both_may_add_a_finding_but_not_the_same_answer() -> None:
    ours = with_((STILL, f"{STILL}\n- Only at the nut: likely B."))
    theirs = with_((STILL, f"{STILL}\n- It is dry: tells nothing."))
    assert "- It is dry: tells nothing.\n- Only at the nut" in both(ours, theirs)
    theirs = with_((STILL, f"{STILL}\n- Only at the nut: not B."))
    assert "finding 3: yours says '- Only at the nut: l" in clashes(ours, theirs)[0]


def test_both_may_add_a_cause_but_not_under_one_letter() -> None:
    cause = "- **B** Choked hose (rare): [repair 2](#2-mend-the-hose)"
    ours = with_((cause, f"{cause}\n- **C** Weak spring (rare): [repair 1](#x)"))
    theirs = with_((cause, f"{cause}\n- **C** Dry pin (rare): [repair 1](#x)"))
    assert clashes(ours, theirs)[0].startswith("cause C: yours says")


def test_instructions_that_both_added_clash_because_their_order_matters() -> None:
    step = "2. Feel whether it drags."
    ours, theirs = (with_((step, f"{step}\n3. {w} it.")) for w in ("Push", "Pull"))
    assert "check 1 'Turn the wheel by hand': instruction" in clashes(ours, theirs)[0]
    theirs = with_(
        ("1. Lift nothing", "1. Wait.\n2. Lift nothing"), ("2. Feel", "3. Feel")
    )
    assert "their numbers clash" in clashes(ours, theirs)[0]


def test_an_instruction_is_the_same_when_it_is_only_counted_anew() -> None:
    ours = with_(
        ("1. Lift nothing", "1. Wait.\n2. Lift nothing"), ("2. Feel", "3. Feel")
    )
    theirs = with_(("Feel whether it drags.", "Feel for drag."))
    assert "2. Lift nothing, roll it a yard.\n3. Feel for drag." in both(ours, theirs)


def new_check(number: int, title: str) -> str:
    head = f"### {number}. {title}\n\n*5 min*\n\n1. Look.\n\n"
    return f"{head}- Yes, it is: likely A.\n- No, it is not: hardly A.\n\n"


def test_checks_that_both_added_clash_by_their_numbers() -> None:
    ours = with_(("## Repairs\n", new_check(3, "Look at it") + "## Repairs\n"))
    theirs = with_(("## Repairs\n", new_check(3, "Smell it") + "## Repairs\n"))
    (says,) = clashes(ours, theirs)
    assert says.startswith("section 'Checks': both sides added or took out some")
    assert clashes(ours, PAGE) == clashes(PAGE, theirs) == []


def test_a_check_that_was_moved_down_or_named_anew_takes_the_other_side_s_edits() -> (
    None
):
    check = "### 1. Turn the wheel by hand"
    ours = with_(
        (check, new_check(1, "Smell it") + "### 2. Turn the wheel with one hand"),
        ("### 2. Brush", "### 3. Brush"),
    )
    theirs = with_(("- No, it rolls: not A.", "- No, it rolls on: not A."))
    text = both(ours, theirs)
    assert reads(text)
    assert text == ours.replace("it rolls:", "it rolls on:")


def test_a_check_taken_out_on_one_side_and_changed_on_the_other_clashes() -> None:
    at, end = PAGE.index("### 2. Brush"), PAGE.index("## Repairs")
    gone = PAGE[:at] + PAGE[end:]
    says = "check 2 'Brush soapy water': yours took it out, theirs changed it"
    theirs = with_((STILL, "- No, it is still: hardly B."))
    assert clashes(gone, theirs) == [says]
    assert clashes(theirs, gone) == [
        says.replace("yours", "T").replace("theirs", "yours").replace("T", "theirs")
    ]
    assert both(gone, with_(("pulls to one", "pulls to the one"))).count("###") == 3


def test_a_check_that_is_only_counted_anew_may_be_taken_out() -> None:
    at, end = PAGE.index("### 2. Brush"), PAGE.index("## Repairs")
    theirs = (
        PAGE[:at] + new_check(2, "Smell it") + PAGE[at:].replace("### 2.", "### 3.", 1)
    )
    wanted = PAGE[:at] + new_check(2, "Smell it") + PAGE[end:]
    assert both(PAGE[:at] + PAGE[end:], theirs) == wanted


def test_a_check_put_in_the_place_of_another_takes_none_of_its_findings() -> None:
    at, end = PAGE.index("### 2. Brush"), PAGE.index("## Repairs")
    other = "### 2. Look at the belt\n\n*2 min*\n\n1. Look along it.\n\n"
    other += "- It is slack: likely A.\n- It is tight: hardly A.\n\n"
    theirs = with_((STILL, f"{STILL}\n- Froth at the nut: likely B."))
    assert "theirs changed it" in clashes(PAGE[:at] + other + PAGE[end:], theirs)[0]


def test_a_page_that_no_longer_reads_though_both_sides_did_is_a_clash() -> None:
    cause = "- **B** Choked hose (rare): [repair 2](#2-mend-the-hose)\n"
    ours = with_(
        (cause, ""),
        (FROTH, "- Yes, it froths: likely A."),
        (STILL, "- No, it lies still: hardly A."),
        ("likely A, B", "likely A"),
    )
    theirs = with_(
        ("- No, it rolls: not A.", "- No, it rolls: not A.\n- Half: likely B.")
    )
    assert reads(ours)
    assert reads(theirs)
    says = "the whole page: each of the two can be read, put together they cannot"
    assert clashes(ours, theirs) == [says]
    assert merge(PAGE, ours, theirs).text  # only who can read it sees it


def test_without_a_page_that_both_began_with_only_what_differs_clashes() -> None:
    ours = with_((STILL, "- No, it lies still: not B."))
    theirs = with_(("- pulls to one side", "- pulls to one side\n- drum glows"))
    (says,) = clashes(ours, theirs, None)
    assert "check 2 'Brush soapy water': finding 2: yours says" in says
    assert both(PAGE, theirs, None) == theirs


def test_ends_of_lines_are_no_edit() -> None:
    ours = PAGE.replace("\n", "\r\n")
    theirs = with_(("Moss", "Wren"))
    assert both(ours, theirs) == theirs
    assert both("\ufeff" + ours, PAGE) == "\ufeff" + ours
    two = with_(("Shoes drag", "Pads drag")).replace("\n", "\r\n")
    assert both(two, theirs) == theirs.replace("Shoes drag", "Pads drag")


def test_a_text_that_is_no_page_is_one_unit() -> None:
    (says,) = clashes("one\ntwo\n", "one\nthree\n", "one\n")
    assert says.startswith("the whole page: yours says 'one two', theirs says 'one th")
    assert clashes(PAGE.replace("---", "--"), PAGE.replace("Moss", "Wren"))
    assert merge("one\n", "one\n", "one\nthree\n").text == "one\nthree\n"


def test_a_diagram_is_one_unit_with_its_empty_lines() -> None:
    drawn = "```\nA --+-- B\n\n- no list\n## no heading\n```"
    base = with_(("Write down when it shows.", f"Write it down.\n\n{drawn}"))
    ours, theirs = base.replace("+--", "*--"), base.replace("Write it", "Put it")
    assert both(ours, theirs, base) == ours.replace("Write it", "Put it")
    assert clashes(ours, base.replace("no list", "a list"), base)


SIDE = (
    "hot hub\n\n# look-at-the-drum\n= Yes, it glows\naye\nit does\n= No, it does not\n"
    "nope\n\n# smell-the-hub\n= Yes, it smells\nstinks of burnt brake\n"
)


def wordings(ours: str, theirs: str) -> str:
    path = "cards/brakes/hot-wheel.wordings.txt"
    merged = merge(SIDE, ours, theirs, path=path)
    assert merged == merge(SIDE, theirs, ours, path=path)
    assert merged.conflicts == ()
    return merged.text


def test_wordings_are_put_together_answer_by_answer() -> None:
    ours = SIDE.replace("aye\n", "aye\nsure\n").replace("hot hub", "hub hot")
    theirs = SIDE.replace("aye\n", "aye aye\n").replace("stinks", "reeks")
    wanted = ours.replace("aye\n", "aye aye\n").replace("stinks", "reeks")
    assert wordings(ours, theirs) == wanted


def test_a_wording_added_under_an_answer_that_was_taken_out_keeps_its_place() -> None:
    at, end = SIDE.index("# look"), SIDE.index("# smell")
    theirs = SIDE.replace("nope\n", "nope\nnot a bit\n")
    wanted = "# look-at-the-drum\n= No, it does not\nnot a bit\n\n"
    assert wordings(SIDE[:at] + SIDE[end:], theirs) == SIDE[:at] + wanted + SIDE[end:]


def test_whose_text_is_whose_decides_nothing_even_where_headings_were_moved() -> None:
    base = "hot\n\n# look\n= Yes\naye\nit does\n= No\nnope\n\n# smell\n= Yes\nstinks\n"
    ours = base.replace("# look\n", "")
    theirs = ours.replace("aye\n", "").replace("hot\n", "hot\naye\n")
    merged = merge(base, ours, theirs, path="a.wordings.txt")
    assert merged == merge(base, theirs, ours, path="a.wordings.txt")


RECORDS = "a:\n  by: x\n\nc:\n  by: x\n"
WORDS = "words:\n  - is: jack\n    also: [lift]\n  - is: hub\n\nfaults: []\n"
CAUTIONS = "# A\n\n## b\n\n> x\n"


@pytest.mark.parametrize(
    ("path", "base", "ours", "theirs"),
    [
        ("sources.yaml", RECORDS, ("\nc:", "\nb:\n  by: z\n\nc:"), ("x\n\n", "y\n\n")),
        ("words.yaml", WORDS, ("lift]", "lifter]"), (" hub\n", " hub\n  - is: rim\n")),
        ("words.yaml", WORDS, ("lift]", "lifter]"), ("[]", "[x]")),
        ("contents.txt", "a\nd\n", ("d", "c\nd"), ("a", "a\nb")),
        ("cautions.md", CAUTIONS, ("# A\n", "# A!\n"), ("> x", "> y")),
    ],
)
def test_files_that_a_knowledge_base_has_once_are_put_together_by_their_entries(
    path: str, base: str, ours: tuple[str, str], theirs: tuple[str, str]
) -> None:
    one, two = base.replace(*ours, 1), base.replace(*theirs, 1)
    wanted = two.replace(*ours, 1) if path != "contents.txt" else "a\nb\nc\nd\n"
    assert merge(base, one, two, path=path).text == wanted
    assert merge(base, two, one, path=path).text == wanted


def test_what_a_tool_made_is_never_put_together() -> None:
    merged = merge("a\nb\n", "a\nc\n", "d\nb\n", path="stop-rules/ear.txt")
    assert [clash.where for clash in merged.conflicts] == ["the whole page"]


def leaves(unit: Unit) -> Iterator[Leaf]:
    if isinstance(unit, Leaf):
        yield unit
    else:
        for part in unit.parts:
            yield from leaves(part)


class Edit(NamedTuple):
    """One edit of one unit: words put in before or behind, gone, or one more after."""

    at: int
    how: str
    word: str


FIXED = (What.RULE, What.TAIL, What.FRONT)
HEADS = {What.HEADING, What.STEP, What.NAME}
LISTED = (What.POINT, What.ITEM, What.LINE)


def edited(page: Branch, edits: dict[int, Edit]) -> str:
    """The text of a page after edits of units, by their places."""
    lines: list[str] = []
    for n, leaf in enumerate(leaves(page)):
        edit = edits.get(n)
        dash = (
            "  - "
            if leaf.what is What.ITEM
            else "- "
            if leaf.what is What.POINT
            else ""
        )
        if edit is None:
            lines += leaf.lines()
        elif edit.how == "behind":
            lines += leaf._replace(text=f"{leaf.text} {edit.word}").lines()
        elif edit.how == "before":
            begin = dash if leaf.text.startswith(dash) else ""
            text = f"{begin}{edit.word} {leaf.text.removeprefix(begin)}"
            lines += leaf._replace(text=text).lines()
        elif edit.how == "added":
            lines += (*leaf.lines(), f"{dash}{edit.word}")
        else:
            lines += leaf.gap
    return "\n".join(lines)


def an_edit(page: Branch, draw: Random, word: str) -> Edit:
    units = list(leaves(page))
    at = draw.choice([n for n, leaf in enumerate(units) if leaf.what not in FIXED])
    hows = ["behind"]
    if units[at].what in (What.POINT, What.LINE, What.PROSE, What.CAUTION):
        hows.append("before")
    if units[at].what in LISTED:
        hows += ["added", "gone"]
    return Edit(at, draw.choice(hows), word)


def law(path: str, base: str, draw: Random) -> None:
    """The laws of a merge, on one page with an edit on either side."""
    page = cut(base, path)
    units = list(leaves(page))
    one, two = an_edit(page, draw, "zebra"), an_edit(page, draw, "quagga")
    ours, theirs = edited(page, {one.at: one}), edited(page, {two.at: two})
    assert merge(base, base, theirs, path=path) == (theirs, ())
    assert merge(base, ours, base, path=path) == (ours, ())
    assert merge(base, ours, ours, path=path) == (ours, ())
    merged = merge(base, ours, theirs, path=path)
    turned = merge(base, theirs, ours, path=path)
    assert merged.text == turned.text
    assert len(merged.conflicts) == len(turned.conflicts)
    if one.at != two.at:
        both_changed = edited(page, {one.at: one, two.at: two})
        found, wanted = merged.text.split("\n"), both_changed.split("\n")
        if "gone" in (one.how, two.how):  # it may take an empty line with it
            found, wanted = list(filter(None, found)), list(filter(None, wanted))
        if path.endswith(".txt"):  # wordings in one place have an order of their own
            found, wanted = sorted(found), sorted(wanted)
        assert found == wanted
        # and where it is no shortcut: one side has the other's edit already
        again = merge(base, ours, both_changed, path=path)
        heads = {units[edit.at].what for edit in (one, two)} & HEADS
        careful = heads or "gone" in (one.how, two.how)
        assert again == (both_changed, ()) or (careful and again.conflicts)
    elif "added" in (one.how, two.how) or units[one.at].what is What.LINE:
        words = {edit.word for edit in (one, two) if edit.how != "gone"}
        assert all(word in merged.text for word in words)
    elif one.how != two.how or one.how != "gone":
        assert len(merged.conflicts) == 1


@pytest.mark.parametrize("path", sorted([*PAGES, *SIDES]))
def test_the_laws_hold_for_a_random_edit_on_either_side_of_every_page(
    path: str,
) -> None:
    law(path, {**PAGES, **SIDES}[path], Random(path))


@settings(max_examples=40)
@given(st.randoms(use_true_random=False))
def test_the_laws_hold_for_random_edits(draw: Random) -> None:
    law("cards/brakes/hot-wheel.md", PAGE, draw)
    law("cards/brakes/hot-wheel.wordings.txt", SIDE, draw)


def lines_of(page: str) -> Counter[str]:
    """The lines of a text, whatever number stands in front."""
    found: Counter[str] = Counter()
    for line in page.split("\n"):
        head, dot, rest = line.partition(". ")
        counted = dot and head.removeprefix("### ").isdigit()
        found[rest if counted else line] += 1
    return found


@st.composite
def line_edits(draw: st.DrawFn, text: str) -> str:
    """A text with some lines taken out, doubled, moved, changed, put in."""
    lines = text.split("\n")
    for n in range(draw(st.integers(0, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        how = draw(st.sampled_from(["gone", "doubled", "changed", "new", "moved"]))
        if how in ("gone", "moved"):
            line = lines.pop(at)
            lines = lines or [""]
            if how == "moved":
                lines.insert(draw(st.integers(0, len(lines))), line)
        elif how == "doubled":
            lines.insert(at, lines[at])
        elif how == "changed":
            lines[at] += f" {draw(st.sampled_from('xyz'))}{n}"
        else:
            new = draw(
                st.sampled_from(["- new", "1. new", "new", "## New", "### 3. New"])
            )
            lines.insert(at, f"{new} {draw(st.sampled_from('xyz'))}")
    return "\n".join(lines)


@settings(max_examples=80)
@given(st.data())
def test_no_line_is_lost_whatever_two_people_do(data: st.DataObject) -> None:
    """Lines that a side put in are there; lines that neither took out are there."""
    path, base = data.draw(st.sampled_from([("", PAGE), ("a.wordings.txt", SIDE)]))
    ours, theirs = data.draw(line_edits(base)), data.draw(line_edits(base))
    merged = merge(base, ours, theirs, path=path)
    turned = merge(base, theirs, ours, path=path)
    assert bool(merged.conflicts) == bool(turned.conflicts)
    assert merged.text == turned.text
    if merged.conflicts:
        return
    old, mine, other, now = (
        lines_of(text) for text in (base, ours, theirs, merged.text)
    )
    for line in mine | other:
        if line.strip():
            left = min(mine[line] + other[line] - old[line], old[line])
            assert now[line] >= (left if old[line] else 1), line


@given(st.lists(st.sampled_from("abcd")), st.lists(st.sampled_from("abcd")))
def test_no_line_of_two_copies_of_a_file_that_grows_is_lost(
    ours: list[str], theirs: list[str]
) -> None:
    one, two = ("".join(f"{line}\n" for line in lines) for lines in (ours, theirs))
    found = union(one, two)
    assert found == union(two, one)
    assert Counter(found.split()) == Counter(ours) | Counter(theirs)
    assert union(found, one) == union(found, two) == found


def test_the_longer_copy_of_a_file_that_grows_is_the_one() -> None:
    assert union("1 a\n2 b\n", "1 a\n2 b\n3 c\n") == "1 a\n2 b\n3 c\n"
    assert union("1 a\n2 b", "1 a\n2 bc\n") == "1 a\n2 bc\n"
    assert union("1 a\n2 b\n", "1 a\n2 c\n") == "1 a\n2 b\n2 c\n"


@pytest.mark.parametrize("line", ["a", "- a", "  - a", "# a", "1. a", ">", "### 1. a"])
def test_hostile_texts_are_put_together_in_a_moment(line: str) -> None:
    base = "---\nkind: fault\n---\n# T\n" + f"{line}\n" * (6_000 // (len(line) + 1))
    ours, theirs = base + f"{line} x\n", f"{line} y\n{base}"
    for path in ("", "a.wordings.txt", "words.yaml"):
        merge(base, ours, theirs, path=path)
        merge(None, ours, theirs, path=path)
