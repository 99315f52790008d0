"""Dangerous acts on a page that no caution guards, or that no page may bid."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from bot.cards.cautions import Class, read_cautions
from bot.cards.prose import Part, blocks_of, parts_of, told_by
from bot.cards.wordings import Ear, read_ear
from bot.language.lexicon import Lexicon
from bot.match.acts import REFUSED, REFUSED_BOUND, Act, Weights, acts, rings
from bot.model.card import Act as Kind
from bot.model.card import Block, Card, Caution, Needs, Prose
from bot.model.marked import plain
from bot.model.pages import Note, Procedure
from bot.model.place import Fault, Place
from bot.model.rule import StopRule
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


class Guard:
    """The ear for acts and the cautions that a knowledge base keeps."""

    def __init__(self, kb: Path) -> None:
        self.faults: tuple[Fault, ...] = ()
        self.classes: dict[str, Class] = {}
        self.ear: Weights = {}
        held, told = self.texts = (_read(kb / CAUTIONS), _read(kb / ACTS))
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

    def lint(
        self, held: Card | Procedure | Note | StopRule, lexicon: Lexicon
    ) -> Iterator[Fault]:
        """Every act of a page that is refused, not named, or without its caution."""
        if isinstance(held, Card | Procedure):
            yield from self._steps(held, lexicon)
        yield from self.forbidden(held, lexicon)

    def _steps(self, held: Card | Procedure, lexicon: Lexicon) -> Iterator[Fault]:
        """What is wrong with the acts that a page's steps bid, and its cautions."""
        above = acts_of(held.opening)
        named = {act for part in parts_of(held) for act in part.needs.does}
        for act in above - named:
            says = f"a caution for {act.value}, and no step says 'does: {act.value}'"
            yield Fault(held.place, f"{says}; name it where it is done, or drop it")
        for block in blocks_of(held):
            if isinstance(block, Caution) and block.act:
                yield from self._equal(block, block.act)
        for part in parts_of(held):
            yield from self._part(part, above, lexicon)

    def forbidden(
        self, held: Card | Procedure | Note | StopRule, lexicon: Lexicon
    ) -> Iterator[Fault]:
        """Whatever beside its steps a page says that no page may bid."""
        for text, place in told_by(held):
            for sentence, _ in sentences((Prose(text),), place):
                found = acts(sentence, lexicon, self.ear)
                if [act.name for act in apart(found)[:1]] == [REFUSED]:
                    yield Fault(place, f"'{sentence}' {FORBIDDEN}")

    def _part(
        self, part: Part, above: frozenset[Kind], lexicon: Lexicon
    ) -> Iterator[Fault]:
        """What one step names without its caution, warns of or bids without a name."""
        needs, here = part.needs, acts_of(part.body)
        for act in needs.does:
            if act not in above | here:
                says = f"'does: {act.value}', and its caution is missing; {MEND}"
                yield Fault(needs.place, says)
        for act in here - set(needs.does):
            says = f"a caution for {act.value}; write 'does: {act.value}' above it"
            yield Fault(needs.place, says)
        for said, wanted in _wanted(needs):
            if not {*wanted} & {*needs.does}:
                ways = " or ".join(f"'does: {act.value}'" for act in wanted)
                says = f"'{said}' and no act that goes with it; add {ways}"
                yield Fault(needs.place, f"{says}, then 'chock lint --mend'")
        for sentence, where in heard(part):
            found = acts(sentence, lexicon, self.ear)
            found = apart(found) if sentence == part.title else found
            told = self._says(found, needs, sentence, lexicon)
            if told:
                yield Fault(where, f"'{sentence}' {told}")

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

    def _says(
        self, found: Sequence[Act], needs: Needs, sentence: str, lexicon: Lexicon
    ) -> str:
        """What is wrong with a sentence that may bid these acts; "" for nothing."""
        if is_refused(found):
            return FORBIDDEN
        classes = [name for name in likely(found) if name in self.classes]
        if not classes or {act.key for act in needs.does} & {*classes}:
            return ""
        danger = sum(act.sureness for act in found)
        if needs.is_harmless and danger < VOUCHED_BOUND:
            return ""
        words = rings(sentence, lexicon, self.ear, classes[0])
        by = " and ".join(f"'{word}'" for word in words)
        act = classes[0].replace("-", " ")
        ways = "or say it otherwise" if needs.is_harmless else OTHERWISE
        named = f"add 'does: {act}' to the slanted line"
        return f"sounds like {act} (by {by}); {named}, {ways}"


OTHERWISE = (
    "or, where nothing dangerous is done, say it otherwise, or add "
    "'does: nothing dangerous'"
)

VOUCHED_BOUND = 0.95
"""So sure of danger, and its author's word that there is none is not enough. Our
choice."""


_Kinds = tuple[Kind, ...]
_BY_STATE: tuple[tuple[re.Pattern[str], _Kinds], ...] = (
    (
        re.compile(r"\bengine (?:at|idling|running)\b"),
        (Kind.ENGINE_RUNNING, Kind.MOVING_THE_TRUCK, Kind.TRIAL_DRIVE),
    ),
    (re.compile(r"\b(?:off the ground|stands?|raised|lifted)\b"), (Kind.LIFTING,)),
    (re.compile(r"\bwheels? off\b(?! the ground)"), (Kind.LIFTING, Kind.WHEEL_OR_RIM)),
)
_BY_TOOL: tuple[tuple[re.Pattern[str], _Kinds], ...] = (
    (re.compile(r"\b(?:jack|axle stands?)\b"), (Kind.LIFTING,)),
)


def _wanted(needs: Needs) -> Iterator[tuple[str, _Kinds]]:
    """Each state and tool that takes a dangerous act, and the acts it may be for."""
    said = [(state.name, _BY_STATE) for state in needs.truck]
    said += [(tool, _BY_TOOL) for tool in needs.tools]
    for name, rows in said:
        yield from ((name, kinds) for pattern, kinds in rows if pattern.search(name))


FORBIDDEN = (
    "sounds like what no page may bid (under a truck on a jack, a hand at a jet, a "
    "flame at a tyre, a bridged brake); leave it out and say who is called, or say it "
    "otherwise"
)


APART_BOUND = 0.8
"""So sure of one class in headings and outside steps, for the ear has learnt from the
sentences of steps alone. Our choice."""


def apart(found: tuple[Act, ...]) -> tuple[Act, ...]:
    """The acts, if they are heard surely enough for what is no sentence of a step."""
    return found if found and found[0].sureness >= APART_BOUND else ()


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
    """Each sentence of a step, and the line on which it begins."""
    for block in body:
        if isinstance(block, Prose):
            at = block.place if block.place.line else place
            for said, above in _parted(block.text):
                bare = plain(_NUMBER.sub("", said))
                flat = " ".join(bare.split())
                if len(flat.split(" ")) >= SHORT:
                    yield flat, Place(at.path, at.line + above)


def _parted(text: str) -> Iterator[tuple[str, int]]:
    """The sentences of a text, each with how many lines stand above it."""
    start = 0
    for found in (*_SENTENCE.finditer(text), None):
        said = text[start : found.start() if found else len(text)]
        blank = len(said) - len(said.lstrip())
        yield said, text.count("\n", 0, start + blank)
        start = found.end() if found else start


def heard(part: Part) -> Iterator[tuple[str, Place]]:
    """Each sentence of a step that may bid an act, its heading among them."""
    yield from sentences((Prose(part.title, part.place), *part.body), part.place)
