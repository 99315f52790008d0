"""What speaks for a card and against it: how odd these words would be on it.

The keyword score asks what the words earn on a card; this asks the reverse, for each
feature of the text: in how many of the card's signs does it stand, beside the mean of
all cards? "Tyre" said of a charging fault speaks against it. Shrinking by the number of
signs keeps a card with few of them alive. Features are thesaurus terms with the
concepts they may mean, neighbouring pairs of terms, and runs of four letters in a word,
which bear bad spelling.

Source: log-likelihood ratios of naive Bayes, shrunk; weighed by how much a feature
parts the cards (Kullback-Leibler divergence from even). Our own choice among rankers
measured side by side.
"""

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from math import fsum, log, sqrt
from typing import NamedTuple

SHRINK = 5.0
"""Signs of the mean card that every card is taken to have beside its own. Our choice:
from 1 to 20 it made little difference."""

LETTERS = 4
_EDGE = " "

Stands = Mapping[str, Mapping[str, int]]
"""By feature: by card in how many of its own signs it stands."""


class Evidence(NamedTuple):
    """The evidence for each card, and how much of the text the table knows.

    `pairs_known` is the share of the text's pairs that stand on any card.
    """

    of: Mapping[str, float]
    pairs_known: float

    def stands_out(self, card: str) -> float:
        """By how many standard deviations a card is above the mean of all."""
        if not self.of:
            return 0.0
        mean = fsum(self.of.values()) / len(self.of)
        spread = sqrt(fsum((x - mean) ** 2 for x in self.of.values()) / len(self.of))
        return (self.of.get(card, 0.0) - mean) / spread if spread > 1e-9 else 0.0


def pairs(terms: Iterable[str]) -> tuple[str, ...]:
    """Neighbours among the terms that were said, concepts left out.

    >>> pairs(["wheel", "~wheel", "hiss", "park"])
    ('wheel hiss', 'hiss park')
    """
    own = [term for term in terms if not term.startswith("~")]
    return tuple(dict.fromkeys(f"{one} {other}" for one, other in pairwise(own)))


def letters(words: Iterable[str]) -> tuple[str, ...]:
    """The runs of four letters in some words, the edges of a word among them.

    >>> letters(["hiss"])
    ('# his', '#hiss', '#iss ')
    """
    found: dict[str, None] = {}
    for word in words:
        whole = f"{_EDGE}{word}{_EDGE}"
        for at in range(len(whole) - LETTERS + 1):
            found[f"#{whole[at : at + LETTERS]}"] = None
    return tuple(found)


def evidence(
    families: Sequence[tuple[Iterable[str], Stands]],
    signs: Mapping[str, int],
) -> dict[str, float]:
    """How strongly a text speaks for each card; 0 where it says nothing of it.

    Args:
        families: the features of the text, a family each, and where they stand.
        signs: how many own signs each card has, its title among them.
    """
    totals = dict.fromkeys(signs, 0.0)
    if len(signs) < 2:
        return totals
    for features, stands in families:
        known = [feature for feature in features if stands.get(feature)]
        for card, value in _family(known, stands, signs).items():
            totals[card] += value
    return totals


def _family(
    features: Sequence[str], stands: Stands, signs: Mapping[str, int]
) -> dict[str, float]:
    """The weighed mean of the log ratios of one family, as if by one strong feature."""
    met: dict[str, float] = {}
    whole = 0.0
    for feature in features:
        counts = stands[feature]
        shares = [n / signs[card] for card, n in counts.items()]
        mean = fsum(shares) / len(signs)
        often = counts.values()
        weight = _telling(shares, sum(often), len(signs))
        whole += weight
        earned = {n: weight * log((n / mean + SHRINK) / SHRINK) for n in {*often}}
        for card, n in counts.items():
            met[card] = met.get(card, 0.0) + earned[n]
    if not whole:
        return {}
    missing = {card: whole * log(SHRINK / (n + SHRINK)) for card, n in signs.items()}
    return {c: (met.get(c, 0.0) + missing[c]) / sqrt(whole) for c in signs}


def _telling(shares: Sequence[float], often: int, cards: int) -> float:
    """How much a feature parts the cards, from 0 to 1; less if it was hardly seen."""
    whole = fsum(shares)
    divergence = fsum(p * log(p) for p in shares) / whole + log(cards / whole)
    return sqrt(often / (often + 1) * max(divergence, 0.0) / log(cards))
