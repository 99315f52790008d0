"""Misspelt words, against open lists of real misspellings and another library."""

import random
from pathlib import Path

import pytest
from rapidfuzz.distance import OSA, JaroWinkler

from bot.cards.words import read_words
from bot.match.spelling import distance, halves, likeness, near_in, nearest, reach
from bot.match.text import stem
from bot.match.thesaurus import Thesaurus, compiled
from bot.model import Words

PUBLISHED = Path(__file__).parent / "published" / "matching"


@pytest.fixture(scope="module")
def thesaurus(kb: Path) -> Thesaurus:
    words = read_words((kb / "words.yaml").read_text(), "kb/words.yaml")
    assert isinstance(words, Words), words
    return compiled(words)


def rows(name: str) -> list[list[str]]:
    text = (PUBLISHED / name).read_text(encoding="utf-8")
    return [line.split("\t") for line in text.splitlines()[1:]]


def test_distance_is_optimal_string_alignment() -> None:
    """Against rapidfuzz, on 4,000 pairs of short words from five letters."""
    lots = random.Random(1)
    for _ in range(4000):
        one, other = (
            "".join(lots.choices("abcde", k=lots.randint(1, 8))) for _ in "ab"
        )
        expected = OSA.distance(one, other)
        assert min(3, distance(one, other, 2)) == min(3, expected), (one, other)


def test_likeness_is_jaro_winkler_for_words_that_are_alike() -> None:
    """Against rapidfuzz, on pairs one or two slips apart."""
    for written, meant in [r[:2] for r in rows("wikipedia-misspellings.tsv")][::5]:
        expected = JaroWinkler.similarity(written, meant)
        assert likeness(written, meant) == pytest.approx(expected), (written, meant)


@pytest.mark.parametrize(("length", "slips"), [(2, 0), (3, 1), (5, 1), (6, 2), (12, 2)])
def test_longer_words_may_hold_more_slips(length: int, slips: int) -> None:
    assert reach("x" * length) == slips


@pytest.mark.parametrize(
    ("name", "kind", "least"),
    [
        ("maintnorm-pairs.tsv", "spelling", 0.88),
        ("toefl-spell-pairs.tsv", "", 0.885),
        ("wikipedia-misspellings.tsv", "", 0.93),
    ],
)
def test_the_right_word_is_among_the_nearest(
    name: str, kind: str, least: float, thesaurus: Thesaurus
) -> None:
    """Published runs with a vocabulary of 2,943: 0.898, 0.902 and 0.947."""
    known = thesaurus.known
    pairs = [(r[0], r[1]) for r in rows(name) if not kind or r[-1] == kind]
    pairs = [(w, m) for w, m in pairs if m in known and w not in known and w.isalpha()]
    good = 0
    for written, meant in pairs:
        near = nearest(written, near_in(known, written))
        good += any(stem(word) == stem(meant) for word in near)
    assert len(pairs) > 200
    assert good / len(pairs) >= least


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("guage", "gauge"),
        ("compresor", "compressor"),
        ("mornin", "morning"),
        ("tyer", "tyre"),
        ("presure", "pressure"),
        ("radiater", "radiator"),
        ("altenator", "alternator"),
        ("diafragm", "diaphragm"),
        ("steerin", "steering"),
    ],
)
def test_common_slips_are_read_right(
    typed: str, meant: str, thesaurus: Thesaurus
) -> None:
    near = nearest(typed, near_in(thesaurus.known, typed))
    assert thesaurus.single.get(stem(near[0]), stem(near[0])) == stem(meant)


def test_words_run_together_are_parted() -> None:
    assert halves("airleak", {"air", "leak"}) == ("air", "leak")
    assert halves("airline", {"air"}) == ()


def test_short_words_are_never_guessed() -> None:
    assert nearest("xq", ["xz", "aq"]) == ()
