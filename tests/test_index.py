"""The stored index: the same answers as in memory, only what changed written anew."""

import hashlib
import sqlite3
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.desk.beside import told_beside
from bot.language.lexicon import Lexicon
from bot.language.line import listen
from bot.match.danger import raised, stop_record
from bot.match.memory import MemoryIndex
from bot.match.rank import rank
from bot.match.records import Record, Signs, record, record_of
from bot.model.card import Card
from bot.model.rule import StopRule
from bot.store.index import CardIndex, Source, Stale
from bot.store.tables import MEMORY, discard

STORIES = [
    "hissing at one hub after I turn the engine off",
    "guage drops by mornin, no bubbles at the valve",
    "panel is dead",
    "bake a cake",
]


def source(path: str, text: str = "x") -> Source:
    return Source(path, 1, len(text), hashlib.sha256(text.encode()).hexdigest())


@pytest.fixture(scope="module")
def records(kb: Path, lexicon: Lexicon) -> list[Record]:
    found = ((read_card(p.read_text(), str(p)), p) for p in kb.glob("cards/*/*.md"))
    kept = (
        record(card, lexicon, told_beside(path))
        for card, path in found
        if isinstance(card, Card)
    )
    return sorted(kept, key=lambda entry: entry.id)


@pytest.fixture
def filled(
    tmp_path: Path, records: list[Record], lexicon: Lexicon
) -> Iterator[CardIndex]:
    index = CardIndex.open(str(tmp_path / "index.db"))
    with index:
        index.put_words([(source("words.yaml"), ())], lexicon)
        for entry in records:
            index.put_card(source(f"cards/{entry.id}.md"), entry)
    yield index
    index.close()


@pytest.mark.parametrize("story", STORIES)
def test_the_stored_index_answers_like_the_one_in_memory(
    story: str, filled: CardIndex, records: list[Record], lexicon: Lexicon
) -> None:
    there = rank(story, filled)
    here = rank(story, MemoryIndex(records, lexicon))
    assert [c[:2] for c in there.cards] == [c[:2] for c in here.cards]
    assert there.none == pytest.approx(here.none)
    assert there.understood == here.understood
    assert [c.why for c in there.cards] == [c.why for c in here.cards]


def test_it_is_there_again_when_opened_again(filled: CardIndex, tmp_path: Path) -> None:
    before = rank(STORIES[0], filled)
    again = CardIndex.open(str(tmp_path / "index.db"))
    assert rank(STORIES[0], again) == before
    again.close()


def test_replacing_cards_in_any_order_gives_the_same_as_building_afresh(
    filled: CardIndex, records: list[Record], lexicon: Lexicon
) -> None:
    changed = record_of(
        (records[0].id, "Another title"), Signs(("a purple hiss",)), (), lexicon
    )
    with filled:
        filled.remove(f"cards/{records[1].id}.md")
        filled.put_card(source(f"cards/{changed.id}.md", "new"), changed)
    fresh = MemoryIndex([changed, *records[2:]], lexicon)
    for story in (*STORIES, "purple hiss", "purpel"):
        there, here = rank(story, filled), rank(story, fresh)
        assert [c[:2] for c in there.cards] == [c[:2] for c in here.cards]
        assert there.none == pytest.approx(here.none)
        assert there.understood == here.understood


def test_only_the_rows_of_the_changed_card_are_written(
    filled: CardIndex, records: list[Record], lexicon: Lexicon, tmp_path: Path
) -> None:
    reader = sqlite3.connect(tmp_path / "index.db")
    query = "SELECT feature, block, packed FROM rows ORDER BY feature, block"
    before = reader.execute(query).fetchall()
    card = records[0].id
    other = record_of((card, "Another"), Signs(("a purple hiss",)), (), lexicon)
    own = {feature.name for feature in (*records[0].features, *other.features)}
    with filled:
        filled.put_card(source(f"cards/{card}.md", "new"), other)
    after = reader.execute(query).fetchall()
    assert [r for r in after if r[0] not in own] == [
        r for r in before if r[0] not in own
    ]
    assert after != before
    with filled:
        filled.put_card(source(f"cards/{card}.md", "old"), records[0])
    assert reader.execute(query).fetchall() == before
    reader.close()


def test_looks_tell_what_is_stale(filled: CardIndex, records: list[Record]) -> None:
    files = {f"cards/{r.id}.md": (1, 1) for r in records} | {"words.yaml": (1, 1)}
    assert filled.stale(files) == Stale((), ())
    first = f"cards/{records[0].id}.md"
    assert filled.stale(files | {first: (2, 1)}) == Stale((first,), ())
    assert filled.stale(files | {"cards/new.md": (1, 1)}).changed == ("cards/new.md",)
    del files[first]
    assert filled.stale(files) == Stale((), (first,))


def test_a_touched_file_with_the_same_text_is_not_stale_for_long(
    filled: CardIndex, records: list[Record]
) -> None:
    path = f"cards/{records[0].id}.md"
    touched = source(path)._replace(mtime_ns=99)
    with filled:
        assert filled.same(touched)
        assert not filled.same(source(path, "another text"))
    files = {path: (99, 1)}
    assert filled.stale(files).changed == ()


def test_a_new_lexicon_makes_every_card_stale(
    filled: CardIndex, records: list[Record], lexicon: Lexicon
) -> None:
    with filled:
        filled.put_words([(source("words.yaml", "new"), ())], lexicon)
    files = {f"cards/{r.id}.md": (1, 1) for r in records}
    assert len(filled.stale(files).changed) == len(records)
    assert rank(STORIES[0], filled).cards == ()


def test_mistakes_are_kept_with_their_file(filled: CardIndex) -> None:
    with filled:
        filled.put_wrong(source("cards/bad.md"), ("cards/bad.md:3: no title", "b:4: x"))
    assert filled.faults() == {"cards/bad.md": ("cards/bad.md:3: no title", "b:4: x")}
    assert filled.stale({"cards/bad.md": (1, 1)}).changed == ()


def test_a_card_that_turned_wrong_is_no_longer_found(
    filled: CardIndex, records: list[Record]
) -> None:
    card = records[0].id
    with filled:
        filled.put_wrong(source(f"cards/{card}.md", "new"), ("x:1: wrong",))
    assert card not in filled.paths()
    assert all(c.card != card for c in rank(records[0].title, filled).cards)


def test_stop_rules_come_back_as_they_were(
    filled: CardIndex, kb: Path, lexicon: Lexicon
) -> None:
    found = [
        read_rule(p.read_text(), str(p)) for p in sorted(kb.glob("stop-rules/*.md"))
    ]
    rules = [stop_record(r, lexicon) for r in found if isinstance(r, StopRule)]
    with filled:
        for rule in rules:
            filled.put_rule(source(f"stop-rules/{rule.id}.md"), rule)
    assert filled.rules() == tuple(rules)
    line = listen("suddenly no brakes at all", filled.lexicon)
    assert raised(line, filled.rules(), filled.lexicon)


def test_a_failed_upkeep_leaves_everything_as_it_was(
    filled: CardIndex, records: list[Record]
) -> None:
    def twice() -> None:
        with filled:
            filled.remove(f"cards/{records[1].id}.md")
            filled.put_card(source("cards/twin.md"), records[0])

    with pytest.raises(sqlite3.IntegrityError):
        twice()
    assert filled.shelf().pages == len(records)


@pytest.mark.parametrize(
    "damage",
    [
        b"",
        b"not a database at all",
        b"SQLite format 3\x00" + b"\xff" * 5000,
    ],
)
def test_a_damaged_file_is_made_afresh(damage: bytes, tmp_path: Path) -> None:
    path = tmp_path / "index.db"
    path.write_bytes(damage)
    index = CardIndex.open(str(path))
    assert index.shelf().pages == 0
    index.close()


def test_a_file_cut_short_is_made_afresh(filled: CardIndex, tmp_path: Path) -> None:
    filled.close()
    path = tmp_path / "index.db"
    path.write_bytes(path.read_bytes()[:-5000])
    assert CardIndex.open(str(path)).shelf().pages == 0


def test_a_file_of_another_version_is_made_afresh(
    filled: CardIndex, tmp_path: Path
) -> None:
    filled.close()
    path = str(tmp_path / "index.db")
    older = sqlite3.connect(path)
    older.execute("UPDATE about SET value = '0' WHERE name = 'code'")
    older.commit()
    older.close()
    assert CardIndex.open(path).shelf().pages == 0


def test_a_folder_that_cannot_be_written_falls_back_to_memory(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    index = CardIndex.open(str(tmp_path / "file" / "index.db"))
    with index:
        index.put_wrong(source("a.md"), ("a.md:1: x",))
    assert index.faults()


def test_the_memory_index_needs_no_file() -> None:
    assert CardIndex.open(MEMORY).shelf().pages == 0


def test_discard_takes_a_missing_file_calmly(tmp_path: Path) -> None:
    discard(str(tmp_path / "none.db"))


def test_opening_is_cheap(filled: CardIndex, tmp_path: Path) -> None:
    filled.close()
    times = []
    for _ in range(5):
        start = time.perf_counter()
        CardIndex.open(str(tmp_path / "index.db")).close()
        times.append(time.perf_counter() - start)
    assert min(times) < 0.005
