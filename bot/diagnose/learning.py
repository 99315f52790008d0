"""What recorded outcomes teach: how often each cause was the culprit, weighed.

Only the cause that was named at the end teaches, never what was shown, opened or tried
first: otherwise what stands on top would make itself stay there. A report weighs less
the older it is and the less it was proved, and nobody but the truck's own keeper weighs
more than a twentieth of all that is known of a card. Raw reports are kept and weighed
anew each time; weights are never stored.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from math import exp2
from types import MappingProxyType

OWN = ""
"""The contributor who is the truck's own keeper: believed without a cap."""

HALF_LIFE_YEARS = 3.0
"""A report this old weighs half. Our choice, no source."""

SAMPLE_SIZE = 24.0
"""The author's word weighs as much as this many proved outcomes. Less learns faster
where the author was wrong, and costs a point or three for a while where he was right;
see tools/simulate.py."""

MOST_SHARE = 0.05
"""The share of a card's whole evidence, the author's word included, that one other
contributor can have; so nobody moves a cause by more than five points."""


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
    """One outcome on a card: the cause named ("" for none of them), and by whom."""

    cause: str
    standing: Standing
    age_years: float = 0.0
    contributor: str = OWN


def counts(reports: Sequence[Report]) -> Mapping[str, float]:
    """The weight of each cause in the reports on one card.

    >>> counts([Report("a", Standing.PROVED), Report("a", Standing.REPORTED, 3.0)])
    {'a': 1.25}
    """
    caps = _caps(reports)
    found: dict[str, float] = {}
    for report in reports:
        weight = weight_of(report) * caps[report.contributor]
        found[report.cause] = found.get(report.cause, 0.0) + weight
    return found


def weight_of(report: Report) -> float:
    """What a report weighs by its standing and age alone."""
    return WEIGHT[report.standing] * exp2(-report.age_years / HALF_LIFE_YEARS)


def _caps(reports: Sequence[Report]) -> Mapping[str, float]:
    """By how much each contributor's reports are scaled down.

    The heaviest are cut first, each to its share of what the rest then weigh.
    """
    totals: dict[str, float] = {}
    for report in reports:
        who = report.contributor
        totals[who] = totals.get(who, 0.0) + weight_of(report)
    capped = dict(totals)
    for _ in totals:
        whole = SAMPLE_SIZE + sum(capped.values())
        for who, total in totals.items():
            others = whole - capped[who]
            most = others * MOST_SHARE / (1.0 - MOST_SHARE)
            if who != OWN:
                whole += min(total, most) - capped[who]
                capped[who] = min(total, most)
    return {who: capped[who] / totals[who] for who in totals if totals[who]}
