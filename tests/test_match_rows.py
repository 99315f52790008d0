"""Packed rows: as plain tables say, over many blocks; the best pages without all."""

import sqlite3
from array import array
from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.language.lexicon import EMPTY
from bot.match import rows
from bot.match.bm25 import best_cards, different, earned, look_up
from bot.match.memory import MemoryIndex
from bot.match.query import ask
from bot.match.records import Feature, Signs, record_of
from bot.match.rows import (
    NUMBER,
    Row,
    Shelf,
    columns_of,
    is_term,
    packed,
    sample,
    unpacked,
)
from bot.store import rows as stored
from bot.store.rows import Rows
from bot.store.tables import MEMORY, fresh

numbers = st.integers(1, 255)
entries = st.dictionaries(
    st.integers(0, rows.BLOCK - 1),
    st.tuples(numbers, numbers, st.binary(max_size=5)),
    min_size=1,
    max_size=40,
).map(lambda held: [(place, *held[place]) for place in sorted(held)])


@given(entries, st.booleans())
def test_a_block_comes_back_as_it_was(
    told: list[tuple[int, int, int, bytes]], term: bool
) -> None:
    signs = array(NUMBER, [255] * rows.BLOCK)
    block = unpacked(packed(columns_of(told), signs, term=term), term=term)
    columns = block.columns
    assert list(columns.places) == [place for place, *_ in told]
    assert list(columns.own) == [own for _, own, *_ in told]
    if term:
        assert list(columns.halves) == [halves for *_, halves, _ in told]
    parts = [own / 255 for _, own, *_ in told]
    assert block.share == pytest.approx(sum(parts))
    assert block.told == pytest.approx(sum(part * log(part) for part in parts))
    row = Row({0: block})
    assert dict(row.own()) == {place: own for place, own, *_ in told}
    for place, _, halves, signs_ in told if term else ():
        assert row.most() >= row.count_on(place)
        assert row.count_on(place) == halves / 2
        assert row.signs_on(place) == signs_


def test_what_is_a_term_and_what_is_not() -> None:
    assert [is_term(f) for f in ("brake", "~brake", "park_brake", "a b", "#brak")] == [
        True,
        True,
        True,
        False,
        False,
    ]


changes = st.lists(
    st.tuples(
        st.integers(0, 9),
        st.dictionaries(st.sampled_from(["a", "b", "a b", "#abc"]), numbers),
    ),
    max_size=25,
)


@given(changes, st.integers(1, 5))
def test_changes_in_any_order_and_portion_are_what_a_plain_table_says(
    told: list[tuple[int, dict[str, int]]], portion: int
) -> None:
    """Pages come, change, go and come again; a row is where a dict says it is."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rows, "BLOCK", 3)
        patch.setattr(stored, "BLOCK", 3)
        store = Rows(fresh(MEMORY))
        held: dict[int, dict[str, int]] = {}
        number: dict[int, int] = {}
        for at, (page, features) in enumerate(told):
            if page in held:
                store.take_out(number.pop(page), held.pop(page))
            if features:
                number[page] = store.free_number()
                kept = [Feature(f, n, 2 * n, bytes([n])) for f, n in features.items()]
                store.put(number[page], 9, kept)
                held[page] = features
            if at % portion == 0:
                store.write()
        store.write()
        again = Rows(store._database)
        for feature in ("a", "b", "a b", "#abc"):
            wanted = {number[p]: h[feature] for p, h in held.items() if feature in h}
            row = again.of([feature]).get(feature, Row({}))
            assert dict(row.own()) == wanted
            assert dict(row.own_among(rows.by_block(range(12)))) == wanted
            assert row.pages() == len(wanted)
            if is_term(feature):
                assert dict(row.counts()) == {p: float(n) for p, n in wanted.items()}
                assert all(row.count_on(p) == float(n) for p, n in wanted.items())
                assert all(row.signs_on(p) == bytes([n]) for p, n in wanted.items())
        assert again.shelf().numbers() == sorted(number.values())
        assert again.shelf().pages == len(held)


def test_numbers_that_are_free_are_given_again() -> None:
    store = Rows(fresh(MEMORY))
    for n in range(4):
        store.put(n, 1, [Feature("a", 1, 2)])
    store.take_out(1, ["a"])
    assert store.free_number() == 1
    store.write()
    assert Rows(store._database).free_number() == 1


def test_what_is_forgotten_was_never_there() -> None:
    database = fresh(MEMORY)
    store = Rows(database)
    store.put(0, 1, [Feature("a", 1, 2)])
    store.forget()
    store.write()
    assert store.shelf().pages == 0
    assert not store.of(["a"])
    assert isinstance(database, sqlite3.Connection)


WORDS = ["hiss", "wheel", "lamp", "cold", "smoke", "brake", "soft", "loud", "night"]


@given(
    st.lists(
        st.lists(st.sampled_from(WORDS), min_size=1, max_size=6),
        min_size=1,
        max_size=30,
    ),
    st.lists(st.sampled_from(WORDS), min_size=1, max_size=6),
    st.integers(1, 6),
)
def test_the_best_pages_are_those_of_a_search_through_all(
    pages: list[list[str]], said: list[str], most: int
) -> None:
    told = [
        record_of((f"p{n:02}", words[0]), Signs(words[1:]), (), EMPTY)
        for n, words in enumerate(pages)
    ]
    index = MemoryIndex(told, EMPTY)
    query = ask(" ".join(said), index)
    looked = look_up(query, index)
    slots = different(query.slots)
    totals: dict[int, float] = {}
    for slot in slots:
        for page, more in earned(slot, looked).items():
            totals[page] = totals.get(page, 0.0) + more
    wanted = sorted(totals.values(), reverse=True)[:most]
    found = best_cards(slots, looked, most)
    assert sorted(found.values(), reverse=True) == pytest.approx(wanted)
    assert all(totals[page] == pytest.approx(t) for page, t in found.items())


@pytest.mark.parametrize("pages", [0, 1, 255, 256, 257, 10_000])
def test_a_sample_is_all_or_evenly_out_of_all(pages: int) -> None:
    shelf = Shelf(array(NUMBER, [1] * pages))
    some = sample(shelf.numbers())
    assert len(some) == pages if pages <= 256 else 128 <= len(some) <= 256
    assert list(some) == sorted(set(some))
