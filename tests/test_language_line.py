"""A typed line read once: clauses, senses, denials, when and of whom, amounts."""

import pytest

from bot.language.bounds import bounds, picked
from bot.language.compare import bearing
from bot.language.counts import how_many
from bot.language.lexicon import Lexicon, Phrases, from_plain, plain
from bot.language.line import Line, listen
from bot.language.mentions import Mention
from bot.language.numbers import in_figures
from bot.language.polarity import RULES
from bot.language.quantities import quantities
from bot.language.scope import BUT_FOR, OVER
from bot.units import SYMBOLS


@pytest.fixture(scope="module")
def ear(lexicon: Lexicon) -> Lexicon:
    return lexicon


def kept(lexicon: Lexicon) -> Lexicon:
    """The lexicon as it comes back from a store."""
    lines = lexicon.phrases.packed()
    return from_plain(plain(lexicon), Phrases(fetch=lambda key: lines.get(key, "")))


def mention(line: Line, word: str) -> Mention:
    return next(m for m in line.mentions if word in m.said.split())


@pytest.mark.parametrize(
    ("typed", "word", "denied"),
    [
        # reaches_on
        ("there is no custard in it", "custard", True),
        ("smoke comes out", "smoke", False),
        ("not that I looked, but it smokes", "smokes", False),
        ("no one smokes", "smokes", True),
        # through_a_list
        ("without flames, bulges or cords", "cords", True),
        ("no flames, the cords show", "cords", False),
        # goes_on
        ("it never stops hissing", "hissing", False),
        # ceased
        ("the rattle has stopped", "rattle", True),
        ("the rattle has not stopped", "rattle", False),
        # quit_doing
        ("it stopped rattling", "rattling", True),
        # at_the_end
        ("slack it aint", "slack", True),
        ("fuel on the exhaust, none", "fuel", True),
        # twice_is_once
        ("there aint no smoke", "smoke", False),
        # not_so
        ("I was expecting slime, got dust", "slime", True),
        ("I was expecting slime, got dust", "dust", False),
    ],
)
def test_a_not_reaches_as_far_as_people_mean_it(
    typed: str, word: str, denied: bool, ear: Lexicon
) -> None:
    assert mention(listen(typed, ear), word).denied is denied


def test_every_rule_of_denial_says_what_it_looks_at() -> None:
    assert len(RULES) == len({rule.__name__ for rule in RULES})
    assert all(rule.__doc__ and "`" in rule.__doc__ for rule in RULES)


@pytest.mark.parametrize(
    ("typed", "word", "denied"),
    [
        ("none of them leaks", "leaks", True),
        ("neither of them bubbles", "bubbles", True),
        ("all alike bar the left", "alike", True),
        ("none of them bubbles, except the left", "bubbles", False),
        ("all dry", "dry", False),
        ("warm water did nothin", "water", True),
        ("hot water made no difference", "water", True),
        ("hot water made a difference", "water", False),
    ],
)
def test_what_is_said_of_all_or_none_or_was_to_no_effect(
    typed: str, word: str, denied: bool, ear: Lexicon
) -> None:
    assert mention(listen(typed, ear), word).denied is denied


@pytest.mark.parametrize(
    ("typed", "over"),
    [
        ("was caked, the one in there now is white", [True, False]),
        ("yesterday there was water, just air today", [True, False]),
        ("it did blow, since then hush everywhere", [True, False]),
        ("it was dry and the hose was firm", [False, False]),
        ("it is wet now", [False]),
    ],
)
def test_the_past_is_over_only_beside_a_now(
    typed: str, over: list[bool], ear: Lexicon
) -> None:
    assert [OVER in clause.marks for clause in listen(typed, ear).clauses] == over


@pytest.mark.parametrize(
    ("typed", "many"),
    [
        ("every one of them held", 1.0),
        ("not every one", -1.0),
        ("all bar the rear left", -1.0),
        ("9 times out of 10", -1.0),
        ("10 out of 10", 1.0),
        ("one of them is hot", -1.0),
        ("not one of them is hot", 1.0),
        ("it is hot", 0.0),
    ],
)
def test_of_how_many_a_line_speaks(typed: str, many: float, ear: Lexicon) -> None:
    line = listen(typed, ear)
    assert how_many(line.words, line.figures, line.marks, ear) == many


def test_a_unit_before_an_exception_is_no_exception(ear: Lexicon) -> None:
    for typed in ("all at 8 bar the whole time", "all lose half a bar the night"):
        line = listen(typed, ear)
        assert BUT_FOR not in line.marks
        assert not any(m.denied for m in line.mentions)
    assert BUT_FOR in listen("all dry bar the left", ear).marks


def test_a_phrase_with_its_own_not_is_one_thing_said(ear: Lexicon) -> None:
    line = listen("not a peep from it", ear)
    (said, *_) = line.mentions
    assert said.said == "not a peep"
    assert not said.denied


@pytest.mark.parametrize(
    ("typed", "mark"),
    [
        ("it used to rattle", "was_so_before"),
        ("new one fitted since", "is_mended_since"),
        ("how do I get the cap off", "asks"),
        ("on my mates truck the hub burnt", "elsewhere"),
    ],
)
def test_when_and_of_whom_a_clause_speaks(typed: str, mark: str, ear: Lexicon) -> None:
    assert mark in {m for clause in listen(typed, ear).clauses for m in clause.marks}


@pytest.mark.parametrize(
    ("typed", "act"),
    [
        ("yes", "yes"),
        ("false", "no"),
        ("yes it is", "yes"),
        ("nope", "no"),
        ("dunno", "do_not_know"),
        ("all done", "done"),
        ("go back", "back"),
        ("can i drive home", "may_it_move"),
    ],
)
def test_what_the_whole_line_says_to_the_program(
    typed: str, act: str, ear: Lexicon
) -> None:
    assert act in listen(typed, ear).acts | listen(typed, ear).opens


def test_a_no_with_more_behind_it_is_a_no_and_a_clause(ear: Lexicon) -> None:
    line = listen("no, smoke from the hub", ear)
    assert "no" in line.opens
    assert "no" not in line.acts
    assert not mention(line, "smoke").denied


@pytest.mark.parametrize(
    ("one", "other", "bears"),
    [
        ("quiet", "silent", 1),
        ("noisy", "silent", -1),
        ("not wet", "dry", 1),
        ("wet", "dry", -1),
        ("slush", "ice", 1),
        ("hot", "cold", -1),
    ],
)
def test_senses_bear_on_each_other(
    one: str, other: str, bears: int, ear: Lexicon
) -> None:
    (typed, written) = (listen(text, ear).mentions[0] for text in (one, other))
    assert bearing(typed, written, ear) * bears > 0


TEXTS = (
    "no, smoke from the hub",
    "it never stops hissing, 8.2 then 7.0 after seven minutes",
    "Is it safe to drive?",
    "7",
    "like a candle, not a peep, dry no",
)


@pytest.mark.parametrize("text", TEXTS)
def test_kept_and_fresh_lexicon_read_alike(text: str, ear: Lexicon) -> None:
    assert listen(text, kept(ear)) == listen(text, ear)


@pytest.mark.parametrize(
    ("typed", "figures"),
    [
        ("thirty one and a bit, and climbing", "31, and climbing"),
        ("twenty-five psi", "25 psi"),
        ("half an hour", "0.5 hour"),
        ("an hour and a half", "1.5 hour"),
        ("three quarters of an hour", "0.75 hour"),
        ("from one twenty to one fourteen", "from 120 to 114"),
        ("one point eight k", "1.8 k"),
        ("eighteen hundred revs", "1800 revs"),
        ("a couple of hours", "2 hours"),
        ("no one came", "no one came"),
        ("the left one", "the left one"),
        ("2 psi a minute", "2 psi a minute"),
        ("two hundred and ten degrees", "210 degrees"),
    ],
)
def test_spoken_numbers_become_figures(typed: str, figures: str, ear: Lexicon) -> None:
    assert in_figures(typed, ear.numbers) == figures


@pytest.mark.parametrize(
    ("typed", "unit", "value"),
    [
        ("0.3 MPa", "kPa", 300.0),
        ("4 kgf/cm2", "kPa", 392.3),
        ("9 lbs", "psi", 9.0),
        ("1.8 k", "ohm", 1800.0),
        ("one tenth of a volt", "V", 0.1),
        ("nine tenths of bar", "bar", 0.9),
        ("nine tenth of a bar", "bar", 0.9),
        ("9 tenths of a bar", "bar", 0.9),
        ("a third of a volt", "V", 0.333),
        ("three quarters of an hour", "min", 45.0),
        ("three kilos of air", "bar", 2.942),
        ("24,6 V", "V", 24.6),
        ("211 degrees", "degC", 211.0),
    ],
)
def test_amounts_come_in_any_unit(
    typed: str, unit: str, value: float, ear: Lexicon
) -> None:
    (found,) = quantities(in_figures(typed, ear.numbers))
    assert found.value_in(SYMBOLS[unit]) == pytest.approx(value, rel=1e-3)


def test_a_time_lends_its_unit_to_no_pressure() -> None:
    first, second, time = quantities("8.2 then 7.0 after 7 minutes")
    assert first.unit is second.unit is None
    assert time.unit is SYMBOLS["min"]


@pytest.mark.parametrize(
    ("typed", "answers", "right"),
    [
        ("0.7", ["0.5 V or more", "under 0.5 V"], 0),
        ("25.1 up there and 24.3 by the box", ["1 V or more", "0.5 to 1 V"], 1),
        ("less than 0.3", ["0.3 V or more", "under 0.3 V"], 1),
        ("2 psi", ["0.15 bar or more", "0.05 to 0.15 bar", "under 0.05 bar"], 1),
        ("nothing yet", ["0.5 V or more", "under 0.5 V"], None),
    ],
)
def test_figures_pick_the_answer_that_holds_them(
    typed: str, answers: list[str], right: int | None
) -> None:
    assert picked(quantities(typed), [bounds(a) for a in answers]) == right


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("nothing new", ()),
        ("nothing to go back to", ()),
        ("never again", ()),
        ("new", ("new_job",)),
        ("no go back", ("back", "no")),
    ],
)
def test_what_is_denied_is_no_order(
    said: str, told: tuple[str, ...], ear: Lexicon
) -> None:
    assert set(told) <= listen(said, ear).told
    if not told:
        assert not listen(said, ear).told
