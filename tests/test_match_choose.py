"""Which finding a person means by their own words: our own cases, as a table."""

from pathlib import Path

import pytest

from bot.cards.read import read_card
from bot.language.lexicon import Lexicon
from bot.match.choose import Choice, choose, volunteered
from bot.model.card import Card

SURE, HALF = 0.8, 0.35

SOAP = (
    "Yes, froth or a growing bubble at the vent",
    "No, the soap lies still",
    "Bubbles at a union, tap or hose end",
)
LAMP = ("Yes, the lamp goes out", "No, it stays on")
CRANK = ("It cranks as usual", "It clicks once", "Nothing at all, not even a click")
HOT = (
    "Yes, one hub is too hot to hold a hand on",
    "No, all hubs are about equally warm",
)
GAUGE = (
    "Both needles fall together",
    "Only the front needle falls",
    "Only the rear needle falls",
    "Neither needle moves",
)
WATER = (
    "Clear water runs out",
    "Black oil runs out",
    "Milky sludge runs out",
    "Nothing but clean air",
)
WHEEL = (
    "Yes, one wheel was much lower than the rest",
    "No, all wheels are alike",
)
LEAK = (
    "The hiss stops when the tap at the wheel is shut",
    "The hiss goes on with the tap shut",
)
PANEL = (
    "All lamps light for a moment and then go out",
    "All lamps flash and go on flashing",
    "Nothing lights",
)
BELT = ("Yes, it is loose or glazed", "No, it is tight and dry")
HAND = (
    "The hand gauge agrees with the panel",
    "The hand gauge shows less",
    "The hand gauge shows more",
)
DRIVEN = (
    "Yes, it was driven soft or flat",
    "No, it was found flat where it stood",
)
HOLE = (
    "A nail or screw sticks in the tread",
    "The sidewall is cut or cracked",
    "The bead leaks at the rim",
    "Bubbles at the tyre valve",
)

CASES = [
    (SOAP, "nope nothing", 1),
    (SOAP, "lots of foam round the little hole", 0),
    (SOAP, "cant see any bubbles", 1),
    (SOAP, "no bubbles anywhere", 1),
    (SOAP, "bubbles at the hose", 2),
    (SOAP, "its frothing at the union", 2),
    (SOAP, "yes", 0),
    (SOAP, "yep there is froth on the vent", 0),
    (SOAP, "no", 1),
    (SOAP, "soap just sits there", 1),
    (SOAP, "bubling at the vent hole", 0),
    (SOAP, "the tap is blowing bubbles", 2),
    (SOAP, "nowt", 1),
    (SOAP, "1 big bubble keeps growing on the vent", 0),
    (LAMP, "it stays on", 1),
    (LAMP, "yep went out", 0),
    (LAMP, "nope", 1),
    (LAMP, "it goes out", 0),
    (LAMP, "doesnt go out", 1),
    (LAMP, "y", 0),
    (LAMP, "n", 1),
    (LAMP, "no, stays on", 1),
    (CRANK, "one click", 1),
    (CRANK, "turns over fine", 0),
    (CRANK, "nothing", 2),
    (CRANK, "just a single click", 1),
    (CRANK, "no click nothing", 2),
    (CRANK, "cranks ok", 0),
    (CRANK, "not even a click", 2),
    (HOT, "yes back left is way too hot to touch", 0),
    (HOT, "all about the same", 1),
    (HOT, "nah all equally warm", 1),
    (HOT, "one is roasting, cant hold my hand on it", 0),
    (HOT, "nope", 1),
    (GAUGE, "both drop together", 0),
    (GAUGE, "front one only", 1),
    (GAUGE, "just the rear drops", 2),
    (GAUGE, "neither", 3),
    (GAUGE, "they dont move", 3),
    (WATER, "water", 0),
    (WATER, "oily black stuff", 1),
    (WATER, "milky goo", 2),
    (WATER, "nothing just air", 3),
    (WATER, "mostly clear watter", 0),
    (WHEEL, "yes one was lower", 0),
    (WHEEL, "all the same", 1),
    (WHEEL, "one was way down on the others", 0),
    (WHEEL, "no", 1),
    (LEAK, "it stops when I shut it", 0),
    (LEAK, "keeps going on even with the tap shut", 1),
    (LEAK, "goes on", 1),
    (PANEL, "they flash all the time", 1),
    (PANEL, "nothing comes on", 2),
    (PANEL, "light up then go out", 0),
    (PANEL, "keeps flashing", 1),
    (PANEL, "no lights at all", 2),
    (BELT, "tight", 1),
    (BELT, "its loose", 0),
    (BELT, "its not loose", 1),
    (BELT, "a bit glazed", 0),
    (HAND, "agrees", 0),
    (HAND, "hand gauge says less", 1),
    (HAND, "it shows more", 2),
    (HAND, "they agree", 0),
    (DRIVEN, "yes drove it flat for a mile", 0),
    (DRIVEN, "no it was flat in the morning where it stood", 1),
    (DRIVEN, "nope never driven", 1),
    (HOLE, "theres a nail in it", 0),
    (HOLE, "cut in the side wall", 1),
    (HOLE, "leaking round the rim at the bead", 2),
    (HOLE, "valve is bubbling", 3),
    (HOLE, "found a screw", 0),
]


@pytest.mark.parametrize(("options", "typed", "meant"), CASES)
def test_own_words_pick_the_finding(
    options: tuple[str, ...], typed: str, meant: int, lexicon: Lexicon
) -> None:
    first, second, *_ = choose(typed, options, lexicon)
    assert first.number == meant, (first, second)
    assert first.sureness >= HALF
    assert first.sureness > second.sureness


def test_few_of_the_cases_are_only_half_sure(lexicon: Lexicon) -> None:
    sure = sum(choose(t, o, lexicon)[0].sureness >= SURE for o, t, _ in CASES)
    assert sure >= 0.8 * len(CASES)


@pytest.mark.parametrize(
    "typed",
    ["dunno", "", "what do you mean", "purple elephants", "\U0001f937", "(((", "42"],
)
@pytest.mark.parametrize("options", [SOAP, CRANK, GAUGE])
def test_what_says_nothing_picks_nothing(
    typed: str, options: tuple[str, ...], lexicon: Lexicon
) -> None:
    assert choose(typed, options, lexicon)[0].sureness < HALF


def test_yes_is_no_answer_where_no_finding_says_yes(lexicon: Lexicon) -> None:
    assert choose("yes", CRANK, lexicon)[0].sureness < HALF


def test_every_option_comes_back_once(lexicon: Lexicon) -> None:
    found = choose("froth", SOAP, lexicon)
    assert sorted(choice.number for choice in found) == [0, 1, 2]
    assert sum(choice.sureness for choice in found) <= 1.0
    assert choose("froth", (), lexicon) == ()
    assert all(isinstance(choice, Choice) for choice in found)


# Our table of typed answers over the checks of the cards

ANSWERS = Path(__file__).parent / "answers" / "checks.txt"
Case = tuple[tuple[str, ...], str, str]


def answers() -> list[Case]:
    """The options, what was typed, and the number wanted ("?": nobody could tell)."""
    options: list[str] = []
    cases: list[Case] = []
    for line in ANSWERS.read_text().splitlines():
        if line.startswith("["):
            options = []
        elif line[:1].isdigit():
            options.append(line[2:])
        elif line.startswith("> "):
            typed, _, wanted = line[2:].rpartition(" = ")
            cases.append((tuple(options), typed, wanted))
    return cases


def test_typed_answers_are_taken_or_asked_about_and_rarely_mistaken(
    lexicon: Lexicon,
) -> None:
    cases = [case for case in answers() if case[2] != "?"]
    found = [(choose(t, o, lexicon)[0], int(w) - 1, t) for o, t, w in cases]
    taken = [(c.number == n, t) for c, n, t in found if c.sureness >= SURE]
    asked = [c.number == n for c, n, _ in found if 0.4 <= c.sureness < SURE]
    assert len(cases) >= 300
    assert sum(right for right, _ in taken) >= 0.8 * len(cases)
    assert sum(not right for right, _ in taken) < 0.02 * len(cases), taken
    assert len(taken) + len(asked) >= 0.95 * len(cases)
    assert sum(asked) >= 0.7 * len(asked)


def test_what_nobody_could_tell_is_not_taken(lexicon: Lexicon) -> None:
    cases = [case for case in answers() if case[2] == "?"]
    assert len(cases) >= 10
    for options, typed, _ in cases:
        assert choose(typed, options, lexicon)[0].sureness < 0.4, typed


def test_a_finding_said_word_for_word_is_that_finding(
    kb: Path, lexicon: Lexicon
) -> None:
    wrong = []
    for path in sorted(kb.glob("cards/*/*.md")):
        card = read_card(path.read_text(), str(path))
        for check in card.checks if isinstance(card, Card) else ():
            options = [finding.answer for finding in check.findings]
            for number, text in enumerate(options):
                first = choose(text, options, lexicon)[0]
                if first.number != number or first.sureness < SURE:
                    wrong.append(text)
    assert wrong == []


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("number two", 1),
        ("the second one", 1),
        ("2nd", 1),
        ("I'd say the first", 0),
        ("last one", 3),
        ("3", 2),
        ("option 4", 3),
    ],
)
def test_an_answer_may_be_named_by_its_place(
    typed: str, number: int, lexicon: Lexicon
) -> None:
    first = choose(typed, HOLE, lexicon)[0]
    assert (first.number, first.sureness >= SURE) == (number, True)


@pytest.mark.parametrize("typed", ["5", "the ninth", "one second", "two nails"])
def test_not_every_number_is_a_place(typed: str, lexicon: Lexicon) -> None:
    assert choose(typed, GAUGE, lexicon)[0].sureness < HALF


def test_which_word_stands_by_which_matters(lexicon: Lexicon) -> None:
    options = (
        "The front falls and the rear stays",
        "The rear falls and the front stays",
    )
    assert choose("front goes down, rear stays put", options, lexicon)[0].number == 0
    assert choose("rear drops, front one holds", options, lexicon)[0].number == 1


@pytest.mark.parametrize(
    ("typed", "options", "number"),
    [
        ("no bubbles anywhere", ("Froth at a joint", "No bubbles anywhere"), 1),
        ("already soaped that, no bubbles", ("Froth", "No bubbles anywhere"), 1),
        ("it stays up with the tap shut", ("Stays up with the tap shut", "Sinks"), 0),
        ("only this one is low", ("Only this one is low, the others hold", "All"), 0),
    ],
)
def test_a_fact_stated_outright_is_volunteered(
    typed: str, options: tuple[str, ...], number: int, lexicon: Lexicon
) -> None:
    found = volunteered(typed, options, lexicon)
    assert found is not None
    assert found.number == number


@pytest.mark.parametrize(
    ("typed", "options"),
    [
        (
            "tomorrow it is soft",
            ("Low, dry, burnt black, or with glitter in it", "Clean"),
        ),
        (
            "the back left one keeps hissing after I park up",
            ("No, it was parked when it went down and the side is clean", "Yes"),
        ),
        ("bubbles at a joint", ("No bubbles anywhere", "Froth at the vent")),
        (
            "the tyre is flat",
            ("The tyre is hottest", "The tyre is lower than its mates"),
        ),
        ("", ("Yes", "No")),
    ],
)
def test_a_mere_likeness_is_not_volunteered(
    typed: str, options: tuple[str, ...], lexicon: Lexicon
) -> None:
    assert volunteered(typed, options, lexicon) is None


def test_clauses_of_the_cards_signs_volunteer_next_to_nothing(
    kb: Path, lexicon: Lexicon
) -> None:
    """Every sign against every check of its own card: a story, not an answer."""
    given = 0
    for path in sorted(kb.glob("cards/tyre-inflation/w*.md")):
        card = read_card(path.read_text(), str(path))
        for check in card.checks if isinstance(card, Card) else ():
            options = [finding.answer for finding in check.findings]
            signs = card.signs if isinstance(card, Card) else ()
            given += sum(volunteered(s, options, lexicon) is not None for s in signs)
    assert given <= 3
