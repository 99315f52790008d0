"""Work that must not stand on a page without a caution that speaks of it.

The list errs on the side of asking: a caution too many costs a line, one too few a
hand.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from bot.cards.prose import blocks_of, parts_of
from bot.model.card import Block, Card, Caution, Prose, State
from bot.model.place import Fault

_SENTENCE = re.compile(r"[.!?](?:\s|$)")


@dataclass(frozen=True, slots=True)
class Hazard:
    """Words of dangerous work, and the words a caution about it cannot do without."""

    work: re.Pattern[str]
    caution: re.Pattern[str]
    says: str


def _hazard(work: str, caution: str, says: str) -> Hazard:
    return Hazard(re.compile(work), re.compile(caution), says)


HAZARDS = (
    _hazard(
        r"\bjack(s|ed|ing)?\b|\baxle stands?\b|\bwheel off\b|\bunder the truck\b"
        r"|\bcrawl",
        r"stand|jack|crush|fall|roll|chock",
        "a truck that falls or rolls",
    ),
    _hazard(
        r"\b(crack|slacken|undo|disconnect|unscrew|take off|loosen)\b[^.]*"
        r"\b(union|air line|air hose|air pipe|drain|tank|wheel valve)\b",
        r"\bair\b|pressure|spray|eye",
        "air let loose",
    ),
    _hazard(
        r"\bengine (running|idling|at (idle|fast|half|full))\b|\bidling\b",
        r"\bfan\b|\bbelt|\bmoving\b|\bturn(s|ing)?\b|fume|exhaust|\broll",
        "turning parts and a truck that may move",
    ),
    _hazard(
        r"\b(radiator|pressure|filler|header tank|coolant) cap\b|\bopen the radiator\b",
        r"scald|steam|boil|hot",
        "scalding coolant",
    ),
    _hazard(
        r"\bjump leads?\b|\bbattery (cable|lead|terminal|clamp|post|link)s?\b",
        r"spark|gas|acid|short|arc|burn",
        "sparks and acid at a battery",
    ),
    _hazard(
        r"\bspring (brake )?chamber|\brelease bolt|\bcaging (bolt|tool)",
        r"spring",
        "the spring in a brake chamber",
    ),
    _hazard(
        r"\b(fill|inflate|pump up|re-?inflate)\b[^.]*\btyres?\b",
        r"burst|blast|explo|rim|thrown",
        "a tyre that bursts",
    ),
)


def unguarded(
    blocks: Iterable[Block], states: tuple[State, ...], head: Iterable[Block]
) -> tuple[str, ...]:
    """The hazards of one part of a page that no caution speaks of.

    Args:
        blocks: the part's own blocks.
        states: what the truck must be like for it.
        head: the blocks at the head of the card, whose cautions hold throughout.
    """
    own = tuple(blocks)
    cautions = " ".join(
        block.text.lower() for block in (*own, *head) if isinstance(block, Caution)
    )
    work = ". ".join(
        [block.text.lower() for block in own if isinstance(block, Prose)]
        + [state.name.lower() for state in states]
    ).replace("\n", " ")
    return tuple(
        hazard.says
        for hazard in HAZARDS
        if hazard.work.search(work) and not hazard.caution.search(cautions)
    )


def lint_cautions(card: Card) -> Iterator[Fault]:
    """Cautions that are missing or too short to help."""
    for block in blocks_of(card):
        if isinstance(block, Caution):
            yield from lint_caution(block)
    for needs, body, place in parts_of(card):
        for hazard in unguarded(body, needs.truck, card.opening):
            says = f"missing caution about {hazard}; add '> **WARNING** ...' above it"
            yield Fault(place, says)


def lint_caution(caution: Caution) -> Iterator[Fault]:
    """A caution that does not say hazard, harm and how to avoid it."""
    if len(_SENTENCE.findall(caution.text)) < 3:
        yield Fault(
            caution.place,
            "caution is too short; write three sentences: the hazard, what it does to "
            "you, how to avoid it",
        )
