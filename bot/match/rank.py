"""Plain words to cards: best first, each with a probability and the reason why."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from bot.match import odds
from bot.match.query import Query, ask
from bot.match.score import (
    Lookup,
    Scored,
    different,
    look_up,
    meanings,
    met,
    scored,
    total_worth,
)
from bot.match.text import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from bot.match.query import Slot
    from bot.match.records import Index, Record

OFFER, PART = 0.75, 0.35
"""Above the first the card is offered; between the two one question should part the
cards; below the second nothing fits. Source: refusal runs on open sets."""

NOTICEABLE = 0.02
AT_LEAST = 10
"""Cards below 2 in 100 are left out, but ten are always given if that many were met."""

MOST_PRIOR = 0.1
"""The most that the club's own cases may add to a score."""

MOST_REASONS, MOST_WORDS = 3, 5


class Candidate(NamedTuple):
    """A card that may fit, and why."""

    card: str
    title: str
    probability: float
    why: tuple[str, ...]


class Ranking(NamedTuple):
    """The cards for some words, best first.

    `none`: the probability that no card fits; with the cards' it sums to 1 (cards left
    out of `cards` are in `rest`). `understood`: how words were read; `absent`: faults
    said not to be there; `parts`: the clauses; `cut`: whether the text was too long.
    """

    cards: tuple[Candidate, ...]
    none: float
    fits: bool
    rest: float = 0.0
    understood: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    cut: bool = False


def rank(words: str, index: Index, prior: Mapping[str, float] | None = None) -> Ranking:
    """The cards that fit the words.

    Args:
        words: what the person typed; any text at all.
        index: the shelf of cards.
        prior: card id to 0..1, how often the club's cases ended there.
    """
    query = ask(words, index)
    looked = look_up(query, index)
    found = _preferred(scored(query, index, looked), prior or {})
    sure = odds.some_card_fits(seen(query, found, looked)) if found else 0.0
    chances = [sure * share for share in odds.shares([f.total for f in found])]
    kept = [p for n, p in enumerate(chances) if n < AT_LEAST or p >= NOTICEABLE]
    records = index.signs([f.card for f in found[: len(kept)]])
    cards = tuple(
        Candidate(f.card, records[f.card].title, p, why(query, records[f.card], looked))
        for f, p in zip(found, kept, strict=False)
    )
    return Ranking(
        cards,
        1.0 - sure,
        sure >= PART,
        max(0.0, sure - sum(kept)),
        query.understood,
        query.absent,
        query.parts,
        query.cut,
    )


def seen(
    query: Query, found: Sequence[Scored], looked: Lookup
) -> tuple[float, float, float, float]:
    """What the probability is worked out from; `found` is not empty."""
    first = found[0]
    second = found[1].total if len(found) > 1 else 0.0
    margin = (first.total - second) / max(first.total, 1e-9)
    said = total_worth(different(query.slots), looked)
    coverage = first.bm25 / max(said, 1e-9)
    return odds.features(first.bm25 / looked.rarest, margin, coverage, first.close)


def _preferred(
    found: Sequence[Scored], prior: Mapping[str, float]
) -> tuple[Scored, ...]:
    """The cards with what is known of them beforehand added, at most a tenth."""
    lifted = [
        f._replace(total=f.total * (1 + MOST_PRIOR * min(1.0, prior.get(f.card, 0.0))))
        for f in found
    ]
    return tuple(sorted(lifted, key=lambda f: (-f.total, f.card)))


def why(query: Query, record: Record, looked: Lookup) -> tuple[str, ...]:
    """Which of the person's words met which sign of the card, in plain English."""
    slots = [slot for slot in query.slots if slot.said not in GRAMMAR]
    table = meanings(slots, looked)
    hits = [met(table, sign.terms) for sign in record.signs]
    ranked = sorted(range(len(hits)), key=lambda n: (-sum(hits[n].values()), n))
    reasons: list[str] = []
    told: set[str] = set()
    for number in ranked[: 2 * MOST_REASONS]:
        said = _said(slots, hits[number])
        if set(said) - told and len(reasons) < MOST_REASONS:
            told.update(said)
            words = ", ".join(f'"{word}"' for word in said)
            what = "sign" if number else "title"
            reasons.append(f'{words} met the {what} "{record.signs[number].text}"')
    return tuple(reasons)


def _said(slots: Sequence[Slot], told: Mapping[int, float]) -> list[str]:
    """The person's words that met a sign, the most telling first, none twice."""
    worths: dict[str, float] = {}
    for number, value in told.items():
        said = slots[number].said
        worths[said] = max(worths.get(said, 0.0), value)
    ranked = sorted(worths, key=lambda said: (-worths[said], said))
    inside = [s for s in ranked if any(s != o and s in o.split() for o in ranked)]
    return [said for said in ranked if said not in inside][:MOST_WORDS]
