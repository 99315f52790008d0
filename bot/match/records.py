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
from bot.language.spelling import near_in
from bot.language.text import clean, said_in
from bot.match.evidence import letters, pairs

if TYPE_CHECKING:
    from bot.model.card import Card
    from bot.model.pages import Procedure

    class Index(Protocol):
        """The shelf that the store provides; answers change only with the cards."""

        def size(self) -> tuple[int, float]:
            """How many cards there are, and their mean length."""

        def postings(self, terms: Collection[str]) -> Mapping[str, Sequence["Posting"]]:
            """Where each term stands; terms that stand nowhere are missing."""

        def grams(self, features: Collection[str]) -> Mapping[str, Mapping[str, int]]:
            """By pair or run of letters: by card in how many own signs it stands."""

        def own_signs(self) -> Mapping[str, int]:
            """How many own signs each card has, its title among them."""

        def holds(self, stems: Collection[str]) -> Collection[str]:
            """Those of the stems that an author wrote on a card."""

        def english(self, words: Collection[str]) -> Collection[str]:
            """Those of the words that are plain English."""

        def near(self, word: str) -> Iterable[str]:
            """Words on the cards that begin or end alike and are about as long."""

        def signs(self, cards: Collection[str]) -> Mapping[str, "Record"]:
            """The records of those cards, without their counts and words."""

        @property
        def lexicon(self) -> Lexicon:
            """The lexicon that the records were made with."""


VERSION = 7
"""Raise it when the same card would give another record: stores look at it."""

TITLE, SIGN, BODY = 1.5, 1.0, 0.5
"""What a mention counts by where it stands, most in a title, least in the body, which
the signs of a well-told card outweigh. Source: our choice; on 201 queries of three sets
hit@3 0.91 against 0.89 with a body that counts whole."""


Posting = tuple[str, float, float, bytes]
"""That a term stands on a card: the card, how much it counts there, the card's length,
and the numbers of the signs that it stands in."""

MOST_SIGNS = 255


class Sign(NamedTuple):
    """One way a fault is told, and its terms with blanks between.

    `of` names another card when that one's fault is told: a look-alike.
    """

    text: str
    terms: str
    of: str = ""


class Record(NamedTuple):
    """A card as the matcher keeps it.

    `signs`: the title first, then the card's own, then look-alikes; `counts`: each
    term with its weighted count and the numbers of the signs it stands in; `length`:
    the sum of the counts; `words`: every word as its author wrote it, for misspelt ones
    to be compared with; `grams`: pairs of terms and runs of letters, with the number of
    own signs that each stands in.
    """

    id: str
    title: str
    signs: tuple[Sign, ...]
    counts: tuple[tuple[str, float, bytes], ...]
    length: float
    words: tuple[str, ...]
    grams: tuple[tuple[str, int], ...] = ()

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
    counts: dict[str, float] = {}
    places: dict[str, bytearray] = {}
    own = (name[1], *signs.own, *signs.beside)
    told = [*((sign, "") for sign in own), *signs.look_alikes]
    kept = [read_sign(text, lexicon, of) for text, of in told[:MOST_SIGNS]]
    for number, sign in enumerate(kept):
        found = sign.terms.split()
        for term in found:
            places.setdefault(term, bytearray()).append(number)
        if not sign.of:
            _count(counts, found, SIGN if number else TITLE)
    for text in texts:
        _count(counts, terms(text, lexicon), BODY)
    return Record(
        *name,
        tuple(kept),
        tuple(
            (term, counts.get(term, 0.0), bytes(places.get(term, b"")))
            for term in sorted({*counts, *places})
        ),
        sum(counts.values()),
        tuple(sorted(_surface((name[1], *signs.own, *texts)))),
        tuple(sorted(_grams(kept).items())),
    )


def read_sign(text: str, lexicon: Lexicon, of: str = "") -> Sign:
    """A sign and its terms, each once; `of` the card whose fault it tells."""
    return Sign(text, " ".join(dict.fromkeys(terms(text, lexicon))), of)


def _grams(signs: Iterable[Sign]) -> Counter[str]:
    """In how many of a card's own signs each pair and each run of letters stands."""
    found: Counter[str] = Counter()
    for sign in signs:
        if not sign.of:
            said = said_in(clean(sign.text)[0])
            found.update((*pairs(sign.terms.split()), *letters(said)))
    return found


def body(card: "Card") -> Iterator[str]:
    """The texts beside title and signs that say what the card is about."""
    yield from (block.text for block in card.opening)
    for cause in card.causes:
        yield f"{cause.name}. {cause.note}"
    for check in card.checks:
        yield check.title
        yield from (finding.answer for finding in check.findings)
    yield from (repair.title for repair in card.repairs)


def _count(counts: dict[str, float], found: Iterable[str], weight: float) -> None:
    """Add `weight` for each term; a term counts once in a text."""
    for term in dict.fromkeys(found):
        counts[term] = counts.get(term, 0.0) + weight


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


class MemoryIndex:
    """An index held in memory: for tests, and where nothing can be written."""

    def __init__(self, records: Iterable[Record], lexicon: Lexicon) -> None:
        self.lexicon = lexicon
        self._records = {entry.id: entry for entry in records}
        self._postings: dict[str, list[Posting]] = {}
        for entry in self._records.values():
            for term, count, signs in entry.counts:
                posting = (entry.id, count, entry.length, signs)
                self._postings.setdefault(term, []).append(posting)
        words = {word for entry in self._records.values() for word in entry.words}
        self._words = sorted(words)
        self._stems = frozenset(map(lexicon.stem, words))
        self._own = {entry.id: entry.own for entry in self._records.values()}
        self._grams: dict[str, dict[str, int]] = {}
        for entry in self._records.values():
            for feature, n in entry.grams:
                self._grams.setdefault(feature, {})[entry.id] = n

    def size(self) -> tuple[int, float]:
        """How many cards there are, and their mean length."""
        total = sum(entry.length for entry in self._records.values())
        return len(self._records), total / max(1, len(self._records))

    def postings(self, terms: Collection[str]) -> Mapping[str, Sequence[Posting]]:
        """Where each term stands; terms that stand nowhere are missing."""
        return {term: self._postings[term] for term in terms if term in self._postings}

    def grams(self, features: Collection[str]) -> Mapping[str, Mapping[str, int]]:
        """By pair or run of letters: by card in how many own signs it stands."""
        return {f: self._grams[f] for f in features if f in self._grams}

    def own_signs(self) -> Mapping[str, int]:
        """How many own signs each card has, its title among them."""
        return self._own

    def holds(self, stems: Collection[str]) -> Collection[str]:
        """Those of the stems that an author wrote on a card."""
        return self._stems.intersection(stems)

    def english(self, words: Collection[str]) -> Collection[str]:
        """None: the shelf is held for what stands on it."""
        return ()

    def near(self, word: str) -> Iterable[str]:
        """Words on the cards that begin or end alike and are about as long."""
        return near_in(self._words, word)

    def signs(self, cards: Collection[str]) -> Mapping[str, Record]:
        """The records of those cards."""
        return {card: self._records[card] for card in cards if card in self._records}
