"""BM25 over cards and over their signs, and how the two make one score.

Okapi BM25 with the idf that never falls to nothing, log(1 + (N - n + 0.5)/(n + 0.5)):
in fifty cards of which forty speak of air, "air" must still count. Source: Robertson
and Zaragoza 2009, "The Probabilistic Relevance Framework" (from memory); k1 and b from
runs on open sets of short requests (see tools/evaluate.py).
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from math import log
from typing import TYPE_CHECKING, NamedTuple

from rapidfuzz import fuzz, process

from bot.match.query import Query, Slot
from bot.match.records import Posting, Record, Sign

if TYPE_CHECKING:
    from bot.match.records import Index

K1, B = 2.5, 0.5
"""Counts go on telling for longer, length weighs less, than in the usual 1.2 and 0.75:
a card is many phrases. Source: measured on two open sets, 20 phrases a card."""

MOST_CARDS = 24
"""Cards that are scored to the end; fifty found no more and took a third longer."""

MOST_CLOSE = 8
"""The best cards of each part, whose signs are compared one by one."""

MOST_PARTS = 12
"""Parts of a story that are weighed for themselves, those that tell most. Our choice:
nobody tells of more things at once, and what is pasted may have hundreds."""

PART = 1.0
"""What the best part of a story counts beside the whole. Source: our choice."""

PHRASE = 0.5
"""What the likeness of the whole text to the closest sign, word set against word set,
counts beside the rest. Source: measured on two open sets; anything from 0.25 to 1 is
as good."""

MANY_CARDS = 10_000
COMMON_SHARE = 0.1
"""Above that many cards a term on more than a tenth of them is not looked up."""


def idf(cards: int, holding: int) -> float:
    """How telling a term is that `holding` of `cards` hold; never 0."""
    return log(1.0 + (cards - holding + 0.5) / (holding + 0.5))


def gain(count: float, relative_length: float, k1: float = K1, b: float = B) -> float:
    """What `count` mentions on a card earn; `relative_length` 1 is the mean card."""
    return count * (k1 + 1.0) / (count + k1 * (1.0 - b + b * relative_length))


class Lookup(NamedTuple):
    """A question looked up once.

    `postings` and `idf` by term; `gains`: by term what it earns on each card, before
    the weight of a slot; `rarest`: what a word counts that stands on no card.
    """

    postings: Mapping[str, Sequence[Posting]]
    idf: Mapping[str, float]
    gains: Mapping[str, Mapping[str, float]]
    rarest: float


class Scored(NamedTuple):
    """A card's score and what it is made of: `sign` numbers the closest sign."""

    card: str
    total: float
    bm25: float
    close: float
    sign: int


Hits = dict[str, dict[int, float]]
"""Of one slot: by card and by number of sign, what it tells there."""


class Found(NamedTuple):
    """Cards best first; the records of them; the hits of each slot of the question."""

    cards: tuple[Scored, ...]
    records: Mapping[str, Record]
    hits: Sequence[Hits]


def look_up(query: Query, index: "Index", *, k1: float = K1, b: float = B) -> Lookup:
    """The postings of all terms of the question, and what they earn."""
    cards, mean_length = index.size()
    wanted = {term for slot in query.slots for term, _ in slot.terms}
    found = index.postings(wanted)
    if cards > MANY_CARDS:
        kept = {t: p for t, p in found.items() if len(p) < COMMON_SHARE * cards}
        found = kept or found
    weights: dict[str, float] = {}
    gains: dict[str, dict[str, float]] = {}
    for term, where in found.items():
        holding = sum(1 for posting in where if posting[1])
        weight = weights[term] = idf(cards, holding)
        gains[term] = {
            card: weight * gain(count, length / mean_length, k1, b)
            for card, count, length, _ in where
            if count
        }
    return Lookup(found, weights, gains, idf(cards, 0))


def by_card(slots: Iterable[Slot], looked: Lookup) -> dict[str, float]:
    """BM25 of every card that holds any of the slots; of a slot its best term."""
    return _sums(earned(slot, looked) for slot in slots)


def earned(slot: Slot, looked: Lookup) -> dict[str, float]:
    """What a slot earns on each card by its best term."""
    best: dict[str, float] = {}
    for term, weight in slot.terms:
        for card, gained in looked.gains.get(term, {}).items():
            if weight * gained > best.get(card, 0.0):
                best[card] = weight * gained
    return best


def _sums(tables: Iterable[Mapping[str, float]]) -> dict[str, float]:
    """The values of all tables by card added up."""
    totals: dict[str, float] = {}
    for table in tables:
        for card, value in table.items():
            totals[card] = totals.get(card, 0.0) + value
    return totals


def different(slots: Iterable[Slot]) -> list[Slot]:
    """The slots without those that say again what was said."""
    return list({slot.terms[0][0]: slot for slot in slots}.values())


def worth(slot: Slot, looked: Lookup) -> float:
    """The most that a slot could tell; a word on no card counts as the rarest."""
    known = [w * looked.idf[t] for t, w in slot.terms if t in looked.idf]
    return max(known, default=looked.rarest * slot.terms[0][1])


def total_worth(slots: Iterable[Slot], looked: Lookup) -> float:
    """The most that all the slots could tell."""
    return sum(worth(slot, looked) for slot in slots)


def hits_of(slot: Slot, looked: Lookup, cards: Collection[str]) -> Hits:
    """Which signs of the cards a slot meets, and what it tells there."""
    found: Hits = {card: {} for card in cards}
    for term, weight in slot.terms:
        told = weight * looked.idf.get(term, 0.0)
        for card, _, _, signs in looked.postings.get(term, ()):
            best = found.get(card)
            if best is not None:
                for sign in signs:
                    if told > best.get(sign, 0.0):
                        best[sign] = told
    return found


class Close(NamedTuple):
    """How alike the closest sign of a card is, from 0 to 1, and its number."""

    likeness: float
    sign: int


FAR = Close(0.0, 0)


class _Part(NamedTuple):
    """A part of the text, or all of it: BM25 and closest sign by card, and the most."""

    bm25: Mapping[str, float]
    close: Mapping[str, Close]
    top: float

    def score(self, card: str) -> float:
        """BM25 beside the best card's, and likeness, together from 0 to 1."""
        likeness = self.close.get(card, FAR).likeness
        return (self.bm25.get(card, 0.0) / self.top + likeness) / 2.0


def scored(
    query: Query, index: "Index", looked: Lookup, also: Collection[str] = ()
) -> Found:
    """Every card that was met, best first; whole text, best part, closest sign.

    `also` are cards to be scored though nothing on them may have been met.
    """
    whole = different(query.slots)
    gains = {id(slot): earned(slot, looked) for slot in query.slots}
    earnings = _sums(gains[id(slot)] for slot in whole)
    told = [
        (slots, _sums(gains[id(s)] for s in slots)) for slots in _parts(query.slots)
    ]
    told = sorted(told, key=lambda part: -max(part[1].values(), default=0.0))
    first = _best(earnings, MOST_CARDS)
    first += [card for card in also if card not in first]
    records = index.signs(first)
    hits = {id(slot): hits_of(slot, looked, first) for slot in query.slots}
    parts = [
        _part(table, [hits[id(s)] for s in slots], total_worth(slots, looked), records)
        for slots, table in ((whole, earnings), *told[:MOST_PARTS])
    ]
    cards = [_scored(card, parts) for card in first if card in records]
    said = " ".join(slot.terms[0][0] for slot in whole)
    cards = _phrased(sorted(cards, key=_order), said, records)
    return Found(
        tuple(sorted(cards, key=_order)), records, [hits[id(s)] for s in query.slots]
    )


def _order(found: Scored) -> tuple[float, str]:
    return -found.total, found.card


def _best(table: Mapping[str, float], most: int) -> list[str]:
    """The cards that earned most, the best first."""
    return sorted(table, key=lambda card: (-table[card], card))[:most]


def _part(
    bm25: Mapping[str, float],
    hits: Sequence[Hits],
    said: float,
    records: Mapping[str, Record],
) -> _Part:
    """What some of the slots say by themselves."""
    best = [card for card in _best(bm25, MOST_CLOSE) if card in records]
    close = _close(hits, said, best, records)
    return _Part(bm25, close, max(bm25.values(), default=1.0))


def _scored(card: str, parts: Sequence[_Part]) -> Scored:
    """One card's score; a part that tells little counts for less."""
    whole = parts[0]
    shares = [part.score(card) * (part.top / whole.top) ** 0.5 for part in parts[1:]]
    close = max(part.close.get(card, FAR) for part in parts)
    total = (whole.score(card) + PART * max(shares, default=0.0)) / (1.0 + PART)
    return Scored(card, total, whole.bm25.get(card, 0.0), close.likeness, close.sign)


def _phrased(
    cards: Sequence[Scored], said: str, records: Mapping[str, Record]
) -> list[Scored]:
    """The cards with how alike all that was said is to one of their own signs."""
    found = []
    for number, card in enumerate(cards):
        alike = 0.0
        if number < MOST_CLOSE:
            own = [s.terms for s in records[card.card].signs if not s.of]
            best = process.extractOne(said, own, scorer=fuzz.token_set_ratio)
            alike = best[1] / 100.0 if best else 0.0
        total = (card.total + PHRASE * alike) / (1.0 + PHRASE)
        found.append(card._replace(total=total))
    return found


def _close(
    hits: Sequence[Hits],
    said: float,
    cards: Sequence[str],
    records: Mapping[str, Record],
) -> dict[str, Close]:
    """The sign of each card that is most like what was said, its look-alikes apart.

    `said` is the most that this could tell. A phrase of one card that tells of another
    counts for that one, when it is met better than the card's own signs.
    """
    found: dict[str, Close] = {}
    lent: list[tuple[str, Close]] = []
    for card in cards:
        signs = records[card].signs
        likest = _likest(card, hits, said, signs)
        found[card] = likest.get("", FAR)
        lent += [(of, c) for of, c in likest.items() if of and c > found[card]]
    for of, close in lent:
        if of in found and close.likeness > found[of].likeness:
            found[of] = Close(close.likeness, found[of].sign)
    return found


def _likest(
    card: str, hits: Sequence[Hits], said: float, signs: Sequence[Sign]
) -> dict[str, Close]:
    """The likest of a card's own signs, by "", and of its phrases for other cards.

    Likeness is the harmonic mean of two shares: how much of what was said the sign
    has, and how many of the sign's own terms were said.
    """
    told: dict[int, float] = {}
    met: dict[int, int] = {}
    for hit in hits:
        for sign, worth in hit[card].items():
            told[sign] = told.get(sign, 0.0) + worth
            met[sign] = met.get(sign, 0) + 1
    found: dict[str, Close] = {}
    for number, worth in told.items():
        covered = worth / said if worth < said else 1.0
        _, terms, of = signs[number]
        best = found.get(of, FAR).likeness
        if 2.0 * covered > best * (covered + 1.0):
            own = terms.count(" ") + 1 - terms.count("~")
            share = met[number] / own if met[number] < own else 1.0
            likeness = 2.0 * covered * share / (covered + share)
            if likeness > best:
                found[of] = Close(likeness, number)
    return found


def _parts(slots: Sequence[Slot]) -> list[list[Slot]]:
    """The slots of each part; a part of one word joins its neighbour."""
    groups: dict[int, list[Slot]] = {}
    for slot in slots:
        groups.setdefault(slot.part, []).append(slot)
    joined: list[list[Slot]] = []
    for group in groups.values():
        if joined and len({s.said for s in joined[-1]}) < 2:
            joined[-1].extend(group)
        else:
            joined.append(list(group))
    return [different(group) for group in joined]
