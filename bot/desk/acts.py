"""Dangerous acts on a page that no caution guards, or that no page may bid."""

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from bot.cards.cautions import Class, read_cautions
from bot.cards.prose import parts_of
from bot.cards.wordings import Ear, read_ear
from bot.language.lexicon import Lexicon
from bot.match.acts import REFUSED, REFUSED_BOUND, Act, Weights, acts
from bot.model.card import Block, Card, Caution, Prose
from bot.model.place import Fault, Place
from bot.store.pages import page, shown, text_of
from bot.store.scan import ACTS, CAUTIONS

LIKELY = 3
"""So many classes an act may be of: a caution about any guards it. Our choice."""

LEAST = 0.05
"""And each at least so sure. Our choice."""

SHORT = 3
"""Sentences of fewer words bid nothing that could be heard."""

_SENTENCE = re.compile(r"(?<=[.;!?])\s+|\n(?=\s*[0-9]+[.)] )")
_NUMBER = re.compile(r"^\s*[0-9]+[.)]\s+")
_LINK = re.compile(r"\[([^\[\]]+)\]\([^()\s]+\)")


class Guard:
    """The ear for acts and the cautions that a knowledge base keeps."""

    def __init__(self, kb: Path) -> None:
        self.faults: tuple[Fault, ...] = ()
        self.classes: dict[str, Class] = {}
        self.ear: Weights = {}
        held = _read(kb / CAUTIONS)
        told = _read(kb / ACTS)
        cautions = read_cautions(held, shown(kb / CAUTIONS)) if held else ()
        weights = read_ear(told, shown(kb / ACTS)) if told else ()
        for name, found in ((CAUTIONS, cautions), (ACTS, weights)):
            if not found:
                says = "is not here; without it no dangerous act on a page is noticed"
                self.faults += (Fault(Place(shown(kb / name), 1), says),)
        self.classes = {c.name: c for c in cautions if isinstance(c, Class)}
        self.faults += tuple(f for f in cautions if isinstance(f, Fault))
        if isinstance(weights, Ear):
            self.ear = dict(_weights(row) for row in weights.weights)
        else:
            self.faults += weights

    def lint(self, card: Card, lexicon: Lexicon) -> Iterator[Fault]:
        """Every act of a card that is refused, or that no caution above it guards."""
        for _, body, place in parts_of(card):
            said = cautions_of((*card.opening, *body))
            for sentence, where in sentences(body, place):
                found = acts(sentence, lexicon, self.ear)
                says = self._says(found, said)
                if says:
                    yield Fault(where, f"'{_short(sentence)}' {says}")

    def _says(self, found: Sequence[Act], cautions: str) -> str:
        """What is wrong with a sentence that may bid these acts; "" for nothing."""
        if found and found[0].name == REFUSED and found[0].sureness >= REFUSED_BOUND:
            return "sounds like what no page may bid; leave it out, say who is called"
        classes = [self.classes[name] for name in likely(found) if name in self.classes]
        if not classes or any(each.is_guarded(cautions) for each in classes):
            return ""
        name, caution = classes[0].name.replace("-", " "), classes[0].caution
        want = " ".join(caution.text.split()).split(". ")[0]
        return (
            f"sounds like {name}, and no caution above speaks of it; write '> "
            f"**{caution.signal.value}** {want}. ...'"
        )


def likely(found: Sequence[Act]) -> list[str]:
    """The classes that a sentence may be of, the likeliest whatever its chance."""
    bidden = [act for act in found if act.name != REFUSED]
    sure = [act.name for act in bidden if act.sureness >= LEAST]
    return sure[:LIKELY] or [act.name for act in bidden[:1]]


def _read(path: Path) -> str:
    text = text_of(page(path)) if path.is_file() else ""
    return text if isinstance(text, str) else ""


def _weights(row: tuple[str, str]) -> tuple[str, dict[str, float]]:
    feature, said = row
    pairs = (pair.rpartition("=") for pair in said.split(" "))
    return feature, {act: float(weight) for act, _, weight in pairs}


def cautions_of(blocks: Sequence[Block]) -> str:
    """All cautions among some blocks, in small letters."""
    return " ".join(b.text.lower() for b in blocks if isinstance(b, Caution))


def sentences(body: Sequence[Block], place: Place) -> Iterator[tuple[str, Place]]:
    """Each sentence of a step, and where its block begins."""
    for block in body:
        if isinstance(block, Prose):
            for said in _SENTENCE.split(block.text):
                bare = _LINK.sub(r"\1", _NUMBER.sub("", said))
                flat = " ".join(bare.split())
                if len(flat.split(" ")) >= SHORT:
                    yield flat, block.place if block.place.line else place


def _short(sentence: str) -> str:
    return sentence if len(sentence) < 60 else f"{sentence[:57]}..."
