"""BM25 over cards and over their signs, and how the two make one score.

Okapi BM25 with the idf that never falls to nothing, log(1 + (N - n + 0.5)/(n + 0.5)):
in fifty cards of which forty speak of air, "air" must still count. Source: Robertson
and Zaragoza 2009, "The Probabilistic Relevance Framework" (from memory); k1 and b from
runs on open sets of short requests (see tools/evaluate.py).
"""

from __future__ import annotations

from math import log
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from bot.match.query import Query, Slot
    from bot.match.records import Index, Posting, Sign

K1, B = 2.5, 0.5
"""Counts go on telling for longer, length weighs less, than in the usual 1.2 and 0.75:
a card is many phrases. Source: measured on two open sets, 20 phrases a card."""

MOST_CARDS = 50
"""Cards that are scored to the end."""

MOST_CLOSE = 12
"""The best cards of each part, whose signs are compared one by one."""

PART = 1.0
"""What the best part of a story counts beside the whole. Source: our choice."""

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
    """A question looked up once: postings, and how telling each term is.

    `rarest` is what a word counts that stands on no card.
    """

    postings: Mapping[str, Sequence[Posting]]
    idf: Mapping[str, float]
    rarest: float
    mean_length: float


class Scored(NamedTuple):
    """A card's score and what it is made of: `sign` numbers the closest sign."""

    card: str
    total: float
    bm25: float
    close: float
    sign: int


def look_up(query: Query, index: Index) -> Lookup:
    """The postings of all terms of the question."""
    cards, mean_length = index.size()
    wanted = {term for slot in query.slots for term, _ in slot.terms}
    found = index.postings(wanted)
    if cards > MANY_CARDS:
        kept = {t: p for t, p in found.items() if len(p) < COMMON_SHARE * cards}
        found = kept or found
    weights = {term: idf(cards, len(where)) for term, where in found.items()}
    return Lookup(found, weights, idf(cards, 0), mean_length)


def by_card(
    slots: Iterable[Slot], looked: Lookup, *, k1: float = K1, b: float = B
) -> dict[str, float]:
    """BM25 of every card that holds any of the slots; of a slot its best term."""
    totals: dict[str, float] = {}
    for slot in slots:
        best: dict[str, float] = {}
        for term, weight in slot.terms:
            worth = weight * looked.idf.get(term, 0.0)
            for card, count, length in looked.postings.get(term, ()):
                earned = worth * gain(count, length / looked.mean_length, k1, b)
                if earned > best.get(card, 0.0):
                    best[card] = earned
        for card, earned in best.items():
            totals[card] = totals.get(card, 0.0) + earned
    return totals


def different(slots: Iterable[Slot]) -> tuple[Slot, ...]:
    """The slots without those that say again what was said."""
    return tuple({slot.terms[0][0]: slot for slot in slots}.values())


def worth(slot: Slot, looked: Lookup) -> float:
    """The most that a slot could tell; a word on no card counts as the rarest."""
    known = [w * looked.idf[t] for t, w in slot.terms if t in looked.idf]
    return max(known, default=looked.rarest * slot.terms[0][1])


def meanings(
    slots: Iterable[Slot], looked: Lookup
) -> dict[str, tuple[tuple[int, float], ...]]:
    """By term: which slots it would meet, and what each would then have told."""
    table: dict[str, tuple[tuple[int, float], ...]] = {}
    for number, slot in enumerate(slots):
        for term, weight in slot.terms:
            worth = weight * looked.idf.get(term, 0.0)
            if worth:
                table[term] = (*table.get(term, ()), (number, worth))
    return table


def met(
    table: Mapping[str, Sequence[tuple[int, float]]], terms: Iterable[str]
) -> dict[int, float]:
    """The slots that a sign's terms meet, and what each tells; of a slot the best."""
    told: dict[int, float] = {}
    for term in terms:
        for number, worth in table.get(term, ()):
            if worth > told.get(number, 0.0):
                told[number] = worth
    return told


def total_worth(slots: Iterable[Slot], looked: Lookup) -> float:
    """The most that all the slots could tell."""
    return sum(worth(slot, looked) for slot in slots)


class Close(NamedTuple):
    """How alike the closest sign of a card is, from 0 to 1, and its number."""

    likeness: float
    sign: int


FAR = Close(0.0, 0)

Prepared = list[tuple[frozenset[str], int]]
"""A card's signs ready to be compared: all terms, and how many of them are its own."""


def prepared(signs: Iterable[Sign]) -> Prepared:
    """The signs ready to be compared; loose meanings are not their own terms."""
    return [
        (frozenset(sign.terms), sum(term[0] != "~" for term in sign.terms))
        for sign in signs
    ]


def closest(
    table: Mapping[str, Sequence[tuple[int, float]]], said: float, signs: Prepared
) -> Close:
    """The sign most like what was said; `said` is the most that this could tell.

    Likeness is the harmonic mean of two shares: how much of what was said the sign
    has, and how many of the sign's own terms were said.
    """
    best = FAR
    for number, (terms, own) in enumerate(signs):
        common = table.keys() & terms
        if not common:
            continue
        covered = min(1.0, sum(met(table, common).values()) / said)
        share = sum(term[0] != "~" for term in common) / max(1, own)
        likeness = 2.0 * covered * share / (covered + share)
        if likeness > best.likeness:
            best = Close(likeness, number)
    return best


class _Part(NamedTuple):
    """A part of the text, or all of it: BM25 and closest sign by card, and the most."""

    bm25: Mapping[str, float]
    close: Mapping[str, Close]
    top: float

    def likeness(self, card: str) -> float:
        """How alike the card's closest sign is."""
        return self.close.get(card, FAR).likeness

    def score(self, card: str) -> float:
        """BM25 beside the best card's, and likeness, together from 0 to 1."""
        return (self.bm25.get(card, 0.0) / self.top + self.likeness(card)) / 2.0


def scored(query: Query, index: Index, looked: Lookup) -> tuple[Scored, ...]:
    """Every card that was met, best first; whole text and best part together."""
    groups = (different(query.slots), *_parts(query.slots))
    tables = [by_card(slots, looked) for slots in groups]
    first = sorted(tables[0], key=lambda card: (-tables[0][card], card))[:MOST_CARDS]
    signs = {card: prepared(r.signs) for card, r in index.signs(first).items()}
    whole, *parts = [
        _Part(table, _close(slots, signs, table, looked), max(table.values()))
        for slots, table in zip(groups, tables, strict=True)
        if table
    ] or [_Part({}, {}, 1.0)]
    found = [_scored(card, whole, parts) for card in signs]
    return tuple(sorted(found, key=lambda s: (-s.total, s.card)))


def _scored(card: str, whole: _Part, parts: Sequence[_Part]) -> Scored:
    """One card's score; a part that tells little counts for less."""
    shares = [part.score(card) * (part.top / whole.top) ** 0.5 for part in parts]
    best = max(shares, default=0.0)
    close = max(part.close.get(card, FAR) for part in (whole, *parts))
    total = (whole.score(card) + PART * best) / (1.0 + PART)
    return Scored(card, total, whole.bm25[card], close.likeness, close.sign)


def _close(
    slots: Sequence[Slot],
    signs: Mapping[str, Prepared],
    bm25: Mapping[str, float],
    looked: Lookup,
) -> dict[str, Close]:
    """The closest sign of each of the best cards for a part."""
    table, said = meanings(slots, looked), total_worth(slots, looked)
    best = sorted(bm25, key=lambda card: (-bm25[card], card))[:MOST_CLOSE]
    return {card: closest(table, said, signs[card]) for card in best if card in signs}


def _parts(slots: Sequence[Slot]) -> list[tuple[Slot, ...]]:
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
