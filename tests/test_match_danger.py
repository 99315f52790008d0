"""Dangers at the door: raised at once, asked about, or rightly left alone."""

import hashlib
from pathlib import Path

import pytest
import yaml
from hearing import stops

from bot.cards.wordings import read_told
from bot.desk.shelf import open_index
from bot.language.line import listen
from bot.match.danger import Band, StopRecord, raised
from bot.store.index import CardIndex
from bot.store.scan import EAR, SIDE
from tests.seeds import seed

PUBLISHED = Path(__file__).parent / "stops"


@pytest.fixture(scope="module")
def index(kb: Path, tmp_path_factory: pytest.TempPathFactory) -> CardIndex:
    return open_index(str(kb), str(seed(tmp_path_factory.mktemp("home"))))


def hits(typed: str, index: CardIndex) -> dict[str, Band]:
    line = listen(typed, index.lexicon, index)
    found = raised(line, index.rules(), index.lexicon, index.ear)
    return {hit.rule: hit.band for hit in found}


@pytest.mark.parametrize(
    ("typed", "rule"),
    [
        ("fire!", "fire-or-smoke"),
        ("no, smoke from the hub", "hub-too-hot"),
        ("the brakes do nothing", "no-brakes"),
        ("pedal went right to the floor and she kept rolling", "no-brakes"),
        ("buzzer is on and we are driving", "brake-air-low"),
        ("two wheel nuts are gone", "wheel-coming-off"),
        ("my mates hand is trapped and bleeding", "someone-hurt"),
        ("im going to open the cap, its steaming", "coolant-boiling"),
        ("lying under it, only the jack holds it", "under-load"),
        ("there is a bulge in the side of the tyre", "tyre-damaged"),
    ],
)
def test_danger_is_raised_at_once(typed: str, rule: str, index: CardIndex) -> None:
    assert hits(typed, index).get(rule) is Band.SURE


@pytest.mark.parametrize(
    "typed",
    [
        "no smoke no flames",
        "one hub hisses after I park",
        "the brakes are fine",
        "8 bar and steady on both gauges",
        "all nuts tight, no wobble",
        "hand warm, same as its mate",
        "tyre goes soft over night",
        "I push the lever down and the truck is not rolling",
        "7",
    ],
)
def test_harmless_talk_stops_nobody(typed: str, index: CardIndex) -> None:
    assert Band.SURE not in hits(typed, index).values()


def test_every_sign_raises_its_rule(index: CardIndex) -> None:
    silent = [
        (rule.id, sign)
        for rule in index.rules()
        for sign, _ in rule.signs
        if rule.id not in hits(sign, index)
    ]
    assert silent == []


def test_a_rule_that_the_ear_never_heard_of_is_raised_by_its_signs(
    index: CardIndex,
) -> None:
    sign = "mouse nest behind the panel"
    slots = " ".join(["mous", "nest", "behind", "panel"])
    own = StopRecord("own", "Own", "Do.", "Is it?", ((sign, slots),), "")
    line = listen("there is a mouse nest behind the panel", index.lexicon)
    found = raised(line, [own], index.lexicon, index.ear)
    assert [(hit.rule, hit.band) for hit in found] == [("own", Band.SURE)]


def test_the_ear_was_trained_on_the_lines_that_lie_beside_the_rules(kb: Path) -> None:
    """If this fails: python tools/train.py --write."""
    found = hashlib.sha256()
    for path in sorted((kb / "stop-rules").glob("*" + SIDE)):
        found.update(path.read_bytes())
    first = (kb / "stop-rules" / EAR).read_text().split("\n", 1)[0]
    assert found.hexdigest()[:16] in first


def test_lines_beside_the_rules_are_well_formed(kb: Path) -> None:
    for path in sorted((kb / "stop-rules").glob("*" + SIDE)):
        told = read_told(path.read_text(), path.name)
        assert told
        assert all(hasattr(line, "is_danger") for line in told), told[:3]


def test_dangers_kept_apart_from_training_are_heard(index: CardIndex) -> None:
    """Lines by one other writer, invented for this project, never trained on."""
    shares, wrong = stops(PUBLISHED / "kept-apart.yaml", index)
    told = {name: value[0] for name, value in shares.items()}  # type: ignore[index]
    assert told["missed"] <= 0.05, wrong
    assert told["false_stop"] <= 0.04, wrong
    assert told["asked_needlessly"] <= 0.20, wrong


def test_harmless_lines_joined_stop_little_oftener(index: CardIndex) -> None:
    rows = yaml.safe_load((PUBLISHED / "kept-apart.yaml").read_text())
    calm = [row["words"] for row in rows if not row["stop"]]
    alone = [Band.SURE in hits(text, index).values() for text in calm]
    joined = [
        Band.SURE in hits(", ".join((a, b)), index).values()
        for a, b in zip(calm, calm[7:] + calm[:7], strict=True)
    ]
    assert sum(joined) / len(joined) <= sum(alone) / len(alone) + 0.04


def test_a_word_to_chock_is_no_danger(kb: Path, index: CardIndex) -> None:
    words = yaml.safe_load((kb / "speech.yaml").read_text(encoding="utf-8"))
    said = [typed for act in words["acts"] for typed in act["said"]]
    assert len(said) > 100
    assert [typed for typed in said if hits(str(typed), index)] == []
