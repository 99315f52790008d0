"""Which words raise a stop rule, and which must not."""

from pathlib import Path

import pytest

from bot.cards.rules import read_rule
from bot.language.lexicon import Lexicon
from bot.language.negation import folded
from bot.language.text import clean, words_of
from bot.match import frames
from bot.match.stops import StopRecord, raised, stop_record
from bot.model.rule import StopRule


@pytest.fixture(scope="module")
def rules(kb: Path, lexicon: Lexicon) -> list[StopRecord]:
    found = []
    for path in sorted(kb.glob("stop-rules/*.md")):
        rule = read_rule(path.read_text(), str(path))
        assert isinstance(rule, StopRule), rule
        found.append(stop_record(rule, lexicon))
    return found


@pytest.mark.parametrize(
    ("typed", "rule"),
    [
        ("no brakes", "no-brakes"),
        ("NO BRAKES AT ALL!!!", "no-brakes"),
        ("brakes dont work", "no-brakes"),
        ("my breaks have failed", "no-brakes"),
        ("the pedal went straight to the floor", "no-brakes"),
        ("it wont stop, no brakes", "no-brakes"),
        ("smoke coming from the wheel", "hub-too-hot"),
        ("hub is smokin", "hub-too-hot"),
        ("theres a bulge in the side wall", "tyre-damaged"),
        ("you can see the cords in the tire", "tyre-damaged"),
        ("I drove on a flat tyre for a mile", "tyre-was-run-flat"),
        ("low air buzzer on while driving", "brake-air-low"),
        ("crawling under it with only the jack", "under-load"),
    ],
)
def test_words_of_danger_raise_their_rule(
    typed: str, rule: str, rules: list[StopRecord], lexicon: Lexicon
) -> None:
    assert rule in [hit.rule for hit in raised(typed, rules, lexicon)]


@pytest.mark.parametrize(
    "typed",
    [
        "no smoke from the wheel",
        "tyre loses air overnight",
        "panel is dead",
        "engine will not crank",
        "air hissing at the hub when parked",
        "brake light bulb is gone",
        "what is the weather like",
        "",
        "the tyres take ages to fill",
        "voltmeter reads low",
    ],
)
def test_ordinary_words_raise_nothing(
    typed: str, rules: list[StopRecord], lexicon: Lexicon
) -> None:
    assert raised(typed, rules, lexicon) == ()


def test_every_sign_raises_its_own_rule(
    rules: list[StopRecord], lexicon: Lexicon
) -> None:
    for rule in rules:
        for sign in rule.signs:
            hits = [hit.rule for hit in raised(sign.text, rules, lexicon)]
            assert rule.id in hits, sign.text


def test_every_unless_keeps_its_rule_down(
    rules: list[StopRecord], lexicon: Lexicon
) -> None:
    for rule in rules:
        for phrase in rule.unless:
            hits = [hit.rule for hit in raised(phrase.text, rules, lexicon)]
            assert rule.id not in hits, phrase.text


def test_a_rule_says_why(rules: list[StopRecord], lexicon: Lexicon) -> None:
    (hit,) = raised("suddenly I had no brakes", rules, lexicon)
    assert "met the sign" in hit.why
    assert "no brakes" in hit.why
    assert hit.title


STOPS = Path(__file__).parent / "stops"


def stories(name: str = "stories") -> list[tuple[set[str], str]]:
    """The rules each story must raise, and the story."""
    lines = (STOPS / f"{name}.txt").read_text().splitlines()
    rows = [line.partition(": ") for line in lines if line and line[0] != "#"]
    return [(set(rules.split()) - {"none"}, story) for rules, _, story in rows]


@pytest.mark.parametrize(("name", "most"), [("stories", 0.05), ("strangers", 0.15)])
def test_frightened_people_are_heard(
    name: str, most: float, rules: list[StopRecord], lexicon: Lexicon
) -> None:
    told = [(due, story) for due, story in stories(name) if due]
    missed = [
        story
        for due, story in told
        if due - {hit.rule for hit in raised(story, rules, lexicon)}
    ]
    assert len(told) >= 100
    assert len(missed) <= most * len(told), missed


@pytest.mark.parametrize(("name", "most"), [("stories", 0.05), ("strangers", 0.28)])
def test_harmless_talk_in_the_same_words_raises_little(
    name: str, most: float, rules: list[StopRecord], lexicon: Lexicon
) -> None:
    told = [story for due, story in stories(name) if not due]
    false = [story for story in told if raised(story, rules, lexicon)]
    assert len(told) >= 100
    assert len(false) <= most * len(told), false


FRAME = (("hub", "drum"), ("smoke", "cherry", "burnt my hand"))


@pytest.mark.parametrize(
    ("typed", "met"),
    [
        ("the drums went cherry", True),
        ("I burnt my hand on the hub", True),
        ("hub is smoking", True),
        ("no smoke from the drum", False),
        ("it won't stop smoking, that drum", True),
        ("smoke from the stack, and the drum is fine", False),
        ("the drum is hot", False),
        ("smoke " + "and so on and on " * 5 + "drum", False),
    ],
)
def test_a_frame_wants_one_of_each_group_close_together(
    typed: str, met: bool, lexicon: Lexicon
) -> None:
    words = folded(words_of(clean(typed)[0], lexicon.forms), lexicon)
    heard = frames.heard(words, lexicon, {})
    assert bool(frames.met(frames.compiled(FRAME, lexicon), heard, 0)) is met


def test_words_that_denied_things_alone_are_no_wording(lexicon: Lexicon) -> None:
    assert frames.compiled([["nothing", "no bite"]], lexicon) == "not bit"


def test_a_short_sentence_goes_on_with_the_last(
    rules: list[StopRecord], lexicon: Lexicon
) -> None:
    hits = raised("I looked at the left hub. Smoking.", rules, lexicon)
    assert [hit.rule for hit in hits] == ["hub-too-hot"]


def test_a_hit_says_what_to_do_at_once(
    rules: list[StopRecord], lexicon: Lexicon, kb: Path
) -> None:
    (hit,) = raised("no brakes", rules, lexicon)
    path = kb / "stop-rules" / "no-brakes.md"
    rule = read_rule(path.read_text(), str(path))
    assert isinstance(rule, StopRule)
    assert hit.text.startswith(" ".join(rule.cautions[0].text.split())[:40])
    assert all(" ".join(step.split()) in hit.text for step in rule.do_now)
    assert "\n" not in hit.text


def test_a_question_denies_nothing(rules: list[StopRecord], lexicon: Lexicon) -> None:
    text = "can't I just drive it home without brakes"
    assert "no-brakes" in [h.rule for h in raised(text, rules, lexicon)]


def test_a_rule_comes_back_from_plain_texts(rules: list[StopRecord]) -> None:
    assert [StopRecord.from_plain(rule.plain()) for rule in rules] == rules


def test_words_far_apart_raise_nothing(
    rules: list[StopRecord], lexicon: Lexicon
) -> None:
    text = "Smoke from the stack is normal. The wheel is fine"
    assert "hub-too-hot" not in [h.rule for h in raised(text, rules, lexicon)]
