"""What the matcher keeps of a card, and the shelf it looks cards up on.

A record is made of its card alone, so that a changed card changes its own rows only.
How common a term is on all cards is counted when a question is asked.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from math import ceil
from typing import TYPE_CHECKING, NamedTuple, Protocol

from bot.language.lexicon import Lexicon
from bot.language.reading import terms
from bot.language.text import clean, said_in
from bot.match.evidence import letters, pairs
from bot.match.rows import Row, Shelf

if TYPE_CHECKING:
    from bot.model.card import Card
    from bot.model.pages import Procedure

    class Index(Protocol):
        """The shelf that the store provides; answers change only with the cards.

        It knows a card by a number of its own.
        """

        def shelf(self) -> Shelf:
            """Which cards there are, and how much is told on each."""

        def rows(self, features: Collection[str]) -> Mapping[str, Row]:
            """Where features stand; those that stand nowhere are missing."""

        def records(self, numbers: Collection[int]) -> Mapping[int, "Record"]:
            """The records of some cards, without their features and words."""

        def numbers(self, cards: Collection[str]) -> Mapping[str, int]:
            """The numbers of those of the cards that are there."""

        def holds(self, stems: Collection[str]) -> Collection[str]:
            """Those of the stems that an author wrote on a card."""

        def english(self, words: Collection[str]) -> Collection[str]:
            """Those of the words that are plain English."""

        def near(self, word: str) -> Iterable[str]:
            """Words on the cards that begin or end alike and are about as long."""

        @property
        def lexicon(self) -> Lexicon:
            """The lexicon that the records were made with."""


VERSION = 8
"""Raise it when the same card would give another record: stores look at it."""

TITLE, SIGN, BODY = 1.5, 1.0, 0.5
"""What a mention counts by where it stands, most in a title, least in the body, which
the signs of a well-told card outweigh. Source: our choice; on 201 queries of three sets
hit@3 0.91 against 0.89 with a body that counts whole."""


MOST_SIGNS = 255


class Sign(NamedTuple):
    """One way a fault is told, and its terms with blanks between.

    `of` names another card when that one's fault is told: a look-alike.
    """

    text: str
    terms: str
    of: str = ""


class Feature(NamedTuple):
    """A term, a pair or a run of letters on a card.

    `own`: in how many of its own signs it stands. Of a term: `halves`, twice what it
    counts, and `signs`, the numbers of all signs that have it.
    """

    name: str
    own: int
    halves: int = 0
    signs: bytes = b""


class Record(NamedTuple):
    """A card as the matcher keeps it.

    `signs`: the title first, then the card's own, then look-alikes; `features`: what
    stands where on it; `words`: every word as its author wrote it, for misspelt ones to
    be compared with.
    """

    id: str
    title: str
    signs: tuple[Sign, ...]
    features: tuple[Feature, ...] = ()
    words: tuple[str, ...] = ()

    @property
    def own(self) -> int:
        """How many signs are its own, its title among them."""
        return sum(not sign.of for sign in self.signs)


def record(card: "Card", lexicon: Lexicon, beside: Sequence[str] = ()) -> Record:
    """What the matcher keeps of a card: the same card always gives the same.

    `beside` are further signs as people type them, whose spelling proves nothing.
    """
    others = tuple((other.phrase, other.card) for other in card.look_alikes)
    signs = Signs(card.signs, others, tuple(beside))
    return record_of((card.id, card.title), signs, tuple(body(card)), lexicon)


def record_of_procedure(
    held: "Procedure", lexicon: Lexicon, beside: Sequence[str] = ()
) -> Record:
    """What the matcher keeps of a procedure: how people ask for it."""
    titles = tuple(step.title for step in held.steps)
    signs = Signs(held.signs, (), tuple(beside))
    return record_of((held.id, held.title), signs, titles, lexicon)


class Signs(NamedTuple):
    """How a fault is told: on its page, on it of another card, and beside the page."""

    own: Sequence[str]
    look_alikes: Sequence[tuple[str, str]] = ()
    beside: Sequence[str] = ()


def record_of(
    name: tuple[str, str], signs: Signs, texts: Sequence[str], lexicon: Lexicon
) -> Record:
    """A record from id and title, signs, and further text."""
    own = (name[1], *signs.own, *signs.beside)
    told = [*((sign, "") for sign in own), *signs.look_alikes]
    kept = [read_sign(text, lexicon, of) for text, of in told[:MOST_SIGNS]]
    return Record(
        *name,
        tuple(kept),
        features_of(kept, [terms(text, lexicon) for text in texts]),
        tuple(sorted(_surface((name[1], *signs.own, *texts)))),
    )


def read_sign(text: str, lexicon: Lexicon, of: str = "") -> Sign:
    """A sign and its terms, each once; `of` the card whose fault it tells."""
    return Sign(text, " ".join(dict.fromkeys(terms(text, lexicon))), of)


def features_of(
    signs: Sequence[Sign], texts: Iterable[Sequence[str]]
) -> tuple[Feature, ...]:
    """What stands in how many of a card's own signs, and what its terms count."""
    own: Counter[str] = Counter()
    halves: Counter[str] = Counter()
    places: dict[str, bytearray] = {}
    for number, sign in enumerate(signs):
        found = sign.terms.split()
        for term in found:
            places.setdefault(term, bytearray()).append(number)
        if not sign.of:
            own.update((*found, *pairs(found)))
            own.update(letters(said_in(clean(sign.text)[0])))
            halves.update(dict.fromkeys(found, _halves(SIGN if number else TITLE)))
    for text in texts:
        halves.update(dict.fromkeys(text, _halves(BODY)))
    return tuple(
        Feature(name, own[name], halves[name], bytes(places.get(name, b"")))
        for name in sorted({*own, *halves, *places})
    )


def _halves(weight: float) -> int:
    return int(2 * weight)


def body(card: "Card") -> Iterator[str]:
    """The texts beside title and signs that say what the card is about."""
    yield from (block.text for block in card.opening)
    for cause in card.causes:
        yield f"{cause.name}. {cause.note}"
    for check in card.checks:
        yield check.title
        yield from (finding.answer for finding in check.findings)
    yield from (repair.title for repair in card.repairs)


def _surface(texts: Iterable[str]) -> set[str]:
    """The words of the texts as written that a misspelt word may have meant."""
    words = (word for text in texts for word in said_in(clean(text)[0]))
    return {word for word in words if len(word) > 2 and word.isalpha()}


class Saying(NamedTuple):
    """A sign of a card, and the terms of it that tell something."""

    card: str
    text: str
    telling: frozenset[str]


def alike(signs: Iterable[Saying]) -> tuple[tuple[Saying, Saying], ...]:
    """Signs of two cards that say almost the same.

    Two sets that share so much share one of their rarest terms, so only signs with such
    a term in common are held against each other.
    """
    kept = [sign for sign in signs if len(sign.telling) >= FEWEST]
    often = Counter(term for sign in kept for term in sign.telling)
    met: dict[str, list[int]] = {}
    pairs = []
    for number, (card, _, mine) in enumerate(kept):
        rare = sorted(mine, key=lambda term: (often[term], term))
        rare = rare[: len(rare) - ceil(SAME * len(rare)) + 1]
        near = {n for term in rare for n in met.get(term, ())}
        for other in (kept[n] for n in sorted(near)):
            theirs = other.telling
            if card != other.card and len(mine & theirs) >= SAME * len(mine | theirs):
                pairs.append((other, kept[number]))
        for term in rare:
            met.setdefault(term, []).append(number)
    return tuple(pairs)


FEWEST, SAME = 3, 0.75
"""Signs of fewer telling terms are not compared; two signs are the same when they have
that share of all their terms in common. Source: our choice."""


def telling(text: str, lexicon: Lexicon) -> frozenset[str]:
    """The terms of a text without small words and loose meanings."""
    small = lexicon.listed("small")
    found = terms(text, lexicon)
    return frozenset(t for t in found if t[0] != "~" and t not in small)
