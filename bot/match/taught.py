"""Which words go with which card, learnt from jobs whose cause was found.

In two ways. A term goes with a card when it was said in jobs that ended there markedly
more often than in all others: log-odds with an informative Dirichlet prior, ranked by z
and never by the ratio alone. Source: Monroe, Colaresi and Quinn 2008, "Fightin' words"
(first page seen, formula from memory). And where the person gave leave, the words of a
job are kept as they were said, so that the like of them find its card again.

Only words that a card does not have are learnt for it as terms: those it has count by
the text already. What is learnt only ever lifts a card that the other words met, and
only so far; words of which nothing was learnt rank as before, to the last bit. No card
is lifted over one of whose own signs was said (`rank`).
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from math import log, prod, sqrt
from typing import TYPE_CHECKING, NamedTuple

from bot.match.bm25 import different, worth
from bot.match.query import Slot, ask

if TYPE_CHECKING:
    from bot.match.bm25 import Lookup
    from bot.match.records import Index


class Kept(NamedTuple):
    """Words that were kept: of which job, for which card, and their telling terms.

    What another member shared has a number below 0.
    """

    job: int
    card: str
    terms: frozenset[str]


class Lessons(NamedTuple):
    """What closed jobs tell of some terms.

    Attributes:
        jobs: by card how many jobs ended there; of all cards.
        said: by term: by card in how many of its jobs it was said.
        kept: the kept words that have at least one of the terms.
    """

    jobs: Mapping[str, int]
    said: Mapping[str, Mapping[str, int]]
    kept: Sequence[Kept] = ()


NOTHING = Lessons({}, {})

Taught = Callable[[Collection[str]], Lessons]
"""What was learnt of some terms."""

MOST_TAUGHT = 2.0
"""The most that words learnt for a card may add to its logit. Our choice."""

AHEAD = 1.5
"""So far the very words of a kept job put its card before the first one; words that
are less like them go less of that way, by the square of the likeness. Source: measured
on development queries of which one a page was kept. By the same words its page was
first in .87, and always then; by other words first as often as before (.864), and among
three a little more often (.971 and .974), also where one in five was kept for a page
that it did not belong to."""

PRIOR_WEIGHT = 20.0
"""How many jobs the words of all jobs together weigh as much as. Our choice."""

MARKED = 1.96
"""The z from which on a term goes with a card: one in forty by chance alone."""

FEWEST_JOBS = 3
"""Fewer jobs of a card that a term was said in teach nothing of it. Our choice."""

SURE_KEPT = 0.9
"""How sure a page fits whose kept words are said again. Our choice."""

MUCH_ALIKE = 0.5
"""From so like on kept words are told of as a reason. Our choice."""

FEWEST_ALIKE = 2
"""Fewer terms in common are no likeness, unless no more were kept. Our choice."""


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


class Alike(NamedTuple):
    """How like the words of a job that were kept are, from 0 to 1, and which job."""

    likeness: float
    job: int


class Learnt(NamedTuple):
    """By card: what its words taught, above 0 and below 1, and the likest kept ones."""

    marked: Mapping[str, float]
    alike: Mapping[str, Alike]

    def likeness(self, card: str) -> float:
        """How like its kept words are; 0 where none were kept."""
        return self.alike[card].likeness if card in self.alike else 0.0

    def lift(self, card: str, behind: float) -> float:
        """What is added to a card's logit; 0 for one of which nothing was learnt.

        `behind` is how far its logit is behind that of the first card.
        """
        by_terms = MOST_TAUGHT * self.marked.get(card, 0.0)
        return by_terms + (behind + AHEAD) * self.likeness(card) ** 2

    def sure(self, card: str) -> float:
        """How sure kept words alone make it that a card fits."""
        return SURE_KEPT * self.likeness(card) ** 2

    def why(self, card: str) -> tuple[str, ...]:
        """Why a card is lifted by kept words, where they are much like what is said."""
        if self.likeness(card) < MUCH_ALIKE:
            return ()
        job = self.alike[card].job
        whose = f"in the words kept of job {job}" if job > 0 else "another member said"
        return (f"much as {whose}",)


def learnt_of(
    slots: Sequence[Slot], looked: "Lookup", index: "Index", taught: Taught
) -> Learnt:
    """What closed jobs taught of what was said now."""
    telling = [slot for slot in slots if not slot.small]
    lessons = taught({_term(slot) for slot in telling})
    return Learnt(
        _marked(lessons, looked, index), _alike(telling, looked, lessons.kept)
    )


def _marked(lessons: Lessons, looked: "Lookup", index: "Index") -> dict[str, float]:
    """Cards that terms go with, and how strongly: above 0 and below 1."""
    whole = sum(lessons.jobs.values())
    doubts: dict[str, list[float]] = {}
    numbers = index.numbers(lessons.jobs)
    for term, cards in lessons.said.items():
        row = looked.rows.get(term)
        often = sum(cards.values())
        for card, here in cards.items():
            of = lessons.jobs[card]
            has = row and card in numbers and row.count_on(numbers[card])
            if here >= FEWEST_JOBS and not has:
                z = z_score(here, of, often - here, whole - of)
                if z > MARKED:
                    doubts.setdefault(card, []).append(MARKED / z)
    return {card: 1.0 - prod(shares) for card, shares in doubts.items()}


def _alike(
    telling: Sequence[Slot], looked: "Lookup", kept: Sequence[Kept]
) -> dict[str, Alike]:
    """By card the likest of its kept words.

    The harmonic mean of two shares: how much of what is said now was said then, by
    what it tells, and how many of the terms of then are said now.
    """
    slots = different(telling)
    worths = [(_term(slot), worth(slot, looked)) for slot in slots]
    whole = sum(told for _, told in worths)
    found: dict[str, Alike] = {}
    for job, card, terms in kept:
        met = [told for term, told in worths if term in terms]
        if whole and len(met) >= min(FEWEST_ALIKE, len(terms)):
            covered, share = sum(met) / whole, min(1.0, len(met) / len(terms))
            alike = Alike(2.0 * covered * share / (covered + share), job)
            found[card] = max(found.get(card, alike), alike)
    return found


def nothing(terms: Collection[str]) -> Lessons:
    """Nothing was learnt."""
    return NOTHING
