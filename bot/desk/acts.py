"""Dangerous acts on a page that no caution guards, or that no page may bid."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from bot.cards.cautions import Class, read_cautions
from bot.cards.prose import Part, blocks_of, parts_of
from bot.cards.wordings import Ear, read_ear
from bot.language.lexicon import Lexicon
from bot.match.acts import REFUSED, REFUSED_BOUND, Act, Weights, acts
from bot.model.card import Act as Kind
from bot.model.card import Block, Card, Caution, Prose
from bot.model.pages import Procedure
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

    def lint(self, held: Card | Procedure, lexicon: Lexicon) -> Iterator[Fault]:
        """Every act of a page that is refused, not named, or without its caution."""
        above = acts_of(held.opening)
        named = {act for needs, _, _ in parts_of(held) for act in needs.does}
        for act in above - named:
            says = f"a caution for {act.value}, and no step says 'does: {act.value}'"
            yield Fault(held.place, f"{says}; name it where it is done, or drop it")
        for block in blocks_of(held):
            if isinstance(block, Caution) and block.act:
                yield from self._equal(block, block.act)
        for part in parts_of(held):
            yield from self._part(part, above, lexicon)
        steps = {id(block) for _, body, _ in parts_of(held) for block in body}
        rest = [block for block in blocks_of(held) if id(block) not in steps]
        for sentence, where in sentences(rest, held.place):
            found = acts(sentence, lexicon, self.ear)
            if found and found[0].name == REFUSED and found[0].sureness >= TOLD_BOUND:
                yield Fault(where, f"'{_short(sentence)}' {FORBIDDEN}")

    def _part(
        self, part: Part, above: frozenset[Kind], lexicon: Lexicon
    ) -> Iterator[Fault]:
        """What one step names without its caution, warns of or bids without a name."""
        needs, body, place = part
        here = acts_of(body)
        for act in needs.does:
            if act not in above | here:
                says = f"'does: {act.value}', and its caution is missing; {MEND}"
                yield Fault(needs.place, says)
        for act in here - set(needs.does):
            says = f"a caution for {act.value}; write 'does: {act.value}' above it"
            yield Fault(needs.place, says)
        for sentence, where in sentences(body, place):
            told = self._says(acts(sentence, lexicon, self.ear), needs.does)
            if told:
                yield Fault(where, f"'{_short(sentence)}' {told}")

    def _equal(self, caution: Caution, act: Kind) -> Iterator[Fault]:
        """A caution that is not as it is kept for all pages."""
        kept = self.kept(act)
        if kept and not same(kept, caution):
            says = f"the caution for {act.value} is not as {CAUTIONS} has it; {MEND}"
            yield Fault(caution.place, says)

    def kept(self, act: Kind) -> Caution | None:
        """The caution that all pages have for an act."""
        found = self.classes.get(act.key)
        return replace(found.caution, act=act) if found else None

    def _says(self, found: Sequence[Act], named: Sequence[Kind]) -> str:
        """What is wrong with a sentence that may bid these acts; "" for nothing."""
        if is_refused(found):
            return FORBIDDEN
        classes = [name for name in likely(found) if name in self.classes]
        if not classes or {act.key for act in named} & {*classes}:
            return ""
        act = classes[0].replace("-", " ")
        return (
            f"sounds like {act}, and the line under the heading does not say so; add "
            f"'does: {act}' there, then 'chock lint --mend', or say it otherwise"
        )


FORBIDDEN = (
    "sounds like what no page may bid (under a truck on a jack, a hand at a jet, a "
    "flame at a tyre, a bridged brake); leave it out and say who is called, or say it "
    "otherwise"
)


TOLD_BOUND = 0.9
"""So sure outside steps, for the ear has learnt from steps alone. Our choice."""


def is_refused(found: Sequence[Act]) -> bool:
    """Whether a sentence bids what no page may, whatever else it may be."""
    return any(a.name == REFUSED and a.sureness >= REFUSED_BOUND for a in found)


MEND = "'chock lint --mend' puts it right"


def acts_of(blocks: Sequence[Block]) -> frozenset[Kind]:
    """The acts whose cautions stand among some blocks."""
    return frozenset(b.act for b in blocks if isinstance(b, Caution) and b.act)


def same(one: Caution, other: Caution) -> bool:
    """Whether two cautions say the same, however their lines are broken."""
    flat = (" ".join(caution.text.split()) for caution in (one, other))
    return one.signal is other.signal and next(flat) == next(flat)


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
