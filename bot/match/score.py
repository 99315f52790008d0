"""The keyword score of cards: the whole text, its best part, the closest sign."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from bot.match.bm25 import (
    Lookup,
    best_cards,
    different,
    earned_on,
    first_of,
    known_terms,
    total_worth,
)
from bot.match.query import Query, Slot
from bot.match.records import Record, Sign
from bot.match.rows import by_block

if TYPE_CHECKING:
    from bot.match.records import Index

MOST_CARDS = 12
"""Cards that are scored to the end for what they earn, beside those of `bm25.by_pairs`.
Source: measured; with as many more the same cards were found."""

MOST_CLOSE = 8
"""The best cards of each part, whose signs are compared one by one."""

MOST_PARTS = 12
"""Parts of a story that are weighed for themselves, those that tell most. Our choice:
nobody tells of more things at once, and what is pasted may have hundreds."""

PART = 1.0
"""What the best part of a story counts beside the whole. Source: our choice."""

PHRASE = 0.5
"""What the nearness of the whole text to the nearest sign counts beside the rest.
Source: measured on two open sets; anything from 0.25 to 1 is as good."""


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
    """Cards best first; the records of them; the hits of each slot of the question.

    `numbers`: those of the cards.
    """

    cards: tuple[Scored, ...]
    records: Mapping[str, Record]
    hits: Sequence[Hits]
    numbers: Mapping[str, int]


def hits_of(slot: Slot, looked: Lookup, cards: Mapping[str, int]) -> Hits:
    """Which signs of the cards a slot meets, and what it tells there.

    `cards`: with their numbers.
    """
    found: Hits = {}
    terms = known_terms(slot, looked)
    for card, number in cards.items():
        best: dict[int, float] = {}
        for row, told in terms:
            for sign in row.signs_on(number):
                if told > best.get(sign, 0.0):
                    best[sign] = told
        found[card] = best
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
    query: Query, index: "Index", looked: Lookup, also: Iterable[int] = ()
) -> Found:
    """The cards that were met best, best first; whole text, best part, closest sign.

    `also` are cards to be scored though nothing on them may have been met.
    """
    whole = different(query.slots)
    first = [*best_cards(whole, looked, MOST_CARDS)]
    first = list(dict.fromkeys((*first, *also)))
    kept = index.records(first)
    records = {record.id: record for record in kept.values()}
    numbers = {record.id: number for number, record in kept.items()}
    hits = [hits_of(slot, looked, numbers) for slot in query.slots]
    by_slot = {id(slot): hit for slot, hit in zip(query.slots, hits, strict=True)}
    places = by_block(first)
    gains = {id(slot): earned_on(slot, looked, places) for slot in query.slots}
    told = []
    for slots in (whole, *_parts(query.slots)):
        table = _sums(gains[id(slot)] for slot in slots)
        bm25 = {card: table[n] for card, n in numbers.items() if n in table}
        told.append((slots, bm25))
    told[1:] = sorted(told[1:], key=lambda part: -max(part[1].values(), default=0.0))
    parts = [
        _part(
            bm25, [by_slot[id(s)] for s in slots], total_worth(slots, looked), records
        )
        for slots, bm25 in told[: 1 + MOST_PARTS]
    ]
    cards = [_scored(card, parts) for card in records]
    said = " ".join(slot.terms[0][0] for slot in whole)
    cards = _phrased(sorted(cards, key=_order), said, records)
    return Found(tuple(sorted(cards, key=_order)), records, hits, numbers)


def _sums(tables: Iterable[Mapping[int, float]]) -> dict[int, float]:
    """The values of all tables by card added up."""
    totals: dict[int, float] = {}
    for table in tables:
        for card, value in table.items():
            totals[card] = totals.get(card, 0.0) + value
    return totals


def _order(found: Scored) -> tuple[float, str]:
    return -found.total, found.card


def _part(
    bm25: Mapping[str, float],
    hits: Sequence[Hits],
    said: float,
    records: Mapping[str, Record],
) -> _Part:
    """What some of the slots say by themselves."""
    close = _close(hits, said, first_of(bm25, MOST_CLOSE), records)
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
    words = frozenset(said.split())
    letters = sum(map(len, words))
    for number, card in enumerate(cards):
        alike = 0.0
        if number < MOST_CLOSE:
            signs = records[card.card].signs
            alike = max([nearness(words, letters, s.terms) for s in signs if not s.of])
        total = (card.total + PHRASE * alike) / (1.0 + PHRASE)
        found.append(card._replace(total=total))
    return found


def nearness(said: Collection[str], letters: int, sign: str) -> float:
    """How near two phrases are by the letters of the words that both have, 0 to 1.

    1 where one has all words of the other. `letters`: how many `said` has.

    >>> nearness({"low", "air"}, 6, "air"), nearness({"low", "air"}, 6, "low oil well")
    (1.0, 0.6666666666666666)
    """
    both = sum([len(word) for word in sign.split() if word in said])
    whole = len(sign) - sign.count(" ")
    return 2.0 * both / (both + min(letters, whole)) if both else 0.0


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
