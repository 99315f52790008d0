"""Which words go with which card, learnt from jobs whose cause was found.

A term goes with a card when it was said in jobs that ended there markedly more often
than in all others: log-odds with an informative Dirichlet prior, ranked by z and never
by the ratio alone. Source: Monroe, Colaresi and Quinn 2008, "Fightin' words" (first
page seen, formula from memory).

Only words that a card does not have are learnt for it: those it has count by the text
already. What is learnt only ever lifts a card that the other words met, and only so
far; words of which nothing was learnt rank as before, to the last bit. No card is
lifted over one of whose own signs was said (`rank`).
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from math import log, prod, sqrt
from typing import TYPE_CHECKING, NamedTuple

from bot.match.query import Slot, ask

if TYPE_CHECKING:
    from bot.match.records import Index

Lessons = Mapping[str, Mapping[str, float]]
"""By term: by card how strongly they go together, above 0 and below 1."""

Taught = Callable[[Collection[str]], Lessons]
"""What was learnt of some terms."""

MOST_LIFT = 0.15
"""The most that what was learnt adds to a card's score. Our choice, no source."""

PRIOR_WEIGHT = 20.0
"""How many jobs the words of all jobs together weigh as much as. Our choice."""

MARKED = 1.96
"""The z from which on a term goes with a card: one in forty by chance alone."""

FEWEST_WITNESSES = 3


class Told(NamedTuple):
    """A job whose cause was found: the terms said, the card, and who tells of it.

    The truck's own keeper is another witness in each job, any other person one only.
    """

    terms: frozenset[str]
    card: str
    witness: str


def terms_said(words: str, index: "Index") -> frozenset[str]:
    """The telling terms of a complaint."""
    slots = ask(words, index).slots
    return frozenset(_term(slot) for slot in slots if not slot.small)


def _term(slot: Slot) -> str:
    """What was said; of one word the word itself, not what it was taken to mean."""
    return slot.terms[0][0] if " " in slot.said else slot.stem


def z_score(here: float, of: float, elsewhere: float, of_others: float) -> float:
    """How markedly a term belongs to a card.

    Args:
        here: jobs on the card that it was said in.
        of: jobs on the card.
        elsewhere: jobs on other cards that it was said in; with `here` above 0.
        of_others: jobs on other cards.

    >>> round(z_score(4, 10, 3, 190), 3), round(z_score(1, 10, 0, 190), 3)
    (3.364, 1.326)
    """
    if here + elsewhere >= of + of_others:  # said in every job: it tells nothing
        return 0.0
    prior = PRIOR_WEIGHT * (here + elsewhere) / (of + of_others)
    mine, theirs = here + prior, elsewhere + prior
    ratio = log(mine / (of + PRIOR_WEIGHT - mine))
    ratio -= log(theirs / (of_others + PRIOR_WEIGHT - theirs))
    return ratio / sqrt(1.0 / mine + 1.0 / theirs)


def lessons(told: Sequence[Told]) -> dict[str, dict[str, float]]:
    """What the jobs teach: strength 0 at the z that is barely marked, towards 1."""
    found: dict[str, dict[str, float]] = {}
    jobs = _counted(job.card for job in told)
    for term in sorted({term for job in told for term in job.terms}):
        said = [job for job in told if term in job.terms]
        for card in sorted({job.card for job in said}):
            own = [job for job in said if job.card == card]
            if len({job.witness for job in own}) < FEWEST_WITNESSES:
                continue
            rest = len(told) - jobs[card]
            z = z_score(len(own), jobs[card], len(said) - len(own), rest)
            if z > MARKED:
                found.setdefault(term, {})[card] = 1.0 - MARKED / z
    return found


def _counted(names: Iterable[str]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for name in names:
        counts[name] = counts.get(name, 0) + 1
    return counts


def lift(slots: Sequence[Slot], taught: Taught) -> Mapping[str, float]:
    """By card what its score is multiplied by; cards not named stay as they are."""
    terms = {_term(slot) for slot in slots}
    by_card: dict[str, list[float]] = {}
    for strengths in taught(terms).values():
        for card, strength in strengths.items():
            by_card.setdefault(card, []).append(1.0 - strength)
    return {
        card: 1.0 + MOST_LIFT * (1.0 - prod(doubts)) for card, doubts in by_card.items()
    }


def new_words(learnt: Lessons, index: "Index") -> Lessons:
    """The lessons for cards that do not have the word themselves."""
    where = index.postings(learnt)
    has = {
        term: {post[0] for post in found if post[1]} for term, found in where.items()
    }
    return {
        term: {c: s for c, s in cards.items() if c not in has.get(term, ())}
        for term, cards in learnt.items()
    }


def nothing(terms: Collection[str]) -> Lessons:
    """Nothing was learnt."""
    return {}


def in_memory(learnt: Lessons) -> Taught:
    """Lessons that are held in memory."""
    return lambda terms: {term: learnt[term] for term in terms if term in learnt}
