"""BM25 of cards: what words tell, what they earn on a card, which cards earn most.

Okapi BM25 with the idf that never falls to nothing, log(1 + (N - n + 0.5)/(n + 0.5)):
in fifty cards of which forty speak of air, "air" must still count. Source: Robertson
and Zaragoza 2009, "The Probabilistic Relevance Framework" (from memory). In place of
the length of a text stands the number of signs: what counts is how large a part of them
speaks of a thing, so that a card with twelve does not drown beside one with eighty.
"""

from collections.abc import Iterable, Mapping, Sequence
from heapq import nlargest
from math import fsum, log
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from bot.match.query import Query, Slot
from bot.match.rows import Row, Shelf, by_block

if TYPE_CHECKING:
    from bot.match.records import Index

K1 = 5.0
"""Counts go on telling for longer than with the usual 1.2: a card is many phrases.
Source: measured on two development sets with pages of 12 signs among pages of 80; from
2.5 to 5 it makes little difference."""


def idf(cards: int, holding: int) -> float:
    """How telling a term is that `holding` of `cards` hold; never 0."""
    return log(1.0 + (cards - holding + 0.5) / (holding + 0.5))


def gain(count: float, k1: float = K1) -> float:
    """What `count` mentions on a card of mean size earn; less than `k1` + 1."""
    return count * (k1 + 1.0) / (count + k1)


BESIDE = 2.0
"""Signs of the mean card that every card is taken to have beside its own, for one with
a single sign not to outdo all. Source: measured as `evidence.SHRINK`."""


class Lookup(NamedTuple):
    """A question looked up once.

    Attributes:
        rows: where each term stands.
        idf: how telling it is.
        rarest: what a word counts that stands on no card.
        shelf: all cards.
        rates: by number of signs, what a card's counts are multiplied by, as if all
            cards had as many.
    """

    rows: Mapping[str, Row]
    idf: Mapping[str, float]
    rarest: float
    shelf: Shelf
    rates: Mapping[int, float]


def look_up(query: Query, index: "Index") -> Lookup:
    """The rows of all terms of the question, and what they tell."""
    shelf = index.shelf()
    cards = shelf.pages
    rows = index.rows({term for slot in query.slots for term, _ in slot.terms})
    told = {term: idf(cards, row.pages()) for term, row in rows.items()}
    mean = sum(shelf.signs) / max(1, cards)
    rates = {n: (mean + BESIDE) / (n + BESIDE) for n in {*shelf.signs}}
    return Lookup(rows, told, idf(cards, 0), shelf, rates)


def earned_on(
    slot: Slot, looked: Lookup, cards: Mapping[int, Sequence[int]]
) -> dict[int, float]:
    """What a slot earns by its best term on those of some cards that it stands on.

    `cards`: by block.
    """
    known = known_terms(slot, looked)
    return _best_of(((row.counts_among(cards), told) for row, told in known), looked)


def earned(slot: Slot, looked: Lookup) -> dict[int, float]:
    """What a slot earns by its best term on each card that it stands on."""
    known = known_terms(slot, looked)
    return _best_of(((row.counts(), told) for row, told in known), looked)


def _best_of(
    terms: Iterable[tuple[Iterable[tuple[int, float]], float]], looked: Lookup
) -> dict[int, float]:
    """By card the most that any of some terms earns: its counts, and what it tells."""
    best: dict[int, float] = {}
    rates, signs = looked.rates, looked.shelf.signs
    for counts, weight in terms:
        most = weight * (K1 + 1.0)
        for card, count in counts:
            rated = count * rates[signs[card]]
            told = most * rated / (rated + K1)  # `gain`, without a call for each card
            if told > best.get(card, 0.0):
                best[card] = told
    return best


def known_terms(slot: Slot, looked: Lookup) -> list[tuple[Row, float]]:
    """The rows of a slot's terms, with what a term tells; unknown terms are missing."""
    known = ((looked.rows.get(term), term, weight) for term, weight in slot.terms)
    return [(row, weight * looked.idf[term]) for row, term, weight in known if row]


def best_cards(slots: Sequence[Slot], looked: Lookup, most: int) -> dict[int, float]:
    """The cards that some slots earn most on, and how much.

    The most telling slots come first. Once what is left could not bring a card that
    they did not meet among the best, or a thousand were met, it is only looked up for
    the best of those that they met. Source: MaxScore, Turtle and Flood 1995, and the
    limit of Moffat and Zobel 1996 (both from memory); exact up to a thousand cards.
    """
    ranked = sorted(slots, key=lambda slot: -worth(slot, looked))
    bounds = [gain_at_most(slot, looked) for slot in ranked]
    totals: dict[int, float] = {}
    for at, slot in enumerate(ranked):
        rest = fsum(bounds[at:])
        least = nlargest(most, totals.values())[-1] if len(totals) >= most else 0.0
        if rest < least or len(totals) >= MOST_MET:
            totals = {
                card: totals[card]
                for card in nlargest(MOST_MET, totals, key=totals.__getitem__)
                if totals[card] + rest >= least
            }
            told = earned_on(slot, looked, by_block(totals))
        else:
            told = earned(slot, looked)
        for card, more in told.items():
            totals[card] = totals.get(card, 0.0) + more
    return {card: totals[card] for card in first_of(totals, most)}


def by_pairs(rows: Iterable[Row], looked: Lookup) -> list[int]:
    """The cards that have the most telling of some pairs, however often.

    A sign said word for word is so found on a card of a hundred others. The rarest
    pairs come first; what comes after a thousand cards were met tells little.
    """
    totals: dict[int, float] = {}
    for row in sorted(rows, key=Row.pages):
        if len(totals) >= MOST_MET:
            break
        told = idf(looked.shelf.pages, row.pages())
        for card, _ in row.own():
            totals[card] = totals.get(card, 0.0) + told
    ranked = nlargest(MOST_BY_PAIRS + 1, totals.values())
    least = ranked[-1] if len(ranked) > MOST_BY_PAIRS else 0.0
    return [card for card, told in totals.items() if told > least]


MOST_BY_PAIRS = 6
"""At most so many cards come in play by the pairs that they have; where several have
as much as the next, none of these. Source: measured, for each sign to find its page."""

MOST_MET = 1_000
"""Above so many cards no further ones are looked for. Our choice."""


def gain_at_most(slot: Slot, looked: Lookup) -> float:
    """What a slot cannot earn more than on any card."""
    thinnest = max(looked.rates.values(), default=1.0)
    known = known_terms(slot, looked)
    told = (weight * gain(row.most() * thinnest) for row, weight in known)
    return max(told, default=0.0)


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


Card = TypeVar("Card", int, str)


def first_of(table: Mapping[Card, float], most: int) -> list[Card]:
    """The cards that earned most, the best first."""
    return sorted(table, key=lambda card: (-table[card], card))[:most]
