"""Plain words to cards: best first, each with a probability and the reason why."""

from collections.abc import Collection, Mapping, Sequence
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from bot.match import odds
from bot.match.bm25 import Lookup, by_pairs, different, look_up, total_worth
from bot.match.evidence import Evidence, evidence, letters, mean_and_spread, pairs
from bot.match.query import Query, ask
from bot.match.rows import Row, sample
from bot.match.score import MOST_CLOSE, Found, Scored, scored
from bot.match.taught import Learnt, Taught, learnt_of, nothing

if TYPE_CHECKING:
    from bot.language.line import Line
    from bot.match.records import Index

OFFER, PART = 0.75, 0.5
"""Above the first the card is offered; between the two one question should part the
cards; below the second nothing fits, for that is likelier then. Source: our choice."""

NOTICEABLE = 0.02
AT_LEAST = 10
"""Cards below 2 in 100 are left out, but ten are always given if that many were met."""

MOST_PRIOR = 1.3
"""The most that the club's own cases may add to a card's logit. Our choice."""

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


def rank(
    words: "Line | str",
    index: "Index",
    prior: Mapping[str, float] | None = None,
    taught: Taught = nothing,
) -> Ranking:
    """The cards that fit the words.

    Args:
        words: what the person typed, read already or any text at all.
        index: the shelf of cards.
        prior: card id to 0..1, how often the club's cases ended there.
        taught: which words went with which card in those cases.
    """
    query = ask(words, index)
    looked = look_up(query, index)
    learnt = learnt_of(query.slots, looked, index, taught)
    said = families(query, looked, index)
    also = (*by_pairs(said.pairs, looked), *index.numbers(learnt.alike).values())
    found = scored(query, index, looked, also)
    told = told_by(said, looked, found)
    order = weighed(found.cards, told)
    own = _own_signs(query, order, found) if learnt.marked or learnt.alike else {}
    order = _preferred(order, prior or {}, learnt, own)
    sure = 0.0
    if order:
        by_words = odds.some_card_fits(seen(query, order, looked, told))
        sure = odds.either(by_words, learnt.sure(order[0].card))
    chances = [sure * share for share in odds.shares([s.total for s in order])]
    kept = [p for n, p in enumerate(chances) if n < AT_LEAST or p >= NOTICEABLE]
    likely = tuple(
        Candidate(
            s.card,
            found.records[s.card].title,
            p,
            (*learnt.why(s.card), *why(query, s.card, found)),
        )
        for s, p in zip(order, kept, strict=False)
    )
    return Ranking(
        likely,
        1.0 - sure,
        sure >= PART,
        max(0.0, sure - sum(kept)),
        query.understood,
        query.absent,
        query.parts,
        query.cut,
    )


class Families(NamedTuple):
    """The rows of the features of a text: of terms, pairs, and runs of letters.

    `pairs_known` is the share of the pairs that stand on any card.
    """

    terms: Sequence[Row]
    pairs: Sequence[Row]
    runs: Sequence[Row]
    pairs_known: float


def families(query: Query, looked: Lookup, index: "Index") -> Families:
    """Where the features of a text stand; those that stand nowhere are missing.

    What is said not to be there is left out: few signs tell what was not noticed.
    """
    told = [slot for slot in query.slots if not slot.terms[0][0].startswith(ABSENT)]
    terms = sorted({term for slot in told for term, _ in slot.terms})
    said = pairs(slot.terms[0][0] for slot in told)
    gone = {slot.said for slot in query.slots if slot not in told}
    runs = letters(word for word in query.words if word not in gone)
    found = index.rows((*said, *runs))
    of_pairs = [found[pair] for pair in said if pair in found]
    return Families(
        [looked.rows[term] for term in terms if term in looked.rows],
        of_pairs,
        [found[run] for run in runs if run in found],
        len(of_pairs) / max(1, len(said)),
    )


def told_by(said: Families, looked: Lookup, found: Found) -> Evidence:
    """What speaks for each card that was found, and against it."""
    some = sample(looked.shelf.numbers())
    asked = list(dict.fromkeys((*some, *found.numbers.values())))
    values = evidence(said[:3], looked.shelf.signs, looked.shelf.pages, asked)
    of = {card: values[number] for card, number in found.numbers.items()}
    return Evidence(of, *mean_and_spread([values[n] for n in some]), said.pairs_known)


ABSENT = "abs:"
"""How a term begins that was said not to be there."""


def weighed(cards: Sequence[Scored], told: Evidence) -> tuple[Scored, ...]:
    """The cards with the keyword score and the evidence as one logit, best first."""
    found = (
        card._replace(
            total=odds.ON_KEYWORDS * card.total
            + odds.ON_EVIDENCE * told.of.get(card.card, 0.0)
        )
        for card in cards
    )
    return tuple(sorted(found, key=lambda f: (-f.total, f.card)))


def seen(
    query: Query, cards: Sequence[Scored], looked: Lookup, told: Evidence
) -> tuple[float, ...]:
    """What the probability is worked out from; `cards` is not empty."""
    first = cards[0]
    slots = different(query.slots)
    coverage = first.bm25 / max(total_worth(slots, looked), 1e-9)
    telling = [slot for slot in slots if not slot.small]
    known = sum(any(t in looked.idf for t, _ in slot.terms) for slot in telling)
    share = known / max(1, len(telling))
    return odds.features(
        odds.First(first.bm25 / looked.rarest, coverage, first.close),
        share,
        told.stands_out(first.card),
        told.pairs_known,
    )


def _preferred(
    found: Sequence[Scored],
    prior: Mapping[str, float],
    learnt: Learnt,
    own: Mapping[str, float],
) -> tuple[Scored, ...]:
    """The cards with what earlier cases say of them and of these words added.

    `own` says how nearly one of a card's own signs was said, where that is asked for.
    What was learnt lifts no card over one of whose own signs was said, and more nearly
    than one of its own: nobody's jobs can hide a page from its own words.
    """
    lifted: list[Scored] = []
    nearly = {card.card: max(card.close, own.get(card.card, 0.0)) for card in found}
    for card in found:
        more = MOST_PRIOR * min(1.0, prior.get(card.card, 0.0))
        more += learnt.lift(card.card, found[0].total - card.total)
        ahead = [
            c.total
            for c in lifted
            if nearly[c.card] >= OWN_SIGN and nearly[c.card] > nearly[card.card]
        ]
        total = max(card.total, min(card.total + more, *ahead, inf))
        lifted.append(card._replace(total=total))
    return tuple(sorted(lifted, key=lambda f: -f.total))


def _own_signs(
    query: Query, cards: Sequence[Scored], found: Found
) -> Mapping[str, float]:
    """How alike the whole text is, letter for letter, to a sign of the first cards."""
    from rapidfuzz import fuzz, process  # slow to load, and seldom needed

    said = " ".join(query.words)
    alike: dict[str, float] = {}
    for card in cards[:MOST_CLOSE]:
        texts = [s.text.lower() for s in found.records[card.card].signs if not s.of]
        best = process.extractOne(said, texts, scorer=fuzz.token_sort_ratio)
        alike[card.card] = best[1] / 100.0 if best else 0.0
    return alike


OWN_SIGN = 0.8
"""So alike the closest sign is where it was all but said. Our choice."""


def why(query: Query, card: str, found: Found) -> tuple[str, ...]:
    """Which of the person's words met which sign of the card, in plain English."""
    told: dict[int, dict[str, float]] = {}
    for slot, hits in zip(query.slots, found.hits, strict=True):
        if not slot.small:
            for sign, worth in hits[card].items():
                words = told.setdefault(sign, {})
                words[slot.said] = max(words.get(slot.said, 0.0), worth)
    little = {slot.said for slot in query.slots if slot.little}
    signs = found.records[card].signs
    ranked = sorted(
        (n for n in told if not signs[n].of), key=lambda n: (-sum(told[n].values()), n)
    )
    reasons: list[str] = []
    seen_: set[str] = set()
    for number in ranked[: 2 * MOST_REASONS]:
        said = _said(told[number], little)
        if set(said) - seen_ and len(reasons) < MOST_REASONS:
            seen_.update(said)
            words_ = ", ".join(f'"{word}"' for word in said)
            what = "sign" if number else "title"
            shown = _about(signs[number].text, said)
            reasons.append(f'{words_} met the {what} "{shown}"')
    return tuple(reasons)


MOST_LETTERS, BEFORE, STEM = 90, 30, 4
"""Of a long-winded sign so many letters are quoted, some of them before the first word
that was met, which is known by its first four. Our choice."""


def _about(text: str, said: Sequence[str]) -> str:
    """A text; of a long one the part about the words that met it."""
    if len(text) <= MOST_LETTERS:
        return text
    low = text.lower()
    places = [low.find(word[:STEM]) for words in said for word in words.split()]
    first = min((place for place in places if place >= 0), default=0)
    at = text.rfind(" ", 0, max(first - BEFORE, 0)) + 1
    part = text[at : at + MOST_LETTERS]
    cut = part if at + MOST_LETTERS >= len(text) else f"{part.rpartition(' ')[0]} ..."
    return f"... {cut}" if at else cut


def _said(worths: Mapping[str, float], little: Collection[str]) -> list[str]:
    """The person's words that met a sign, the most telling first, none twice.

    `little` words say nothing as a reason, but beside others.
    """
    ranked = sorted(worths, key=lambda said: (-worths[said], said))
    ranked = [said for said in ranked if said not in little] or ranked
    inside = [s for s in ranked if any(s != o and s in o.split() for o in ranked)]
    return [said for said in ranked if said not in inside][:MOST_WORDS]
