"""What recorded outcomes teach: how often each cause was the culprit, weighed.

Only how a job ended teaches, never what was shown, opened or tried first: otherwise
what stands on top would make itself stay there. A job that was given up before the
cause was known teaches too, by what was found and tried in it: it was some cause, and
hardly one that was mended in vain. A report weighs less the older it is and the less it
was proved. Raw reports are kept and weighed anew each time; weights are never stored.

What others shared, the pool, counts apart, and after one's own: anybody can invent as
many others as he likes. All of it together weighs little beside the author, and it
never puts on top what the author thinks rarer (`_held`). Which checks guard a life, and
so come first, is written on the page; nothing here can reorder that.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from math import exp, exp2, lgamma, log
from types import MappingProxyType
from typing import NamedTuple

HALF_LIFE_YEARS = 3.0
"""A report this old weighs half. Our choice, no source."""

AUTHOR_OFF, AUTHOR_RIGHT = 20.0, 100.0
"""So many proved outcomes weigh as much as the author's word, if he judged another kind
of truck than this, and if he judged this kind. Which it is the outcomes tell. Our
choice: beside one number for both, cards that were right lose nothing and those that
were wrong are mended sooner; see tools/simulate.py."""

MOST_POOL = 0.3 * AUTHOR_OFF
"""What all that others shared of a page weighs at most: it bounds how far lies move a
cause, while `_held` keeps them off the top. Our choice; see tools/poison.py."""

A_HAIR = 1.0 - 1e-9
"""What is to stay behind stays so far behind."""


class Standing(Enum):
    """How well a report is founded."""

    PROVED = "proved"
    REPORTED = "reported"
    HEARSAY = "hearsay"


WEIGHT = MappingProxyType(
    {Standing.PROVED: 1.0, Standing.REPORTED: 0.5, Standing.HEARSAY: 0.25}
)
"""What a new report weighs by its standing. Our choice, no source."""


@dataclass(frozen=True, slots=True)
class Report:
    """One outcome on a card: the cause named, "" for none of them."""

    cause: str
    standing: Standing
    age_years: float = 0.0


@dataclass(frozen=True, slots=True)
class Unsolved:
    """A job on a card that ended before its cause was known.

    `fits` is P(what was found and tried in vain | cause) for each cause and for none of
    them (""); only ratios matter.
    """

    fits: Mapping[str, float]
    age_years: float = 0.0


class Outcomes(NamedTuple):
    """What is known from the ends of jobs on one card.

    `named`: by cause ("" for none of them) the weight of the reports that name it;
    `unsolved`: `Unsolved.fits` of each job whose cause is not known, and its weight;
    `pool`: by cause the votes of other devices, which are one's own in nothing.
    """

    named: Mapping[str, float] = MappingProxyType({})
    unsolved: tuple[tuple[Mapping[str, float], float], ...] = ()
    pool: Mapping[str, int] = MappingProxyType({})


NO_OUTCOMES = Outcomes()


def outcomes(told: Sequence[Report | Unsolved]) -> Outcomes:
    """The reports on one card, weighed.

    >>> told = [Report("a", Standing.PROVED), Report("a", Standing.REPORTED, 3.0)]
    >>> outcomes(told).named
    {'a': 1.25}
    """
    named: dict[str, float] = {}
    unsolved = []
    for report in told:
        weight = weight_of(report)
        if isinstance(report, Report):
            named[report.cause] = named.get(report.cause, 0.0) + weight
        else:
            unsolved.append((report.fits, weight))
    return Outcomes(named, tuple(unsolved))


def weight_of(report: Report | Unsolved) -> float:
    """What a report weighs by its standing and age alone; an unsolved job is a fact."""
    founded = WEIGHT[report.standing] if isinstance(report, Report) else 1.0
    return founded * exp2(-report.age_years / HALF_LIFE_YEARS)


Shares = Mapping[str, float]
"""P(cause) for each cause of a card and for none of them, summing to one."""


def learnt(authored: Shares, known: Outcomes) -> Shares:
    """Shares after one's own outcomes, and then after what others shared.

    Args:
        authored: the author's shares, all above 0.
        known: what outcomes tell; causes that the card has no more are left out.
    """
    if known == NO_OUTCOMES:
        return authored
    own = _from_own(authored, known)
    votes = {cause: n for cause, n in known.pool.items() if cause in authored and n > 0}
    return _held(authored, own, _pooled(own, known, votes)) if votes else own


def _from_own(authored: Shares, known: Outcomes) -> Shares:
    """Shares after one's own outcomes, the author believed as they bear him out.

    Two Dirichlet priors round the author's shares, one tight and one loose, alike
    likely beforehand, are each brought up to date; Bayes' rule says how likely each is
    afterwards, and their means are mixed so.
    """
    if not (known.named or known.unsolved):
        return authored
    tight, loose = (_settled(authored, known, s) for s in (AUTHOR_RIGHT, AUTHOR_OFF))
    behind = _evidence(authored, known, loose, AUTHOR_OFF)
    ahead = _evidence(authored, known, tight, AUTHOR_RIGHT)
    right = 1.0 / (1.0 + exp(min(behind - ahead, 700.0)))
    return {c: right * tight[c] + (1.0 - right) * loose[c] for c in authored}


def _pooled(own: Shares, known: Outcomes, votes: Mapping[str, int]) -> Shares:
    """Shares after votes, each as a report that nobody here saw proved, up to the most.

    The more outcomes of one's own there are, the less the votes change.
    """
    weight = min(WEIGHT[Standing.REPORTED], MOST_POOL / sum(votes.values()))
    jobs = sum(known.named.values()) + sum(job for _, job in known.unsolved)
    counts = {cause: n * weight for cause, n in votes.items()}
    return shrunk(own, counts, AUTHOR_OFF + jobs)


def _held(authored: Shares, own: Shares, found: Shares) -> Shares:
    """Shares of which votes alone put no cause on top that its author thinks rarer.

    Free to stand on top is a cause that leads already, by the author's word or by one's
    own outcomes, before all that the author thinks commoner. Of those that the author
    thinks alike common the votes may choose.
    """
    named = [cause for cause in own if cause]
    free = {
        cause
        for cause in own
        if not any(
            authored[other] > authored[cause] and own[other] >= own[cause]
            for other in named
        )
    }
    most = A_HAIR * max((found[cause] for cause in named if cause in free), default=1.0)
    held = {c: p if c in free else min(p, most) for c, p in found.items()}
    whole = sum(held.values())
    return {cause: p / whole for cause, p in held.items()}


def shrunk(authored: Shares, named: Mapping[str, float], size: float) -> Shares:
    """Shares after counts: the mean of a Dirichlet prior of that equivalent size.

    >>> shrunk({"a": 0.5, "b": 0.5}, {"a": 10.0}, 10.0)
    {'a': 0.75, 'b': 0.25}
    """
    total = size + sum(named.get(cause, 0.0) for cause in authored)
    return {c: (size * p + named.get(c, 0.0)) / total for c, p in authored.items()}


ROUNDS, STILL = 50, 1e-6
"""Most rounds until what unsolved jobs teach is settled; the change that is none."""


def _settled(authored: Shares, known: Outcomes, size: float) -> Shares:
    """Shares after counts and unsolved jobs, by expectation maximisation.

    Each unsolved job is dealt out among the causes as they are believed in it, which
    changes what is believed, until nothing changes. That is right whenever people give
    up because of what they found and tried, not because of the cause they never saw.
    Source: Dempster, Laird and Rubin 1977 (from memory).
    """
    shares = shrunk(authored, known.named, size)
    for _ in range(ROUNDS if known.unsolved else 0):
        dealt = dict(known.named)
        for fits, weight in known.unsolved:
            whole = _chance(shares, fits)
            for cause, p in shares.items():
                part = p * fits.get(cause, 1.0) / whole
                dealt[cause] = dealt.get(cause, 0.0) + weight * part
        before, shares = shares, shrunk(authored, dealt, size)
        if max(abs(shares[c] - before[c]) for c in shares) < STILL:
            break
    return shares


def _chance(shares: Shares, fits: Mapping[str, float]) -> float:
    """P(what was found and tried), up to a factor; a cause new since is neutral."""
    return sum(p * fits.get(cause, 1.0) for cause, p in shares.items())


def _evidence(authored: Shares, known: Outcomes, settled: Shares, size: float) -> float:
    """Log of the chance of these outcomes if the author is worth that much.

    Named causes by the Dirichlet-multinomial, in gamma functions since weighed counts
    are no whole numbers; unsolved jobs by the shares as settled.
    """
    seen = {cause: known.named.get(cause, 0.0) for cause in authored}
    each = (lgamma(size * p + seen[c]) - lgamma(size * p) for c, p in authored.items())
    jobs = (weight * log(_chance(settled, fits)) for fits, weight in known.unsolved)
    return lgamma(size) - lgamma(size + sum(seen.values())) + sum(each) + sum(jobs)
