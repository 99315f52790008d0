"""Typed text to words: cleaned, cut to a length, stemmed, with the breaks between them.

Values in this room are named tuples and not dataclasses: one question from the command
line may cost six times a bare start of Python, and the dataclass machinery alone
would spend a third of that.
"""

import re
import unicodedata
from collections.abc import Iterator, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

MOST_CHARACTERS = 2000
MOST_WORDS = 300
"""A long story fits in; what is cut is said. Source: our choice."""

CLAUSE, SENTENCE = 1, 2
"""How strong the break before a word is; 0 is none."""

NO_FORMS: Mapping[str, str] = MappingProxyType({})


class Word(NamedTuple):
    """One word as typed (small letters), its stem, and the break that stands before.

    `start` is where it begins in the cleaned text.
    """

    said: str
    stem: str
    gap: int = 0
    start: int = 0


_PIECE = re.compile(
    r"(?P<code>[0-9.]{0,6}[0-9][a-z]{1,4}[0-9][a-z0-9.]{0,12})"
    r"|(?P<amount>[0-9]{1,6}(?:[.,/][0-9]{1,6})?)(?P<glued>[a-z%\"]{1,8}(?![a-z0-9]))?"
    r"|(?P<word>[^\W_]{1,64})"
    r"|(?P<end>[.!?\n]+)"
    r"|(?P<comma>[,;:()/\[\]\u2013\u2014]+| -+ |--+)"
)

_APOSTROPHES = dict.fromkeys(map(ord, "'\u2018\u2019\u02bc`\u00b4"))


_SLIPPED = re.compile(
    r"\b(ai|are|ca|could|did|do|does|had|has|have|is|must|need|should|was|were|wo|would)"
    r"(?: n[ ;\",.]?|n[ ;\",.])t\b(?!-)"
)
"""The "n't" of an auxiliary, with a slip of the finger where the apostrophe belongs:
"don t", "did nt", "isn;t". What is not heard as "not" is heard as its opposite."""


@lru_cache(maxsize=8192)
def cut(word: str) -> str:
    """A regular word without its endings: s, ing, ed, ly, a doubled letter, a final e.

    >>> [cut(w) for w in "leaking leaks braking brakes stopped batteries".split()]
    ['leak', 'leak', 'brak', 'brak', 'stop', 'battery']
    """
    if len(word) <= 3 or any(c.isdigit() for c in word):
        return word
    word = _without_plural(word)
    if word.endswith("ly") and len(word) > 5:
        word = word[:-3] + "y" if word[-3] == "i" else word[:-2]
    for ending in ("ing", "ed"):
        rest = word[: -len(ending)]
        if word.endswith(ending) and len(rest) > 2 and any(c in "aeiouy" for c in rest):
            word = rest
            break
    if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "aeious":
        word = word[:-1]
    return word[:-1] if len(word) > 3 and word[-1] == "e" else word


def _without_plural(word: str) -> str:
    """`word` without a plural or third-person ending."""
    if word.endswith(("ies", "ied")) and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith("sses"):
        return word[:-2]
    if word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word


def _plain(text: str) -> str:
    """Small letters in their usual form, without accents."""
    folded = unicodedata.normalize("NFKC", text).lower()
    marks = unicodedata.normalize("NFD", folded)
    return "".join(c for c in marks if not unicodedata.combining(c))


def clean(text: str) -> tuple[str, bool]:
    """Small plain letters, at most `MOST_CHARACTERS`; and whether any were cut."""
    raw = text[: 4 * MOST_CHARACTERS]
    plain = raw.lower() if raw.isascii() else _plain(raw)
    short = _SLIPPED.sub(r"\1nt", plain.translate(_APOSTROPHES)).strip()
    cut_off = len(text) > len(raw) or len(short) > MOST_CHARACTERS
    return short[:MOST_CHARACTERS], cut_off


def words_of(text: str, forms: Mapping[str, str] = NO_FORMS) -> tuple[Word, ...]:
    """The words of cleaned text in order; a number keeps its unit.

    >>> [w.said for w in words_of("air-leak at 8,5 bar, 24v ok")]
    ['air', 'leak', 'at', '8,5', 'bar', '24v', 'ok']
    """
    found: list[Word] = []
    gap = 0
    for piece in _PIECE.finditer(text):
        kind = piece.lastgroup
        if kind == "end":
            gap = SENTENCE
        elif kind == "comma":
            gap = max(gap, CLAUSE)
        else:
            said = piece[0]
            found.append(Word(said, _stem(said, forms), gap, piece.start()))
            gap = 0
    return tuple(found[:MOST_WORDS])


def said_in(text: str) -> Iterator[str]:
    """The words of cleaned text as they were said, however many."""
    pieces = _PIECE.finditer(text)
    return (piece[0] for piece in pieces if piece.lastgroup not in ("end", "comma"))


def _stem(said: str, forms: Mapping[str, str]) -> str:
    """The stem; a number is its own, so that no two numbers pass for one another."""
    return said if said[0].isdigit() else forms.get(said) or cut(said)
