"""Procedures, stubs, field notes, and what a page says of which trucks it is for."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.cards import template
from bot.cards.lesser import read_note, read_procedure
from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cards.sources import NO_DOCUMENT, Record, read_source, read_sources, told
from bot.cards.write import write_card, write_note, write_procedure, write_rule
from bot.model.card import Card
from bot.model.fitted import ALONE, FEATURES, ONE_OF, suits
from bot.model.pages import Note, Procedure
from bot.model.pictures import picture_of
from bot.model.place import NOWHERE, Fault
from bot.model.rule import StopRule
from bot.model.sources import Source


def test_every_template_reads_without_a_fault_and_writes_as_it_is() -> None:
    path = "kb/x/my-page.md"
    for text in (template.fresh_card(), template.fresh_stub()):
        card = read_card(text, path)
        assert isinstance(card, Card)
        assert write_card(card) == text
    procedure = read_procedure(template.fresh_procedure(), path)
    assert isinstance(procedure, Procedure)
    assert write_procedure(procedure) == template.fresh_procedure()
    note = read_note(template.fresh_note(), path)
    assert isinstance(note, Note)
    assert write_note(note) == template.fresh_note()
    rule = read_rule(template.fresh_rule(), path)
    assert isinstance(rule, StopRule)
    assert write_rule(rule) == template.fresh_rule()


@pytest.mark.parametrize("folder", ["cards/*", "procedures"])
def test_writing_a_page_of_the_kb_gives_its_own_text(folder: str, kb: Path) -> None:
    for path in sorted(kb.glob(f"{folder}/*.md")):
        text = path.read_text(encoding="utf-8")
        if folder == "procedures":
            procedure = read_procedure(text, path.name)
            assert not isinstance(procedure, tuple), procedure
            assert write_procedure(procedure) == text
        else:
            card = read_card(text, path.name)
            assert isinstance(card, Card), card
            assert write_card(card) == text


WRONG = (
    ("kind: field note", "kind: note", "write 'kind: field note'"),
    ("about: my-page\n", "", "'about' is missing"),
    ("seen: 2028-11-30", "seen: last week", "is no date"),
    ("Which truck, what you saw, what you did, what came of it.\n", "", "write two to"),
)


@pytest.mark.parametrize(("old", "new", "says"), WRONG)
def test_a_mistake_in_a_note_is_told_by_its_line(old: str, new: str, says: str) -> None:
    found = read_note(template.fresh_note().replace(old, new), "kb/notes/a.md")
    assert isinstance(found, tuple)
    assert any(says in fault.says for fault in found), found


def test_a_stub_has_no_steps_and_says_so() -> None:
    text = template.fresh_stub() + "\n## Causes\n\n- **A** Worn\n"
    found = read_card(text, "kb/cards/brakes/a.md")
    assert isinstance(found, tuple)
    assert "section 'Causes' is not known" in found[0].says


# Which trucks


def test_what_is_not_known_of_a_truck_hides_nothing() -> None:
    assert all(suits(((name,),), (), ()) for name in FEATURES)


@pytest.mark.parametrize("row", ONE_OF)
def test_of_a_row_a_truck_has_one(row: tuple[str, ...]) -> None:
    for name in row:
        for other in row:
            assert suits(((other,),), (name,), ()) is (other == name)
        assert suits((row,), (name,), ())


def test_what_it_is_without_hides_only_that() -> None:
    for name in ALONE:
        assert not suits(((name,),), (), (name,))
        assert suits(((name,),), (name,), ())


def test_no_tyre_inflation_means_none_of_its_kinds() -> None:
    without = ("central tyre inflation",)
    assert not suits((("wheel valves", "hand lever"),), (), without)
    assert not suits((("central tyre inflation",),), ("no tyre inflation",), ())


@given(
    st.lists(st.lists(st.sampled_from(FEATURES), min_size=1, max_size=3), max_size=3),
    st.sets(st.sampled_from(FEATURES), max_size=4),
    st.sampled_from(FEATURES),
)
def test_knowing_more_of_a_truck_never_brings_a_step_back(
    groups: list[list[str]], known: set[str], more: str
) -> None:
    only = tuple(map(tuple, groups))
    if more not in known and not suits(only, (), known):
        assert not suits(only, (), {*known, more})


# Sources


def test_a_source_names_keys_and_is_told_by_the_documents_names() -> None:
    text = "a-book:\n  by: an army\n  title: the book\n  standing: seen\n"
    records = read_sources(text, "sources.yaml")
    by_key = {r.key: r for r in records if isinstance(r, Record)}
    source = read_source("4 psi: a-book, page 3; common-practice.", NOWHERE)
    assert isinstance(source, Source)
    assert told(source, by_key) == (
        "4 psi: the book, an army (seen), page 3; common practice, no source."
    )


def test_a_record_without_standing_or_with_more_is_a_fault() -> None:
    found = read_sources("a-book:\n  by: x\n  title: y\n  colour: z\n", "sources.yaml")
    assert all(isinstance(fault, Fault) for fault in found)
    assert {"'standing'", "'colour'"} <= {str(f).split(" ")[1] for f in found}


def test_every_figure_of_the_kb_names_a_record_and_every_record_is_whole(
    kb: Path,
) -> None:
    found = read_sources((kb / "sources.yaml").read_text(), "sources.yaml")
    keys = {record.key for record in found if isinstance(record, Record)}
    assert len(keys) == len(found) > 100
    for path in kb.glob("cards/*/*.md"):
        card = read_card(path.read_text(), path.name)
        assert isinstance(card, Card)
        cited = {c.key for source in card.sources for c in source.citations}
        assert cited <= keys | {*NO_DOCUMENT}


# Pictures


def test_a_picture_is_a_line_of_its_own() -> None:
    found = picture_of("![The drain valve, ring pulled](drain.jpg)")
    assert found is not None
    assert found == ("The drain valve, ring pulled", "drain.jpg")
    assert picture_of("See ![it](drain.jpg) there.") is None
