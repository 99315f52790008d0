"""Laws of the page: writing what was read gives the same text, and the other way."""

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cards.template import fresh_card
from bot.cards.write import EXTRA, untidy_line, write_card, write_rule
from bot.model.card import (
    REST,
    Act,
    Bearing,
    Card,
    Cause,
    Caution,
    Check,
    Drive,
    Duration,
    Finding,
    Limit,
    Link,
    LookAlike,
    Needs,
    Often,
    Part,
    PartChoice,
    Price,
    Proof,
    Prose,
    Quantity,
    Readings,
    Repair,
    Share,
    Signal,
    State,
    Strength,
    Sum,
)
from bot.model.fitted import FEATURES
from bot.model.place import slug
from bot.model.rule import StopRule
from bot.model.sources import Citation, Source

KB = Path(__file__).parent.parent / "kb"
CARDS = sorted(KB.glob("cards/*/*.md"))
RULES = sorted(KB.glob("stop-rules/*.md"))

A_BLOCK = re.compile(r"(?:-|[0-9]+[.)]|#{1,6})(?: |$)|-[- ]+$")
"""A text that a viewer would show as a list, a heading or a rule: a page refuses it."""

word = st.text("abcdefghijklmnopqrstuvwxyz", min_size=1, max_size=8)
name = st.lists(word, min_size=1, max_size=4).map(" ".join)
said = st.text("abcdefg hijk'\"#!?-()%:,. ü°3", min_size=1, max_size=40).filter(
    lambda text: text == " ".join(text.split()) and not A_BLOCK.match(text)
)
duration = st.builds(
    Duration, st.integers(1, 90).map(str), st.sampled_from(["s", "min", "h"])
)
link = st.builds(Link, name, name.map(lambda text: f"#zz-{slug(text)}"))
sentence = st.lists(word, min_size=3, max_size=9).map(lambda w: f"{' '.join(w)}.")
prose = st.builds(Prose, sentence)
caution = st.builds(
    Caution,
    st.sampled_from(Signal),
    st.lists(sentence, min_size=3, max_size=4).map("\n".join),
    st.one_of(st.none(), st.sampled_from(Act)),
)
only = st.lists(
    st.lists(st.sampled_from(FEATURES), min_size=1, max_size=2).map(tuple), max_size=2
).map(tuple)
body = st.lists(st.one_of(prose, caution), max_size=3).map(tuple)
choices = st.lists(
    st.builds(PartChoice, name, st.sampled_from(Price)), min_size=1, max_size=3
)
part = st.builds(Part, choices.map(tuple))
needs = st.builds(
    Needs,
    duration,
    st.booleans(),
    only,
    st.lists(st.integers(1, 9), max_size=2).map(tuple),
    st.lists(part, max_size=2).map(tuple),
    st.lists(name, max_size=2).map(tuple),
    st.lists(st.builds(State, name, st.one_of(st.none(), duration)), max_size=2).map(
        tuple
    ),
    st.one_of(st.just(""), name),
    st.lists(st.sampled_from(Act), unique=True, max_size=2).map(tuple),
)
verdicts = st.sampled_from(Drive)
repair_needs = st.one_of(
    st.builds(lambda n, v: replace(n, after=v), needs, verdicts),
    st.builds(lambda n, v: replace(n, home=v), needs, verdicts),
)
LIMITS = (
    ("under 1 bar", Limit(None, 1.0, "bar")),
    ("1 to 2.5 bar", Limit(1.0, 2.5, "bar")),
    ("2.5 bar or more", Limit(2.5, None, "bar")),
)
READINGS = Readings(
    (Quantity("start", "psi"), Quantity("end", "psi")),
    Duration("10", "min"),
    Sum.FALL,
    "bar",
)


@st.composite
def findings(
    draw: st.DrawFn, causes: tuple[str, ...], *, limits: bool
) -> tuple[Finding, ...]:
    found = []
    answers = draw(st.lists(name, min_size=2, max_size=4, unique=True))
    pairs = LIMITS if limits else tuple((answer, None) for answer in answers)
    for answer, limit in pairs:
        on = draw(st.lists(st.sampled_from([*causes, REST]), max_size=3, unique=True))
        bearings = tuple(Bearing(draw(st.sampled_from(Strength)), c) for c in on)
        drive = draw(st.one_of(st.none(), st.sampled_from(Drive)))
        found.append(
            Finding(
                answer,
                bearings,
                next=draw(st.one_of(st.none(), link)),
                go_to=draw(st.one_of(st.none(), link)),
                stop=draw(st.one_of(st.none(), link)),
                drive=drive,
                until=tuple(draw(st.lists(link, max_size=2))) if drive else (),
                limit=limit,
            )
        )
    return tuple(found)


@st.composite
def cards(draw: st.DrawFn) -> Card:
    names = draw(st.lists(name, min_size=1, max_size=4, unique_by=slug))
    titles = draw(st.lists(name, min_size=3, max_size=5, unique_by=slug))
    causes = tuple(
        Cause(
            text.capitalize(),
            draw(st.sampled_from(Often)),
            tuple(draw(st.lists(link, min_size=1, max_size=2))),
            draw(st.one_of(st.just(""), sentence)),
            "ABCDEFG"[number],
            draw(only),
        )
        for number, text in enumerate(names)
        if text != REST
    ) or (Cause("Worn", Often.RARE, (Link("a", "#a"),), letter="A"),)
    ids = tuple(cause.id for cause in causes)
    checks = []
    for title in titles[1:]:
        limits = draw(st.booleans())
        checks.append(
            Check(
                title,
                draw(needs),
                draw(body),
                draw(findings(ids, limits=limits)),
                READINGS if limits else None,
            )
        )
    return Card(
        id="a-card",
        title=draw(name),
        system="brakes",
        signs=tuple(draw(st.lists(said, min_size=1, max_size=5))),
        look_alikes=(LookAlike(draw(name), Link("other", "../brakes/other.md")),),
        fits=draw(only),
        drive=draw(st.sampled_from(Drive)),
        share=draw(st.sampled_from(Share)),
        check_by=draw(st.dates(date(2020, 1, 1), date(2040, 1, 1))),
        authors=("wren",),
        opening=(*draw(body), Prose("End.")),
        causes=causes,
        checks=tuple(checks),
        repairs=(Repair(titles[0], draw(repair_needs), draw(body)),),
        proof=Proof(draw(needs), draw(body), "yes.", "no."),
        nothing=(*draw(body), Prose("Then call.")),
        sources=(
            Source("1 bar", (Citation("a-book", draw(name)),)),
            Source("2 bar", (Citation("common-practice"), Citation("a-book"))),
        ),
        hearsay=draw(body),
        remarks=draw(body),
    )


@settings(max_examples=100, deadline=None)
@given(cards())
def test_reading_what_was_written_gives_the_same_card(card: Card) -> None:
    text = write_card(card)
    again = read_card(text, "kb/cards/brakes/a-card.md")
    assert again == card
    assert isinstance(again, Card)
    assert write_card(again) == text


@pytest.mark.parametrize("path", CARDS, ids=lambda path: path.stem)
def test_writing_a_card_of_the_kb_gives_its_own_text(path: Path) -> None:
    text = path.read_text()
    card = read_card(text, str(path))
    assert isinstance(card, Card), card
    assert write_card(card) == text


@pytest.mark.parametrize("path", RULES, ids=lambda path: path.stem)
def test_writing_a_stop_rule_gives_its_own_text(path: Path) -> None:
    text = path.read_text()
    rule = read_rule(text, str(path))
    assert isinstance(rule, StopRule), rule
    assert write_rule(rule) == text


def test_every_line_of_a_card_counts() -> None:
    """Take any line out: the card changes, or a fault says so."""
    path = Path(__file__).parent / "cards" / "drain-left-open.md"
    lines = path.read_text().split("\n")
    whole = read_card(path.read_text(), path.name)
    for number, line in enumerate(lines):
        if line.strip():
            text = "\n".join(lines[:number] + lines[number + 1 :])
            assert read_card(text, path.name) != whole, line


def test_untidy_line_is_pointed_out() -> None:
    assert untidy_line("a\nb\n", "a\nb\n") is None
    assert untidy_line("a\n\n\nb\n", "a\n\nb\n") == (3, EXTRA)
    assert untidy_line("a\n", "a\nb\n") is not None


def test_template_reads_without_a_fault() -> None:
    text = fresh_card()
    card = read_card(text, "kb/cards/tyre-inflation/my-card.md")
    assert isinstance(card, Card), card
    assert write_card(card) == text
