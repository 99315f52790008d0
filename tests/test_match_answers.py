"""Free answers at checks: what is taken, what is read back, and what is never noted."""

from collections import Counter
from pathlib import Path

import pytest
from hearing import Ear, answers, read_checks, read_items

from bot.desk.shelf import open_index
from bot.language.lexicon import Lexicon
from bot.language.line import listen
from bot.match.agreement import confirms, stated
from bot.match.answers import Verdict, choose, verdict
from bot.match.features import Answer, answer
from bot.store.index import CardIndex
from bot.talk.ending import of_trial
from bot.talk.reply import tone
from tests.seeds import seed

CASES = Path(__file__).parent / "answers"


@pytest.fixture(scope="module")
def index(kb: Path, tmp_path_factory: pytest.TempPathFactory) -> CardIndex:
    return open_index(str(kb), str(seed(tmp_path_factory.mktemp("home"))))


def test_plain_answers_are_heard_and_none_is_noted_wrong(index: CardIndex) -> None:
    ear = Ear(index)
    items = read_checks(CASES / "checks.txt")
    told = Counter(map(ear.outcome, items))
    whole = sum(told.values())
    assert (told["right"] + told["after_yes"]) / whole >= 0.80
    assert told["silent"] / whole <= 0.01
    assert told["read_back_wrong"] / whole <= 0.03


def test_what_walkers_typed_at_checks_is_heard(index: CardIndex) -> None:
    """The weights were fitted to these among others: a guard, no measure."""
    ear = Ear(index)
    told = Counter(ear.outcome(item) for item in read_items(CASES / "walked.yaml"))
    whole = sum(told.values())
    assert (told["right"] + told["after_yes"]) / whole >= 0.55
    assert told["silent"] / whole <= 0.03


def test_what_other_walkers_typed_is_heard_though_nothing_is_fitted_to_it(
    index: CardIndex,
) -> None:
    ear = Ear(index)
    items = read_items(CASES / "walked-apart.yaml")
    told = Counter(ear.outcome(item) for item in items)
    assert (told["right"] + told["after_yes"]) / len(items) >= 0.55
    assert told["silent"] / len(items) <= 0.02


def test_hard_answers_by_another_hand_are_not_noted_wrong(index: CardIndex) -> None:
    shares, wrong = answers(CASES / "kept-apart.yaml", index)
    told = {name: value[0] for name, value in shares.items() if name != "by_kind"}  # type: ignore[index]
    assert told["silent"] <= 0.02, wrong
    assert told["read_back_wrong"] <= 0.09, wrong


def test_what_answers_nothing_is_seldom_taken_for_an_answer(index: CardIndex) -> None:
    """Nothing is fitted to these: what people say instead of an answer."""
    ear = Ear(index)
    items = read_items(CASES / "no-answers.yaml")[::3]
    told = Counter(ear.outcome(item) for item in items)
    assert told["silent"] / len(items) <= 0.02
    assert told["read_back_wrong"] / len(items) <= 0.25


def test_riddles_are_asked_back_and_not_noted_wrong(index: CardIndex) -> None:
    ear = Ear(index)
    items = read_items(CASES / "structure.yaml")
    told = Counter(ear.outcome(item) for item in items)
    assert told["silent"] / len(items) <= 0.04


def test_the_hard_answers_are_all_there() -> None:
    assert len(read_items(CASES / "kept-apart.yaml")) == 160


@pytest.mark.parametrize(
    ("typed", "clean"),
    [
        ("stopped every time", True),
        ("they all stop where I tell them, bar the front left", False),
        ("9 times out of 10", False),
        ("10 out of 10", True),
        ("all held, except that the left one hissed once", False),
    ],
)
def test_a_trial_with_an_exception_is_not_clean(
    typed: str, clean: bool, index: CardIndex
) -> None:
    texts = ("every wheel stops at once", "a wheel hissed or went on")
    line = listen(typed, index.lexicon, index)
    ready = [answer(text, index.lexicon) for text in texts]
    told = of_trial(line, *texts, choose(line, ready, index.lexicon))
    assert told == (texts[0] if clean else texts[1])


def test_a_part_does_not_speak_for_what_its_clause_speaks_against(
    index: CardIndex,
) -> None:
    texts = ("Air hisses from a joint", "Nothing blows")
    ready = [answer(text, index.lexicon) for text in texts]
    line = listen("not a sound from any joint", index.lexicon, index)
    assert choose(line, ready, index.lexicon)[0].number == 1


OPPOSITES = (
    "The hiss stops when the plug is off",
    "It goes on hissing with the plug off",
)


@pytest.mark.parametrize(
    ("typed", "right"),
    [
        ("still hissing with the plug off", 1),
        ("it stopped when the plug came off", 0),
        ("no more hiss once the plug was off", 0),
    ],
)
def test_opposites_are_never_taken_for_each_other(
    typed: str, right: int, lexicon: Lexicon
) -> None:
    ready = [answer(text, lexicon) for text in OPPOSITES]
    choices = choose(listen(typed, lexicon), ready, lexicon)
    if verdict(choices) is not Verdict.NONE:
        assert choices[0].number == right


@pytest.mark.parametrize("words", ["", "flurble gnarp", "sorry my dog barked"])
def test_small_talk_is_no_answer(words: str, lexicon: Lexicon) -> None:
    ready = [answer(text, lexicon) for text in ("Dry", "Wet")]
    assert verdict(choose(listen(words, lexicon), ready, lexicon)) is Verdict.NONE


def test_chances_come_to_one_at_most(lexicon: Lexicon) -> None:
    ready = [answer(text, lexicon) for text in ("Dry", "Wet", "Icy")]
    found = choose(listen("bone dry", lexicon), ready, lexicon)
    assert sum(choice.sureness for choice in found) <= 1.0
    assert found[0].text == "Dry"


def said(typed: str, guess: Answer, lexicon: Lexicon) -> bool | None:
    """What a line says to a guess that is read back."""
    line = listen(typed, lexicon)
    return confirms(line, tone(line), guess, lexicon)


YES_WORDS = (
    "yes",
    "yep",
    "aye",
    "yes it is",
    "exactly",
    "thats right",
    "correct",
    "ja",
)
NO_WORDS = ("no", "nope", "nah", "false", "wrong", "not at all", "no it isnt")


@pytest.mark.parametrize("typed", YES_WORDS)
def test_every_yes_confirms(typed: str, lexicon: Lexicon) -> None:
    guess = answer("Dry and dusty all over", lexicon)
    assert said(typed, guess, lexicon) is True


@pytest.mark.parametrize("typed", NO_WORDS)
def test_every_no_denies(typed: str, lexicon: Lexicon) -> None:
    guess = answer("Dry and dusty all over", lexicon)
    assert said(typed, guess, lexicon) is not True


@pytest.mark.parametrize(
    ("guess", "typed"),
    [
        ("Dry and dusty all over", "yes it is soaking wet"),
        ("Dry and dusty all over", "yes and no"),
        ("Tight, dry, and the pulley will not slip", "tight yes, dry no"),
        ("under 1 bar", "was under 1 till I changed the filter, 2.2 now"),
        ("The lever springs back", "no idea what you call a lever here"),
    ],
)
def test_a_yes_with_the_opposite_behind_it_is_no_yes(
    guess: str, typed: str, lexicon: Lexicon
) -> None:
    heard = said(typed, answer(guess, lexicon), lexicon)
    assert heard is not True


def test_only_what_is_stated_outright_is_taken_unasked(lexicon: Lexicon) -> None:
    ready = [answer(t, lexicon) for t in ("The belt is slack", "The belt is tight")]
    told = listen("we came down the pass, the belt is slack", lexicon)
    found = stated(told, ready, lexicon)
    assert found is not None
    assert found.number == 0
    assert stated(listen("we came down the pass", lexicon), ready, lexicon) is None
