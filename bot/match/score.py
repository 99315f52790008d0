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
    from bot.match.records import Index, Posting, Record, Sign

K1, B = 2.5, 0.5
"""Counts go on telling for longer, length weighs less, than in the usual 1.2 and 0.75:
a card is many phrases. Source: measured on two open sets, 20 phrases a card."""

ON_SIGN, ON_LIKENESS = 0.2, 0.3
MIXED = 1.0 + ON_SIGN + ON_LIKENESS
"""What the closest sign adds to the whole card. Source: our choice, between what open
sets like (more) and what signs like that have no near neighbour (nothing)."""

MOST_CARDS = 50
"""Cards whose signs are compared one by one."""

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


def by_card(slots: Iterable[Slot], looked: Lookup) -> dict[str, float]:
    """BM25 of every card that holds any of the slots; of a slot its best term."""
    totals: dict[str, float] = {}
    for slot in slots:
        best: dict[str, float] = {}
        for term, weight in slot.terms:
            worth = weight * looked.idf.get(term, 0.0)
            for card, count, length in looked.postings.get(term, ()):
                earned = worth * gain(count, length / looked.mean_length)
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


def closest(
    table: Mapping[str, Sequence[tuple[int, float]]],
    said: float,
    signs: Sequence[Sign],
    looked: Lookup,
) -> tuple[float, float, int]:
    """The best sign of a card: what it earns, its likeness from 0 to 1, its number."""
    best = (0.0, 0.0, 0)
    for number, sign in enumerate(signs):
        mass = sum(met(table, sign.terms).values())
        if mass:
            length = len(sign.terms)
            earned = mass * gain(1.0, length / MEAN_SIGN)
            likeness = 2.0 * mass / (said + length * PLAIN_WORTH * looked.rarest + mass)
            best = max(best, (earned, min(1.0, likeness), number))
    return best


MEAN_SIGN = 8.0
"""Terms in a sign of usual length. Source: our cards."""

PLAIN_WORTH = 0.5
"""What a term of a sign is taken to tell, as a share of the rarest."""


def scored(query: Query, index: Index, looked: Lookup) -> tuple[Scored, ...]:
    """Every card that was met, best first; whole text and best part together."""
    whole = different(query.slots)
    groups = _parts(query.slots)
    tables = [by_card(slots, looked) for slots in (whole, *groups)]
    first = sorted(tables[0], key=lambda card: (-tables[0][card], card))[:MOST_CARDS]
    records = index.signs(first)
    fits = [_fits(slots, records, looked) for slots in (whole, *groups)]
    totals = [_mixed(t, f) for t, f in zip(tables, fits, strict=True)]
    strength = max(tables[0].values(), default=1.0)
    out = []
    for card in records:
        part = max(
            (
                total[card] * (max(table.values(), default=0.0) / strength) ** 0.5
                for total, table in zip(totals[1:], tables[1:], strict=True)
                if card in total
            ),
            default=totals[0][card],
        )
        sign = max(fit[card] for fit in fits)
        out.append(
            Scored(
                card,
                (totals[0][card] + PART * part) / (1.0 + PART),
                tables[0].get(card, 0.0),
                max(fit[card][1] for fit in fits),
                sign[2],
            )
        )
    return tuple(sorted(out, key=lambda s: (-s.total, s.card)))


def _fits(
    slots: Sequence[Slot], records: Mapping[str, Record], looked: Lookup
) -> dict[str, tuple[float, float, int]]:
    """The closest sign of every card."""
    table, said = meanings(slots, looked), total_worth(slots, looked)
    return {
        card: closest(table, said, record.signs, looked)
        for card, record in records.items()
    }


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


def _mixed(
    table: Mapping[str, float], fits: Mapping[str, tuple[float, float, int]]
) -> dict[str, float]:
    """Card, closest sign and likeness as one figure from 0 to 1."""
    top = max(table.values(), default=0.0) or 1.0
    best = max((fit[0] for fit in fits.values()), default=0.0) or 1.0
    return {
        card: (
            table.get(card, 0.0) / top + ON_SIGN * fit[0] / best + ON_LIKENESS * fit[1]
        )
        / MIXED
        for card, fit in fits.items()
    }
