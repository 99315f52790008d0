"""Misspelt words, against open lists of real misspellings and another library."""

from collections import Counter
from collections.abc import Collection, Iterable
from pathlib import Path

import pytest

from bot.desk.shelf import open_index
from bot.language.lexicon import EMPTY, NOT, Lexicon
from bot.language.line import listen
from bot.language.spelling import Pool, halves, nearest, reach, respelt
from bot.language.text import clean, words_of
from bot.store.index import CardIndex
from bot.store.vocabulary import english
from tests.seeds import seed
from tests.tooling import tool

PUBLISHED = Path(__file__).parent / "published" / "matching"


def rows(name: str) -> list[list[str]]:
    text = (PUBLISHED / name).read_text(encoding="utf-8")
    return [line.split("\t") for line in text.splitlines()[1:]]


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
    name: str, kind: str, least: float, lexicon: Lexicon
) -> None:
    """Published runs with a vocabulary of 2,943: 0.898, 0.902 and 0.947."""
    known = set(lexicon.known.split())
    pool = Pool.of(known, lexicon.trade.split())
    pairs = [(r[0], r[1]) for r in rows(name) if not kind or r[-1] == kind]
    pairs = [(w, m) for w, m in pairs if m in known and w not in known and w.isalpha()]
    good = 0
    for written, meant in pairs:
        near = nearest(written, pool)
        good += any(lexicon.stem(word) == lexicon.stem(meant) for word in near)
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
        ("teh", "the"),
    ],
)
def test_common_slips_are_read_right(typed: str, meant: str, lexicon: Lexicon) -> None:
    near = nearest(typed, Pool.of(lexicon.known.split(), lexicon.trade.split()))
    assert lexicon.meant(lexicon.stem(near[0])) == lexicon.stem(meant)


def test_words_run_together_are_parted() -> None:
    small = EMPTY._replace(known=" air leak ")
    assert halves("airleak", small) == ("air", "leak")
    assert halves("airline", small) == ()


def test_short_words_are_never_guessed() -> None:
    assert nearest("xq", Pool.of(["xz", "aq"])) == ()


class Nothing:
    """A vocabulary without words."""

    def holds(self, stems: Collection[str]) -> Collection[str]:
        return ()

    def english(self, words: Collection[str]) -> Collection[str]:
        return english(words)

    def near(self, word: str) -> Iterable[str]:
        return ()


@pytest.mark.parametrize(
    "typed",
    [
        "wheezing wheezes wobbly quieter loudest gently happiness",
        "hopeless drinkable greenish neighbour squeaky thudding gurgles",
        "scraping bothered bumpy knackered frothy stinks smelly rusted",
        "worried dripped sloshing soaked puddle sputtering crawled",
    ],
)
def test_good_words_are_left_alone(typed: str, lexicon: Lexicon) -> None:
    words = words_of(clean(typed)[0])
    _, others, notes = respelt(words, lexicon, Nothing())
    assert notes == []
    assert others == {}


def test_every_nearest_word_is_a_reading(lexicon: Lexicon) -> None:
    words = words_of("the guage flikers")
    spelt, others, notes = respelt(words, lexicon, Nothing())
    assert "guage read as gauge" in notes
    assert spelt[1].stem == lexicon.stem("gauge")
    assert all(weight <= 0.8 for _, weight in others[1])


NOTS = [
    "arent",
    "couldnt",
    "didnt",
    "doesnt",
    "hadnt",
    "hasnt",
    "havent",
    "isnt",
    "wasnt",
    "werent",
    "wouldnt",
    "cannot",
    "shouldnt",
    "never",
    "nothing",
    "nobody",
    "without",
    "neither",
]
OWN_WORDS = {"dint", "hast", "want", "wast", "int", "ist", "noting", "nither", "nether"}
"""Slips that are words of their own, or too short to tell."""


def slips(word: str) -> Iterable[str]:
    """A letter dropped, doubled, or swapped with its neighbour; the first stays."""
    for i in range(1, len(word)):
        yield word[:i] + word[i + 1 :]
        yield word[: i + 1] + word[i:]
        yield word[:i] + word[i + 1 : i + 2] + word[i] + word[i + 2 :]


@pytest.mark.parametrize("said", NOTS)
def test_a_misspelt_not_is_a_not(said: str, lexicon: Lexicon) -> None:
    for slip in {*slips(said)} - OWN_WORDS:
        line = listen(f"it {slip} leak", lexicon, Nothing())
        leak = line.mentions[-1]
        denied = leak.denied or any(w.stem == NOT for w in line.words[leak.first :])
        assert denied or NOT in {w.stem for w in line.words}, slip


@pytest.mark.parametrize(
    "typed", ["don t", "did nt", "isn;t", "wo n't", "doesn.t", 'can"t', "havn't"]
)
def test_a_slipped_apostrophe_leaves_a_not(typed: str, lexicon: Lexicon) -> None:
    line = listen(f"it {typed} leak", lexicon, Nothing())
    assert NOT in {word.stem for word in line.words}
    assert len(line.clauses) == 1


@pytest.fixture(scope="module")
def index(kb: Path, tmp_path_factory: pytest.TempPathFactory) -> CardIndex:
    return open_index(str(kb), str(seed(tmp_path_factory.mktemp("home"))))


def test_real_slips_are_heard_as_what_was_meant(index: CardIndex) -> None:
    """Source: common misspellings of an open encyclopaedia, all of our words."""
    spelling = tool("spelling")
    pairs = spelling.pairs_in(PUBLISHED / "wikipedia-misspellings.tsv", "", index)
    found = spelling.table([spelling.hear(*pair, index) for pair in pairs])
    assert found["pairs"] >= 250
    assert found["heard right"] >= 0.89
    assert found["cured right"] >= 0.94


def test_words_that_many_people_use_are_left_alone(index: CardIndex) -> None:
    """Source: what customers asked of a bank, an open set; names of firms are cured."""
    used = Counter(w for row in rows("banking77.tsv") for w in {*row[-1].split()})
    words = [w for w, n in used.items() if n >= 5 and w.isalpha() and w.islower()]
    cured = [w for w in words if listen(w, index.lexicon, index).notes]
    assert len(words) > 380
    assert len(cured) <= 0.01 * len(words), cured
