"""What may not be passed on: markings and personal data are found, the trade is not."""

import random
import re
import time
from base64 import b64encode
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from types import ModuleType

import pytest

from bot.club import leaving, personal
from bot.club.leaving import (
    Says,
    finds,
    kept_back,
    may_leave,
    refusal,
    strictest,
)
from bot.model.kinds import Share

CASES = Path(__file__).parent / "leaving"
KB = Path(__file__).parent.parent / "kb"
HOSTILE = 1 << 14


def cases(name: str) -> list[tuple[str, str]]:
    """The verdict and the text of each case; comments stand between cases."""
    text = re.sub(r"\n\n# The \w+ part.*\n", "\n", (CASES / name).read_text())
    parts = [part.partition("\n") for part in re.split(r"^== ", text, flags=re.M)[1:]]
    return [(want, case.strip("\n")) for want, _, case in parts]


MARKED, CLEAN = cases("marked.txt"), cases("clean.txt")


def said(text: str) -> str:
    found = finds(text)
    return strictest(found).value if found else "none"


def whats(text: str) -> list[str]:
    return [each.what for each in finds(text)]


def test_there_are_cases_enough() -> None:
    assert sum(want in ("ask", "refuse") for want, _ in MARKED) >= 60
    assert len(CLEAN) >= 60


@pytest.mark.parametrize(("want", "text"), MARKED)
def test_what_is_marked_or_personal_is_stopped(want: str, text: str) -> None:
    assert said(text) == want


@pytest.mark.parametrize(("want", "text"), CLEAN)
def test_clean_talk_of_the_trade_goes_by(want: str, text: str) -> None:
    assert said(text) == want


def test_clean_talk_is_hardly_asked_about_and_never_refused() -> None:
    wants = [want for want, _ in CLEAN]
    assert wants.count("ask") <= 2
    assert {*wants} <= {"ask", "none"}


def test_the_knowledge_base_may_leave_without_a_question() -> None:
    pages = [
        path
        for path in sorted(KB.rglob("*"))
        if path.name.endswith((".md", ".wordings.txt", ".yaml"))
    ]
    assert len(pages) > 200
    found = {path: finds(path.read_text()) for path in pages}
    refused = [path for path in pages if strictest(found[path]) is Says.REFUSE]
    asked = [path for path in pages if strictest(found[path]) is Says.ASK]
    assert not refused
    assert len(asked) <= len(pages) / 100, [found[path] for path in asked]


PHRASES = {
    "distribution statement d": "a distribution statement D",
    "for official use only": '"for official use only"',
    "official sensitive": '"official-sensitive"',
    "destruction notice": "a destruction notice",
    "commercial in confidence": '"in confidence"',
    "tlp amber strict": "TLP:AMBER+STRICT",
    "all rights reserved": "a copyright notice",
}
JOINTS = (
    " ",
    "  ",
    "\n",
    "\r\n",
    "-",
    " - ",
    "_",
    "\n> ",
    " **",
    ": ",
    "\u00a0",
    "<br>",
)


@pytest.mark.parametrize(("phrase", "joint"), [*product(PHRASES, JOINTS)])
def test_a_marking_is_found_however_it_is_spaced(phrase: str, joint: str) -> None:
    for written in (phrase, phrase.upper(), phrase.title()):
        assert whats(f"a\n\n{written.replace(' ', joint)}\n\nb") == [PHRASES[phrase]]


@pytest.mark.parametrize("short", ["fouo", "cui", "itar", "tlp red"])
def test_letters_with_stops_between_them_are_a_word(short: str) -> None:
    first, _, rest = short.upper().partition(" ")
    dotted = ".".join(first) + "." + (f" {rest}" if rest else "")
    assert whats(f"see {dotted} here") == whats(f"see {short} here")
    assert len(whats(dotted)) == 1


def test_letters_that_only_meet_are_no_word() -> None:
    assert not finds("| C | U | I |\n|---|---|---|\n| 1 | 2 | 3 |")
    assert not finds("I tar the floor. A fou owner. Tell the taxi tariff.")


def test_what_a_word_is_broken_by_does_not_hide_it() -> None:
    for broken in (
        "DESTRUC-\nTION NOTICE",
        "de**struc**tion notice",
        "DES\u00adTRUCTION",
    ):
        text = broken if "otice" in broken.lower() else f"{broken} NOTICE"
        assert whats(text) == ["a destruction notice"]
    assert not finds("copy right figures to the left, destruct ion notice")


def test_each_is_told_with_its_line_and_at_most_sixty_letters() -> None:
    text = f"one\r\ntwo\r{'x' * 500} FOUO {'y' * 500}\nfour\n\u00e9 \u00bd TLP:GREEN"
    first, second = finds(text)
    assert (first.line, first.says, first.what) == (
        3,
        Says.REFUSE,
        '"for official use only"',
    )
    assert "FOUO" in first.quote
    assert len(first.quote) == 60
    assert (second.line, second.says, second.what) == (5, Says.ASK, "TLP:GREEN")


def test_a_line_tells_the_same_thing_once_and_its_lines_in_order() -> None:
    (once,) = finds(f"FOUO first {'x' * 100} FOUO")
    assert once.quote.startswith("FOUO first")
    assert [each.line for each in finds("FOUO\n\nFOUO\na@b.example\nFOUO")] == [
        1,
        3,
        4,
        5,
    ]


def test_what_is_personal_is_told_by_its_line_too() -> None:
    text = "one\n\nring me on\n0171 2345678\n\nx\n3 Dune Road\n\nos grid 01234 56789"
    assert [(each.line, each.what) for each in finds(text)] == [
        (4, "a telephone number"),
        (7, "a postal address"),
        (9, "a grid reference"),
    ]


def test_the_strictest_word_counts() -> None:
    assert strictest(()) is Says.PASS
    assert strictest(finds("TLP:CLEAR")) is Says.PASS
    assert strictest(finds("TLP:CLEAR, tlp green")) is Says.ASK
    assert strictest(finds("TLP:RED, TLP:CLEAR, TLP:GREEN")) is Says.REFUSE


def test_a_refusal_is_one_sentence_that_says_where_and_what_to_do() -> None:
    assert refusal("notes/a.md", finds("tel. 0171 2345678")) is None
    says = refusal("notes/a.md", finds("mine\nTLP:RED"))
    assert says is not None
    assert says.startswith("notes/a.md, line 2, bears TLP:RED ")
    assert says.endswith("write in your own words what you know without that paper.")


@pytest.mark.parametrize(
    ("share", "club", "public"),
    [
        (Share.OPEN, True, True),
        (Share.CLUB, True, False),
        (Share.PRIVATE, False, False),
        (None, False, False),
    ],
)
def test_only_what_is_open_leaves_the_club(
    share: Share | None, club: bool, public: bool
) -> None:
    assert may_leave(share, to_public=False) is club
    assert may_leave(share, to_public=True) is public
    for to_public, leaves in ((False, club), (True, public)):
        says = kept_back("notes/a.md", share, to_public)
        assert (says is None) is leaves
        assert says is None or '"share: open"' in says


def test_what_keeps_a_page_here_is_told_by_its_share() -> None:
    assert "missing" in (kept_back("a", None, to_public=False) or "")
    assert "private" in (kept_back("a", Share.PRIVATE, to_public=False) or "")
    assert "members" in (kept_back("a", Share.CLUB, to_public=True) or "")


def test_keys_digests_and_signatures_of_the_club_are_nothing_personal() -> None:
    drawn = random.Random(7)
    for _ in range(400):
        bits = drawn.randbytes(64)
        text = (
            f'"sig": "{b64encode(bits).decode()}", {bits[:32].hex()} {bits[:6].hex()}.'
        )
        assert not finds(text), text


def test_a_link_is_looked_through_for_places_alone() -> None:
    plain = (
        "https://a.example/AB12%20CDE/01712345678/+491712345678?id=ZZZ123ABC45678901"
    )
    assert not finds(plain)
    assert whats(f"{plain}&q=54.32312,10.12248") == ["coordinates"]


def test_an_account_number_is_one_by_its_check_digits() -> None:
    assert whats("DE89 3704 0044 0532 0130 00") == ["a bank account number"]
    assert not finds("DE88 3704 0044 0532 0130 00")


HOSTILE_PIECES = (
    *"a1 A(+@.0\n",
    *(
        "1 ",
        "1.",
        "1-",
        " / 1",
        "(at)",
        "x(at)x.x ",
        "a@",
        "1.2345 ",
        "\u00b01'",
        "<b>",
    ),
    *("54.32312, 10.12248 ", "AB12 ", "AB-", "12A ", "de89 ", "N1 1.11", "Aa 1 "),
    *("restricted ", "RESTRICTED\n", "do not copy ", "c u i ", "F.O.U.O. ", "lat:"),
    *("distribution statement d ", "private key ", "this paper is ", "tel 123456 "),
    *("reg. 1", "(c) 1990 ", "w" * 3000 + " restricted ", "proprietary document is "),
)


def long(piece: str, letters: int) -> str:
    return (piece * (letters // len(piece) + 1))[:letters]


def scanned(module: ModuleType) -> Iterator[re.Pattern[str]]:
    """The patterns of a module that a whole text may meet."""
    for value in vars(module).values():
        yield from (
            each
            for each in (value if isinstance(value, tuple) else (value,))
            if isinstance(each, re.Pattern)
        )


def test_no_hostile_text_takes_long_to_look_through() -> None:
    for piece in HOSTILE_PIECES:
        text = long(piece, HOSTILE)
        start = time.process_time()
        finds(text)
        assert time.process_time() - start < 0.5, piece


def test_no_pattern_is_slow_on_a_hostile_text() -> None:
    patterns = [*scanned(leaving), *scanned(personal)]
    assert len(patterns) > 40
    for piece in HOSTILE_PIECES:
        text = long(piece, HOSTILE // 2)
        for pattern in patterns:
            start = time.process_time()
            sum(1 for _ in pattern.finditer(text))
            assert time.process_time() - start < 0.05, (piece, pattern.pattern)
