"""Words, stems, the lexicon and what a "not" does, each rule as a line."""

from pathlib import Path

import pytest

from bot.cards.words import read_words
from bot.language.compile import compiled
from bot.language.lexicon import Lexicon, Phrases, from_plain, plain
from bot.language.line import listen
from bot.language.negation import folded
from bot.language.reading import Reading, read, terms
from bot.language.text import MOST_WORDS, clean, words_of
from bot.model.words import Wording, Words

WORDS = Words(
    wordings=(
        Wording("tyre", also=("tire",)),
        Wording("park brake", also=("handbrake", "hand brake")),
        Wording("brake", loose=("break",), never=("lunch break",)),
        Wording("erratic", loose=("wonky", "all over the place")),
        Wording("compressor", short=("comp",)),
        Wording("pressure", units=("psi", "bar")),
        Wording("turn over", also=("crank",)),
        Wording("lamp", also=("light",), never=("light throttle",)),
        Wording("not work", loose=("dead", "kaput")),
        Wording("lose", loose=("loose",)),
    ),
    lists={
        "faults": ("leak", "smoke", "hiss", "lose", "noise", "bubble", "knock"),
        "functions": (
            *("start", "charge", "hold", "stop", "work"),
            *("turn over", "air", "light"),
        ),
        "common": ("morning",),
    },
)


@pytest.fixture(scope="module")
def small(kb: Path) -> Lexicon:
    """A few terms, and how people talk."""
    speech = read_words((kb / "speech.yaml").read_text(), "speech.yaml")
    assert isinstance(speech, Words)
    return compiled(WORDS + speech)


def reading(text: str, lexicon: Lexicon) -> Reading:
    return read(folded(words_of(clean(text)[0], lexicon.forms), lexicon), lexicon)


def marks(text: str, lexicon: Lexicon) -> list[str]:
    """The lost functions and absent faults that a text marks."""
    items = reading(text, lexicon).items
    return [i.term for i in items if i.term.startswith(("no:", "abs:"))]


@pytest.mark.parametrize(
    "forms",
    [
        "leak leaks leaked leaking",
        "brake brakes braked braking",
        "stop stops stopped stopping",
        "go goes went gone going",
        "freeze froze frozen freezing",
        "blow blows blew blown blowing",
        "battery batteries",
        "hiss hisses hissing",
        "empty empties emptied emptying",
        "bearing bearings",
        "valve valves",
        "press presses pressed pressing",
    ],
)
def test_forms_of_one_word_share_a_stem(forms: str, small: Lexicon) -> None:
    assert len({small.stem(form) for form in forms.split()}) == 1


@pytest.mark.parametrize(
    ("one", "other"),
    [("tired", "tire"), ("hiss", "his"), ("brake", "break"), ("string", "stre")],
)
def test_different_words_keep_different_stems(
    one: str, other: str, small: Lexicon
) -> None:
    assert small.stem(one) != small.stem(other)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("air-leak at 8,5 bar", ["air", "leak", "at", "8,5", "bar"]),
        ("24v 24 V 5/8", ["24v", "24", "v", "5/8"]),
        ("14.00r20 6x6", ["14.00r20", "6x6"]),
        ("WON\u2019T start\u2026", ["wont", "start"]),
        ("\uff34\uff39\uff32\uff25 caf\xe9", ["tyre", "cafe"]),
        ("\U0001f600\x00\x07 [brakes]/(lights)", ["brakes", "lights"]),
        ("a AND b OR c NEAR d*", ["a", "and", "b", "or", "c", "near", "d"]),
        ("", []),
    ],
)
def test_text_becomes_plain_words(typed: str, said: list[str]) -> None:
    assert [word.said for word in words_of(clean(typed)[0])] == said


def test_breaks_are_kept_but_a_decimal_point_is_none() -> None:
    words = words_of(clean("air low, 8.5 bar. Then a bang")[0])
    assert [word.gap for word in words] == [0, 0, 1, 0, 2, 0, 0]


def test_a_long_text_is_cut_and_says_so() -> None:
    short, cut = clean("hiss " * 200_000)
    assert cut
    assert len(words_of(short)) <= MOST_WORDS
    assert clean("hiss") == ("hiss", False)


@pytest.mark.parametrize(
    ("typed", "lost"),
    [
        ("won't start", ["no:start"]),
        ("no start", ["no:start"]),
        ("refuses to start", ["no:start"]),
        ("it does not seem to want to start", ["no:start"]),
        ("fails to charge", ["no:charg"]),
        ("unable to hold air", ["no:hold"]),
        ("no longer charging", ["no:charg"]),
        ("never starts when hot", ["no:start"]),
        ("stopped charging", ["no:charg"]),
        ("quit working", ["no:work"]),
        ("lack of air", ["no:air"]),
        ("it will not turn it over", ["no:turn_over"]),
        ("won't stop the truck", ["no:stop"]),
        ("not holding air", ["no:hold"]),
        ("cannot stop", ["no:stop"]),
    ],
)
def test_a_denied_function_is_the_complaint(
    typed: str, lost: list[str], small: Lexicon
) -> None:
    assert marks(typed, small) == lost
    assert reading(typed, small).absent == ()


@pytest.mark.parametrize(
    ("typed", "gone"),
    [
        ("no smoke", ("smoke",)),
        ("no smoke or leaks", ("smoke", "leaks")),
        ("no longer leaking", ("leaking",)),
        ("without any noise", ("noise",)),
        ("not losing air when parked", ("losing",)),
        ("no air leak", ("leak",)),
        ("cant hear a hiss", ("hiss",)),
        ("no bubbles, it just sinks", ("bubbles",)),
    ],
)
def test_a_denied_fault_is_absent(
    typed: str, gone: tuple[str, ...], small: Lexicon
) -> None:
    assert reading(typed, small).absent == gone
    assert all(mark.startswith("abs:") for mark in marks(typed, small))


@pytest.mark.parametrize(
    "typed",
    [
        "won't stop hissing",
        "can't stop the leak",
        "not only smoke but noise",
        "not sure, smoke maybe",
        "no idea why it leaks",
        "no wonder it leaks",
        "hissing stops when I park",
        "without warning a knock",
        "smoke",
    ],
)
def test_a_fault_that_is_there_stays(typed: str, small: Lexicon) -> None:
    assert reading(typed, small).absent == ()
    assert marks(typed, small) == []


def test_a_not_ends_at_a_break(small: Lexicon) -> None:
    assert marks("no, it starts", small) == []
    assert marks("not that but smoke", small) == []
    assert marks("it is not when it leaks", small) == []


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("tire", "tyres"),
        ("handbrake", "the hand brake"),
        ("cranks", "turns over"),
        ("light", "lamps"),
    ],
)
def test_the_same_meaning_gives_the_same_terms(
    one: str, other: str, small: Lexicon
) -> None:
    shared = set(terms(one, small)) & set(terms(other, small))
    assert any("_" in term or term in {"tyr", "lamp"} for term in shared)


def test_small_words_may_stand_inside_a_phrase(small: Lexicon) -> None:
    assert "turn_over" in terms("turn it over", small)
    assert "turn_over" not in terms("turn left over there", small)


def test_loose_words_only_widen_what_is_typed(small: Lexicon) -> None:
    item = reading("wonky", small).items[0]
    assert item.term == "wonky"
    assert dict(item.wide)["erratic"] == pytest.approx(0.6)
    assert "erratic" not in terms("wonky", small)


def test_two_loose_words_of_one_entry_meet_in_its_cluster(small: Lexicon) -> None:
    assert "~erratic" in terms("it is all over the place", small)
    assert "~erratic" in dict(reading("wonky", small).items[0].wide)


def test_an_entry_does_not_hold_where_it_never_does(small: Lexicon) -> None:
    assert "lamp" in terms("light is out", small)
    assert "lamp" not in terms("at light throttle", small)
    typed = reading("after the lunch break", small).items
    assert all("brak" not in dict(item.wide) for item in typed)


@pytest.mark.parametrize("typed", ["8 bar", "8bar", "8,5 bar", "120 psi"])
def test_a_number_with_a_unit_speaks_of_the_quantity(
    typed: str, small: Lexicon
) -> None:
    wide = {t: w for item in reading(typed, small).items for t, w in item.wide}
    assert wide["pressur"] == pytest.approx(0.3)


def test_numbers_never_meet_one_another(small: Lexicon) -> None:
    assert terms("20", small) == ()
    assert terms("20 apples", small) == ("appl",)


@pytest.mark.parametrize("typed", ["24v", "24 V", "27.5 volts", "24,6 v"])
def test_voltages_fall_into_classes(typed: str, small: Lexicon) -> None:
    assert "24v" in terms(typed, small)
    assert "24v" not in terms(typed.replace("2", "1", 1), small)


def test_a_lexicon_survives_being_kept(small: Lexicon) -> None:
    lines = small.phrases.packed()
    back = from_plain(plain(small), Phrases(fetch=lambda key: lines.get(key, "")))
    for text in ("tires wonky", "hand brake won't hold", "turn it over", "8 bar"):
        assert reading(text, back) == reading(text, small)
    assert back.known == small.known


def test_one_mapping_is_not_mapped_again() -> None:
    chain = Words((Wording("a1b", also=("bee",)), Wording("bee", also=("sea",))))
    assert "a1b" not in terms("sea", compiled(chain))


def test_a_code_before_a_unit_is_no_amount(lexicon: Lexicon) -> None:
    """Found by a run of random texts: "8link2 bar" was reckoned with as a figure."""
    assert listen("the tyre 8link2 bar", lexicon).terms(lexicon).items
