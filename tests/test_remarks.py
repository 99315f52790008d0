"""Remarks on pages under review: the grammar of a line, and the files on the disk."""

import os
import sys
from datetime import date
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.cards.read import read_card
from bot.cards.template import fresh_card, fresh_note, fresh_procedure, fresh_rule
from bot.club import remarks as grammar
from bot.club.names import allowed
from bot.club.remarks import Remark, RemarkError, line, read, read_line
from bot.desk.remarks import Made, remark, remarks
from bot.model.card import Card

WREN, TERN = "0" * 31 + "a", "0" * 31 + "b"
DAY = date(2026, 12, 1)
PAGE = "cards/brakes/brake-drags.md"
GOOD = "2026-12-01 Wren at abcdef123456 check 3: too far from the brake chamber"


@pytest.fixture
def kb(tmp_path: Path) -> Path:
    for page, text in (
        (PAGE, fresh_card(system="brakes")),
        ("procedures/bleed-it.md", fresh_procedure()),
        ("stop-rules/on-fire.md", fresh_rule()),
        ("notes/seen.md", fresh_note()),
        ("cards/brakes/wrong.md", "---\nnothing\n"),
    ):
        path = tmp_path / "kb" / page
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return tmp_path / "kb"


def file_of(kb: Path, device: str = WREN) -> Path:
    return kb / "club" / "remarks" / PAGE.removesuffix(".md") / f"{device}.txt"


# The grammar


def test_a_line_says_who_when_on_what_where_and_what() -> None:
    said = Remark(
        DAY, "Wren", "abcdef123456", "check 3", "too far from the brake chamber"
    )
    assert read_line(GOOD) == said
    assert line(said) == GOOD
    told = read_line("2026-12-01 Old Tern at 1 at abcdef123456 cause B: is it: yes")
    assert told == Remark(DAY, "Old Tern at 1", "abcdef123456", "cause B", "is it: yes")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("2026-12-01", "2026-13-01"),
        ("2026-12-01", "1 December"),
        ("Wren", "Wren, Tern"),
        ("Wren", "W" * 41),
        ("Wren", "Wr\u200ben"),
        ("abcdef123456", "ABCDEF123456"),
        ("abcdef123456", "abcdef12345"),
        ("check 3", "check 0"),
        ("check 3", "cause b"),
        ("check 3", "somewhere"),
        ("check 3: ", "check 3:"),
        ("too far", "too  far"),
        ("too far", "too\tfar"),
        ("too far", "too \u202efar"),
        ("too far", "e\u0301 far"),
        ("brake chamber", "brake chamber "),
        ("brake chamber", "x" * 500),
        ("2026", " 2026"),
    ],
)
def test_a_line_that_is_not_written_so_is_skipped_and_counted(
    old: str, new: str
) -> None:
    assert old in GOOD
    found = read(f"{GOOD}\n{GOOD.replace(old, new, 1)}\n{GOOD}\n")
    assert (len(found.remarks), found.skipped) == (2, 1)


def test_a_line_that_was_cut_short_counts_for_nothing() -> None:
    assert read("") == ((), 0)
    assert read(GOOD).skipped == 1
    found = read(f"{GOOD}\n{GOOD[:-4]}")
    assert (len(found.remarks), found.skipped) == (1, 1)
    assert len(read(f"{GOOD}\r\n").remarks) == 1


def test_lines_beyond_the_most_are_not_looked_at() -> None:
    found = read(f"{GOOD}\n" * (grammar.MOST_LINES + 3))
    assert (len(found.remarks), found.skipped) == (grammar.MOST_LINES, 3)


@settings(max_examples=200)
@given(st.text(max_size=60), st.text(max_size=60), st.sampled_from(["page", "step 1"]))
def test_what_is_written_is_read_back_the_same(
    pen: str, words: str, place: str
) -> None:
    told = Remark(DAY, pen, "0" * 12, place, words)
    try:
        text = line(told)
    except RemarkError:
        return
    assert "\n" not in text
    assert read(f"{text}\n") == ((told,), 0)


def test_places_are_those_of_the_page() -> None:
    card = read_card(fresh_card(), "kb/cards/brakes/a.md")
    assert isinstance(card, Card)
    parts = (
        "cause A",
        "cause B",
        "check 1",
        "check 2",
        "repair 1",
        "repair 2",
        "proof",
    )
    assert grammar.places_of(card) == ("page", *parts)


# The files


def test_a_remark_is_added_to_the_file_of_its_device(kb: Path) -> None:
    said = remark(str(kb), WREN, "Wren", PAGE, "Check 2", "too  far\naway", DAY)
    assert (said.place, said.words) == ("check 2", "too far away")
    remark(str(kb), WREN, "Wren", PAGE, "page", "and too long", DAY)
    at = sha256((kb / PAGE).read_bytes()).hexdigest()[:12]
    assert file_of(kb).read_text() == (
        f"2026-12-01 Wren at {at} check 2: too far away\n"
        f"2026-12-01 Wren at {at} page: and too long\n"
    )
    assert allowed(file_of(kb).relative_to(kb).as_posix())


def test_remarks_come_by_date_and_say_whether_the_page_was_changed_since(
    kb: Path,
) -> None:
    remark(str(kb), TERN, "Tern", PAGE, "page", "second", date(2026, 12, 2))
    remark(str(kb), WREN, "Wren", PAGE, "page", "first", DAY)
    with (kb / PAGE).open("a") as file:
        file.write("\n")
    remark(str(kb), WREN, "Wren", PAGE, "page", "third", date(2026, 12, 3))
    found = remarks(str(kb), PAGE)
    rows = [(each.remark.words, each.device, each.is_current) for each in found.made]
    assert rows == [
        ("first", WREN, False),
        ("second", TERN, False),
        ("third", WREN, True),
    ]
    assert found.skipped == 0
    (kb / PAGE).unlink()
    assert not any(each.is_current for each in remarks(str(kb), PAGE).made)


def test_a_bad_line_from_elsewhere_is_counted_and_the_others_stand(kb: Path) -> None:
    remark(str(kb), WREN, "Wren", PAGE, "page", "stands", DAY)
    file_of(kb, TERN).write_bytes(f"{GOOD}\n\xff\xfe\n<script>\n".encode("latin-1"))
    file_of(kb, "not-a-device").write_text(f"{GOOD}\n")
    found = remarks(str(kb), PAGE)
    assert [each.device for each in found.made] == [WREN, TERN]
    assert found.skipped == 2
    assert isinstance(found.made[0], Made)


def test_half_a_line_of_a_power_cut_spoils_no_other(kb: Path) -> None:
    remark(str(kb), WREN, "Wren", PAGE, "page", "whole", DAY)
    with file_of(kb).open("a") as file:
        file.write("2026-12-01 Wren at abc")
    remark(str(kb), WREN, "Wren", PAGE, "page", "later", DAY)
    found = remarks(str(kb), PAGE)
    assert [each.remark.words for each in found.made] == ["whole", "later"]
    assert found.skipped == 1


def test_it_is_on_the_disk_before_it_is_said(
    kb: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[int] = []
    monkeypatch.setattr(os, "fsync", synced.append)
    remark(str(kb), WREN, "Wren", PAGE, "page", "words", DAY)
    assert len(synced) >= 2  # the file, and its name in the folder


@pytest.mark.parametrize(
    ("page", "place"),
    [
        ("procedures/bleed-it.md", "step 2"),
        ("stop-rules/on-fire.md", "step 1"),
        ("notes/seen.md", "page"),
        ("cards/brakes/wrong.md", "page"),
        (PAGE, "cause b"),
        (PAGE, "repair 2"),
        (PAGE, "proof"),
    ],
)
def test_every_kind_of_page_has_its_places(page: str, place: str, kb: Path) -> None:
    remark(str(kb), WREN, "Wren", page, place, "words", DAY)
    (found,) = remarks(str(kb), page).made
    assert found.remark.place.lower() == place


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"place": "check 3"}, "no place of that page; write one of page, cause A"),
        ({"place": "cause C"}, "no place of that page"),
        ({"page": "procedures/bleed-it.md", "place": "proof"}, "no place"),
        ({"page": "cards/brakes/wrong.md", "place": "check 1"}, "no place"),
        ({"page": "cards/brakes/gone.md"}, "cannot be read"),
        ({"page": "../secret.md"}, "can have no remarks"),
        ({"page": "words.yaml"}, "can have no remarks"),
        ({"page": PAGE.removesuffix(".md")}, "can have no remarks"),
        ({"device": "../../x"}, "can have no remarks"),
        ({"words": "x" * 501}, "501 letters; say it in at most 500"),
        ({"words": " \x1b[31m \u202e"}, "not a remark"),
        ({"pen": "Wren: me"}, "not a remark"),
        ({"pen": ""}, "not a remark"),
    ],
)
def test_what_is_no_remark_is_refused_and_nothing_is_written(
    change: dict[str, str], says: str, kb: Path
) -> None:
    usual = {
        "device": WREN,
        "pen": "Wren",
        "page": PAGE,
        "place": "page",
        "words": "words",
    }
    with pytest.raises(RemarkError, match=says):
        remark(str(kb), today=DAY, **{**usual, **change})
    assert not (kb / "club").exists()


def test_words_are_cleaned_of_what_a_terminal_would_obey(kb: Path) -> None:
    said = "red \x1b[31malert\x1b[0m\x07 \u202ereversed"
    remark(str(kb), WREN, "Wr\x1b[1men", PAGE, "page", said, DAY)
    (found,) = remarks(str(kb), PAGE).made
    assert (found.remark.pen, found.remark.words) == ("Wren", "red alert reversed")


@pytest.mark.skipif(sys.platform == "win32", reason="links need leave there")
def test_nothing_is_written_where_a_link_leads(kb: Path, tmp_path: Path) -> None:
    mine = tmp_path / "mine.txt"
    mine.write_text("mine\n")
    file_of(kb).parent.mkdir(parents=True)
    file_of(kb).symlink_to(mine)
    with pytest.raises(RemarkError, match="cannot be saved"):
        remark(str(kb), WREN, "Wren", PAGE, "page", "words", DAY)
    file_of(kb).unlink()
    file_of(kb).parent.rmdir()
    file_of(kb).parent.symlink_to(tmp_path, target_is_directory=True)
    with pytest.raises(RemarkError, match="out of the knowledge base"):
        remark(str(kb), WREN, "Wren", PAGE, "page", "words", DAY)
    assert mine.read_text() == "mine\n"
    assert not (tmp_path / f"{WREN}.txt").exists()


def test_a_file_that_is_full_takes_no_more(kb: Path) -> None:
    file_of(kb).parent.mkdir(parents=True)
    full = b"x" * (grammar.MOST_BYTES - 1) + b"\n"
    file_of(kb).write_bytes(full)
    with pytest.raises(RemarkError, match="more than"):
        remark(str(kb), WREN, "Wren", PAGE, "page", "words", DAY)
    assert file_of(kb).read_bytes() == full
