"""The desk: the index follows the files, and one wrong page never stops the rest."""

import shutil
from pathlib import Path

import pytest

from bot.desk import upkeep
from bot.desk.asking import asked
from bot.desk.shelf import open_index
from bot.store.pages import Page

GOOD = (Path(__file__).parent / "cards" / "drain-left-open.md").read_text()


@pytest.fixture
def home(tmp_path: Path) -> str:
    folder = tmp_path / "home"
    folder.mkdir()
    return str(folder)


@pytest.fixture
def shelf(tmp_path: Path, kb: Path) -> Path:
    """A small knowledge base: two cards, the lexicon and the stop rules."""
    folder = tmp_path / "kb"
    shutil.copytree(kb / "stop-rules", folder / "stop-rules")
    shutil.copy(kb / "words.yaml", folder)
    for name in ("drain-left-open", "other"):
        put(folder, name, GOOD.replace("drain-left-open", name))
    return folder


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files that are read anew, by name."""
    names: list[str] = []
    read = upkeep.read

    def counted(text: str, found: Page) -> object:
        names.append(found.path.name)
        return read(text, found)

    monkeypatch.setattr(upkeep, "read", counted)
    return names


def put(kb: Path, name: str, text: str) -> None:
    page = kb / "cards" / "air-supply" / f"{name}.md"
    page.parent.mkdir(parents=True, exist_ok=True)
    page.write_text(text)


def cards(kb: Path, home: str, words: str = "pump runs all night") -> list[str]:
    ranking = asked(words, str(kb), home).ranking
    return [card.card for card in ranking.cards]


def test_second_question_reads_no_file(
    shelf: Path, home: str, reads: list[str]
) -> None:
    cards(shelf, home)
    assert {"drain-left-open.md", "words.yaml", "ear.txt"} <= {*reads}
    reads.clear()
    cards(shelf, home)
    assert reads == []


def test_only_the_card_whose_text_changed_is_read_again(
    shelf: Path, home: str, reads: list[str]
) -> None:
    cards(shelf, home)
    reads.clear()
    (shelf / "cards" / "air-supply" / "other.md").touch()
    put(shelf, "drain-left-open", GOOD.replace("runs all night", "howls at dawn"))
    assert cards(shelf, home, "it howls at dawn")[0] == "drain-left-open"
    assert reads == ["drain-left-open.md"]


def test_wordings_beside_a_page_find_it_and_are_noticed_when_they_change(
    shelf: Path, home: str
) -> None:
    said = "the moaning never quits behind the shed"
    beside = shelf / "cards" / "air-supply" / "other.wordings.txt"

    def best() -> tuple[str, float]:
        found = asked(said, str(shelf), home).ranking.cards
        return (found[0].card, found[0].probability) if found else ("", 0.0)

    before = best()
    beside.write_text(f"{said}\n\n# time-the-fall\n= Loud\nroars\n")
    assert best()[0] == "other"
    assert best()[1] > before[1] + 0.3
    beside.unlink()
    assert best() == before


def test_new_and_removed_cards_are_noticed(shelf: Path, home: str) -> None:
    cards(shelf, home)
    put(shelf, "third", GOOD.replace("drain-left-open", "third"))
    assert "third" in cards(shelf, home)
    (shelf / "cards" / "air-supply" / "third.md").unlink()
    assert "third" not in cards(shelf, home)


def test_a_comment_among_the_words_makes_nothing_anew(
    shelf: Path, home: str, reads: list[str]
) -> None:
    before = asked("hiss", str(shelf), home)
    reads.clear()
    words = shelf / "words.yaml"
    words.write_text("# one more comment\n" + words.read_text())
    assert asked("hiss", str(shelf), home) == before
    assert reads == ["words.yaml"]
    reads.clear()
    asked("hiss", str(shelf), home)
    assert reads == []


def test_changed_lexicon_is_used_at_once(shelf: Path, home: str) -> None:
    cards(shelf, home)
    words = shelf / "words.yaml"
    words.write_text(words.read_text() + "\n# a remark\n")
    assert cards(shelf, home)


def test_wrong_lexicon_is_named_and_the_cards_still_rank(
    shelf: Path, home: str
) -> None:
    (shelf / "words.yaml").write_text("nonsense: [")
    ranking, _, faults, _ = asked("pump runs all night", str(shelf), home)
    assert ranking.cards
    assert any("words.yaml" in fault for fault in faults)


def test_two_cards_with_one_id_leave_one_out_with_a_message(
    shelf: Path, home: str
) -> None:
    twin = shelf / "cards" / "brakes" / "other.md"
    twin.parent.mkdir()
    twin.write_text(GOOD.replace("drain-left-open", "other"))
    ranking, _, faults, _ = asked("pump runs all night", str(shelf), home)
    assert len([card for card in ranking.cards if card.card == "other"]) == 1
    assert any("another file holds 'other'" in fault for fault in faults)


@pytest.mark.parametrize("damage", [b"", b"garbage" * 1000])
def test_damaged_index_is_made_anew(shelf: Path, home: str, damage: bytes) -> None:
    wanted = cards(shelf, home)
    index = next(Path(home).glob("index-*.db"))
    index.write_bytes(damage)
    assert cards(shelf, home) == wanted


def test_index_damaged_in_the_middle_is_made_anew(shelf: Path, home: str) -> None:
    wanted = cards(shelf, home)
    index = next(Path(home).glob("index-*.db"))
    raw = bytearray(index.read_bytes())
    raw[4096 : 4096 * 6] = b"\xff" * (4096 * 5)
    index.write_bytes(raw)
    assert cards(shelf, home) == wanted


def test_home_that_cannot_be_written_still_answers(shelf: Path) -> None:
    assert cards(shelf, "/nowhere/at/all")


def test_same_words_give_the_same_answer_every_time(shelf: Path, home: str) -> None:
    first = asked("it hisses by the tank", str(shelf), home).ranking
    again = asked("it hisses by the tank", str(shelf), home).ranking
    assert first == again


def test_open_index_is_cheap_to_ask_for_paths(shelf: Path, home: str) -> None:
    index = open_index(str(shelf), home)
    assert set(index.paths()) >= {"drain-left-open", "other", "tyre-damaged"}
    index.close()


def test_recorded_outcomes_lift_their_card_in_the_ranking(
    shelf: Path, home: str
) -> None:
    from bot.job import events as e
    from bot.job.job import Job
    from bot.store.journal import Journal

    twins = cards(shelf, home)[:2]
    assert set(twins) == {"drain-left-open", "other"}
    journal = Journal(Path(home))
    for _ in range(3):
        events = (
            e.Described("pump runs all night", (), 1.0),
            e.CardChosen(twins[1]),
            e.HelpCalled(),
            e.CauseNamed("worn-pump"),
            e.Recorded("worn-pump", "", True, False, 1.0, 0.0),
        )
        journal.record(journal.open_job(), Job(), events, "now")
    assert cards(shelf, home)[:2] == [twins[1], twins[0]]
