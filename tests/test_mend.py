"""What lint asks of dangerous steps and of proofs, and what --mend writes."""

import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from bot.cards.contents import write_contents
from bot.cards.leaks import lint_leaks
from bot.cards.read import read_card
from bot.cards.template import fresh_card
from bot.desk.acts import Guard, acts_of
from bot.desk.lint import lint
from bot.desk.mend import mend
from bot.model.card import Act, Card
from bot.store.memo import Memo
from bot.store.pages import contents_of
from bot.store.scan import CONTENTS

TODAY = date(2026, 11, 30)
PAGE = "cards/brakes/my-page.md"


@pytest.fixture
def own(tmp_path: Path, kb: Path) -> Path:
    """A knowledge base with one page, which jacks the truck up in both its repairs."""
    folder = tmp_path / "kb"
    (folder / "cards" / "brakes").mkdir(parents=True)
    for name in ("cautions.md", "acts.txt", "sources.yaml", "words.yaml"):
        shutil.copy(kb / name, folder / name)
    for name in ("senses.yaml", "speech.yaml"):
        shutil.copy(kb / name, folder / name)
    text = fresh_card(system="brakes").replace("wheels chocked; after", LIFTS)
    (folder / PAGE).write_text(text)
    (folder / CONTENTS).write_text(write_contents(contents_of(folder)))
    return folder


LIFTS = "wheels chocked; does: lifting; after"


def complaints(kb: Path, about: str) -> list[str]:
    return [fault.says for fault in lint(kb, TODAY) if about in fault.says]


def test_an_act_that_is_named_wants_its_caution(own: Path) -> None:
    assert len(complaints(own, "'does: lifting', and its caution is missing")) == 2


def test_lint_says_the_same_from_memory_and_hears_what_changed(
    own: Path, tmp_path: Path
) -> None:
    def says() -> tuple[str, ...]:
        memo = Memo(tmp_path / "memo.db")
        found = lint(own, TODAY, None, memo)
        memo.close()
        return tuple(map(str, found))

    whole = says()
    assert whole == says() == tuple(map(str, lint(own, TODAY)))
    page, cautions = own / PAGE, own / "cautions.md"
    text, kept = page.read_text(), cautions.read_text()
    page.write_text(
        text.replace("Look at that.", "Jack up the axle and take the wheel off.")
    )
    assert any("lifting" in said for said in {*says()} - {*whole})
    page.write_text(text)
    assert says() == whole
    cautions.write_text(kept.replace("## lifting", "## hoisting"))
    assert says() != whole
    cautions.write_text(kept)
    assert says() == whole


def test_mend_puts_a_caution_in_once_for_what_several_steps_do(own: Path) -> None:
    assert len(list(mend(own))) == 1
    card = read_card((own / PAGE).read_text(), PAGE)
    assert isinstance(card, Card)
    assert acts_of(card.opening) == {Act.LIFTING}
    assert not any(acts_of(repair.body) for repair in card.repairs)
    assert not complaints(own, "lifting")
    assert not list(mend(own))


def test_mend_puts_a_caution_above_the_one_step_that_needs_it(own: Path) -> None:
    text = (own / PAGE).read_text().replace(LIFTS, "wheels chocked; after", 1)
    (own / PAGE).write_text(text)
    assert list(mend(own))
    card = read_card((own / PAGE).read_text(), PAGE)
    assert isinstance(card, Card)
    assert not acts_of(card.opening)
    assert [acts_of(repair.body) for repair in card.repairs] == [set(), {Act.LIFTING}]


def test_a_caution_that_was_changed_is_told_and_made_equal_again(own: Path) -> None:
    assert list(mend(own))
    text = (own / PAGE).read_text()
    (own / PAGE).write_text(text.replace("Nobody survives", "Few survive"))
    assert complaints(own, "not as cautions.md has it")
    assert list(mend(own))
    assert (own / PAGE).read_text() == text


def test_a_caution_that_no_step_names_is_told(own: Path) -> None:
    assert list(mend(own))
    text = (own / PAGE).read_text()
    (own / PAGE).write_text(text.replace("does: lifting; ", ""))
    assert complaints(own, "no step says 'does: lifting'")


def test_mend_leaves_a_page_with_mistakes_alone(own: Path) -> None:
    text = (own / PAGE).read_text().replace("(usual)", "(daily)")
    (own / PAGE).write_text(text)
    assert not list(mend(own))
    assert (own / PAGE).read_text() == text


def test_every_act_has_one_caution_kept_for_all_pages(kb: Path) -> None:
    guard = Guard(kb)
    assert not guard.faults
    kept = [guard.kept(act) for act in Act]
    assert all(caution and caution.text.count(". ") >= 1 for caution in kept)
    assert len(guard.classes) == len(Act)


# Proofs and limits by sums


def parked(clean: str, system: str = "air-supply") -> Card:
    held = read_card(fresh_card(system=system), "kb/cards/x/my-page.md")
    assert isinstance(held, Card)
    return replace(held, proof=replace(held.proof, clean=clean))


@pytest.mark.parametrize(
    ("clean", "system", "passes"),
    [
        ("it falls under 0.02 bar/min.", "air-supply", True),
        ("no more than 0.2 bar in 2 h.", "air-supply", False),
        ("no more than 0.2 bar in 2 h.", "tyres-wheels", True),
        ("no more than 3 psi in a minute.", "air-supply", True),
        ("no more than 0.6 bar in 10 h.", "air-supply", False),
        ("the gauges stand where they stood.", "air-supply", False),
    ],
)
def test_a_proof_that_a_leaking_truck_passes_is_a_mistake(
    clean: str, system: str, passes: bool
) -> None:
    assert bool(list(lint_leaks(parked(clean, system)))) is passes


READS = """Readings: start (bar), wait 10 min, end (bar); work out the fall per minute \
(bar/min).

- 0.02 bar/min or more: likely A.
- under 0.02 bar/min: WORD A.
"""


@pytest.mark.parametrize(("word", "told"), [("not", True), ("hardly", False)])
def test_an_answer_that_empties_the_tanks_overnight_clears_no_cause(
    word: str, told: bool
) -> None:
    text = fresh_card(system="air-supply")
    start, end = text.index("- Yes, it is wet"), text.index("### 2. Look at the second")
    text = f"{text[:start]}{READS.replace('WORD', word)}\n{text[end:]}"
    card = read_card(text, "kb/cards/air-supply/my-page.md")
    assert isinstance(card, Card), card
    found = list(lint_leaks(card))
    assert bool(found) is told
    assert all("12.0 bar by the morning" in fault.says for fault in found)
