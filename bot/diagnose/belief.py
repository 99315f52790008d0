"""What is believed about the causes: one fault, or none of those the card names.

Belief = prior x likelihood of every answer, scaled to one. The order of answers does
not matter. Within one `fact` only the answer that speaks loudest on a cause counts, for
two checks that read the same thing are not two witnesses. A repair that did not cure
takes most, never all, of its causes' weight away.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from bot.diagnose.evidence import table_of
from bot.model.card import Card, Check, Often

NONE_PRIOR = 0.08
"""Share of complaints that none of a card's causes explains. Our choice, no source."""

CURE_CHANCE = 0.95
"""P(a repair cures the cause it is for). Our choice: a botched job is credible."""

OFTEN_WEIGHT = MappingProxyType(
    {Often.USUAL: 8.0, Often.COMMON: 4.0, Often.NOW_AND_THEN: 2.0, Often.RARE: 0.7}
)
"""Relative frequencies of the authors' words. Our choice, no source."""

SAMPLE_SIZE = 8.0
"""The author's word weighs as much as this many proved outcomes (5 to 10 did best in
simulation with authors whose priors are off by a factor of 2.7)."""


@dataclass(frozen=True, slots=True)
class Belief:
    """Probabilities of the causes of one card, in the card's order, and of none."""

    causes: tuple[str, ...]
    weights: tuple[float, ...]

    @property
    def none(self) -> float:
        """P(none of the named causes)."""
        return self.weights[-1]

    def of(self, cause: str) -> float:
        """P(cause); 0 for one that the card does not name."""
        return self.weights[self.causes.index(cause)] if cause in self.causes else 0.0

    def ranked(self) -> tuple[tuple[str, float], ...]:
        """The causes with their probabilities, likeliest first, ties in card order."""
        named = zip(self.causes, self.weights, strict=False)
        return tuple(sorted(named, key=lambda pair: -pair[1]))


@dataclass(frozen=True, slots=True)
class Heard:
    """One answer that counts: which check, and which of its findings."""

    check: str
    answer: str


def prior(card: Card, counts: Mapping[str, float]) -> Belief:
    """What is believed before any answer.

    Args:
        card: its causes and the author's word how often each is the culprit.
        counts: weight of the recorded outcomes for each cause id ("" for none).
    """
    shares = [OFTEN_WEIGHT[cause.often] for cause in card.causes]
    scale = (1 - NONE_PRIOR) / sum(shares)
    authored = [*(share * scale for share in shares), NONE_PRIOR]
    ids = tuple(cause.id for cause in card.causes)
    seen = [*(counts.get(cause, 0.0) for cause in ids), counts.get("", 0.0)]
    total = SAMPLE_SIZE + sum(seen)
    weights = (
        (SAMPLE_SIZE * p + n) / total for p, n in zip(authored, seen, strict=True)
    )
    return Belief(ids, tuple(weights))


def believe(
    card: Card,
    start: Belief,
    heard: Sequence[Heard],
    failed: Iterable[str] = (),
) -> Belief:
    """What is believed after the answers, and after repairs that did not cure.

    Answers to checks or findings that the card no longer has are left out.

    Args:
        card: the card walked.
        start: `prior` of that card.
        heard: the answers, in any order.
        failed: ids of repairs that were made and did not cure.
    """
    said = _witnesses(card, start.causes, heard)
    said += [_not_cured(card, repair) for repair in failed]
    return Belief(start.causes, posterior(start.weights, said))


def posterior(
    weights: Sequence[float], likelihoods: Iterable[Sequence[float]]
) -> tuple[float, ...]:
    """Bayes' rule: prior weights times every likelihood, scaled to one.

    Worked in logarithms, so that many answers neither overflow nor vanish.

    Args:
        weights: prior weights, all above 0.
        likelihoods: P(answer | hypothesis) for each answer, in the order of the
            weights; only ratios matter.
    """
    logs = [math.log(weight) for weight in weights]
    for said in likelihoods:
        logs = [log + math.log(p) for log, p in zip(logs, said, strict=True)]
    top = max(logs)
    scaled = [math.exp(log - top) for log in logs]
    total = sum(scaled)
    return tuple(weight / total for weight in scaled)


def _witnesses(
    card: Card, causes: Sequence[str], heard: Sequence[Heard]
) -> list[list[float]]:
    """Likelihoods by cause, relative to "none", one list for each separate fact."""
    by_fact: dict[str, list[list[float]]] = {}
    for answer in heard:
        check = card.check(answer.check)
        row = _row(check, answer.answer, causes) if check else None
        if check and row is not None:
            by_fact.setdefault(check.needs.fact or f"#{check.id}", []).append(row)
    return [
        [max(column, key=_loudness) for column in zip(*rows, strict=True)]
        for rows in by_fact.values()
    ]


def _row(check: Check, answer: str, causes: Sequence[str]) -> list[float] | None:
    for finding, row in zip(check.findings, table_of(check, causes), strict=True):
        if finding.answer == answer:
            return [p / row[-1] for p in row]
    return None


def _loudness(ratio: float) -> float:
    return abs(math.log(ratio))


def _not_cured(card: Card, repair: str) -> list[float]:
    """P(the fault is still there after the repair | cause), none of these last."""
    cured = (cause.cured_by(repair) for cause in card.causes)
    return [*(1 - CURE_CHANCE if is_cured else 1.0 for is_cured in cured), 1.0]
