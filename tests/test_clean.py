"""Nothing foreign reaches the terminal."""

import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.talk.clean import clean

PAYLOADS = [
    ("\x1b]52;c;aGFjaw==\x07x", "x"),
    ("\x1b]0;title\x1b\\x", "x"),
    ("\x1b]8;;http://x\x07link\x1b]8;;\x07", "link"),
    ("\x1b[2J\x1b[Hx", "x"),
    ("\x9b2Jx", "x"),
    ("\x1bP1$r\x1b\\x", "x"),
    ("\x1b(0x", "x"),
    ("\x1bcx", "x"),
    ("a\x08b\x07c\x0cd", "abcd"),
    ("one\r\ntwo\rthree", "one\ntwo\nthree"),
    ("a\u202eb\u2066c\u200bd\ufeffe", "abcde"),
    ("\x1b]0;never closed", ""),
]


@pytest.mark.parametrize(("given_", "wanted"), PAYLOADS)
def test_sequence_goes_whole(given_: str, wanted: str) -> None:
    assert clean(given_) == wanted


@given(st.text(max_size=200))
def test_what_is_left_is_seen_and_cleaning_twice_is_once(text: str) -> None:
    found = clean(text)
    assert clean(found) == found
    for character in found:
        assert character == "\n" or unicodedata.category(character)[0] != "C"


def test_every_control_and_format_character_is_dropped() -> None:
    for code in range(sys.maxunicode + 1):
        character = chr(code)
        if unicodedata.category(character) in ("Cc", "Cf", "Cs") and character not in (
            "\n\t\r"
        ):
            assert clean(f"a{character}") in ("a", "")


def test_plain_words_of_any_language_stay() -> None:
    text = "Räder übel, 6,8 bar, Reifenluft ξ 車"
    assert clean(text) == text
