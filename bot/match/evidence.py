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

from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import pairwise
from math import fsum, log, sqrt
from typing import NamedTuple

from bot.match.rows import Row, by_block

SHRINK = 10.0
"""Signs of the mean card that every card is taken to have beside its own. Source:
measured with a page of 12 signs among pages of 130, which 0.53 of its queries find
first, with 5 0.47; where all pages have their signs, 1 to 20 are much the same."""

LETTERS = 4
_EDGE = " "


class Evidence(NamedTuple):
    """The evidence for each card in play, and how much of the text the table knows.

    Attributes:
        of: by card.
        mean: of all cards, by a sample of them where they are many.
        spread: the standard deviation of all.
        pairs_known: the share of the text's pairs that stand on any card.
    """

    of: Mapping[str, float]
    mean: float
    spread: float
    pairs_known: float

    def stands_out(self, card: str) -> float:
        """By how many standard deviations a card is above the mean of all."""
        told = self.of.get(card, 0.0)
        return (told - self.mean) / self.spread if self.spread > 1e-9 else 0.0


def mean_and_spread(values: Collection[float]) -> tuple[float, float]:
    """The mean of some values, and their standard deviation; 0 of none.

    >>> mean_and_spread([1.0, 3.0])
    (2.0, 1.0)
    """
    if not values:
        return 0.0, 0.0
    mean = fsum(values) / len(values)
    return mean, sqrt(fsum((x - mean) ** 2 for x in values) / len(values))


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
    families: Sequence[Sequence[Row]],
    signs: Sequence[int],
    pages: int,
    looked_at: Sequence[int],
) -> dict[int, float]:
    """How strongly a text speaks for each page; 0 where it says nothing of it.

    Args:
        families: the rows of the features of the text, a family each.
        signs: how many own signs each page has, its title among them, by its number.
        pages: how many pages there are.
        looked_at: the numbers of the pages that it is asked of.
    """
    totals = dict.fromkeys(looked_at, 0.0)
    if pages < 2:
        return totals
    some = None if len(totals) == pages else by_block(totals)
    missing = {page: log(SHRINK / (signs[page] + SHRINK)) for page in totals}
    for rows in families:
        whole, met = _met(rows, pages, some)
        if whole:
            for page in totals:
                told = met.get(page, 0.0) + whole * missing[page]
                totals[page] += told / sqrt(whole)
    return totals


def _met(
    rows: Sequence[Row], pages: int, looked_at: Mapping[int, Sequence[int]] | None
) -> tuple[float, dict[int, float]]:
    """The weights of all features together, and what the pages earn by those they have.

    `looked_at`: by block; all pages where it is None.
    """
    met: dict[int, float] = {}
    whole = 0.0
    for row in rows:
        often, share, told = row.sums()
        if not share:
            continue
        weight = _telling(often, share, told, pages)
        whole += weight
        mean = share / pages
        own = row.own() if looked_at is None else row.own_among(looked_at)
        earned: dict[int, float] = {}
        for page, n in own:
            if n not in earned:
                earned[n] = weight * log((n / mean + SHRINK) / SHRINK)
            met[page] = met.get(page, 0.0) + earned[n]
    return whole, met


def _telling(often: int, share: float, told: float, pages: int) -> float:
    """How much a feature parts the pages, from 0 to 1; less if it was hardly seen."""
    divergence = told / share + log(pages / share)
    return sqrt(often / (often + 1) * max(divergence, 0.0) / log(pages))
