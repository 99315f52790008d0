"""What is believed about the causes: one fault, or none of those the card names.

Belief = prior x likelihood of every answer, scaled to one. The order of answers does
not matter. Within one `fact` only the answer that speaks loudest on a cause counts, for
two checks that read the same thing are not two witnesses. A repair that did not cure
takes most, never all, of its causes' weight away.
"""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from bot.diagnose.case import Case
from bot.diagnose.evidence import table_of
from bot.diagnose.learning import NO_OUTCOMES, Outcomes, learnt
from bot.model.card import Card, Check, Often

NONE_PRIOR = 0.08
"""Share of complaints that none of a card's causes explains. Our choice, no source."""

CURE_CHANCE = 0.95
"""P(a repair cures the cause it is for). Our choice: a botched job is credible."""

OFTEN_WEIGHT = MappingProxyType(
    {Often.USUAL: 8.0, Often.COMMON: 4.0, Often.NOW_AND_THEN: 2.0, Often.RARE: 0.7}
)
"""Relative frequencies of the authors' words. Our choice, no source."""


@dataclass(frozen=True, slots=True)
class Belief:
    """Probabilities of the causes of a case, in its cards' order, and of none."""

    causes: tuple[str, ...]
    weights: tuple[float, ...]

    @property
    def none(self) -> float:
        """P(none of the named causes)."""
        return self.weights[-1]

    def of(self, cause: str) -> float:
        """P(cause); 0 for one that no card names."""
        return self.weights[self.causes.index(cause)] if cause in self.causes else 0.0

    def ranked(self) -> tuple[tuple[str, float], ...]:
        """The causes with their probabilities, likeliest first, ties in card order."""
        named = zip(self.causes, self.weights, strict=False)
        return tuple(sorted(named, key=lambda pair: -pair[1]))


@dataclass(frozen=True, slots=True)
class Heard:
    """One answer that counts: whose check, which check, which of its findings."""

    card: str
    check: str
    answer: str


@dataclass(frozen=True, slots=True)
class Tried:
    """A repair that was made: whose, and which."""

    card: str
    repair: str


Told = Callable[[str], Outcomes]
"""By card id: what recorded outcomes tell of its causes."""


def prior_of(card: Card, known: Outcomes = NO_OUTCOMES) -> Belief:
    """What is believed of one card's causes before any answer, were it surely the card.

    Args:
        card: its causes and the author's word how often each is the culprit.
        known: the outcomes recorded on it.
    """
    shares = [OFTEN_WEIGHT[cause.often] for cause in card.causes]
    if not shares:  # a stub: the fault is known, its causes are not
        return Belief((), (1.0,))
    scale = (1 - NONE_PRIOR) / sum(shares)
    ids = tuple(cause.id for cause in card.causes)
    authored = dict(zip(ids, (share * scale for share in shares), strict=True))
    found = learnt({**authored, "": NONE_PRIOR}, known)
    return Belief(ids, tuple(found.values()))


def prior(case: Case, told: Told) -> Belief:
    """What is believed before any answer, over the causes of all cards in play."""
    weights: dict[str, float] = {}
    none = case.none
    for card, chance in case.pairs():
        own = prior_of(card, told(card.id))
        for cause, p in zip(own.causes, own.weights, strict=False):
            weights[cause] = weights.get(cause, 0.0) + chance * p
        none += chance * own.none
    return Belief(tuple(weights), (*weights.values(), none))


def believe(
    case: Case,
    start: Belief,
    heard: Sequence[Heard],
    failed: Iterable[Tried] = (),
) -> Belief:
    """What is believed after the answers, and after repairs that did not cure.

    Answers to checks or findings that a card no longer has are left out.

    Args:
        case: the cards in play.
        start: `prior` of that case.
        heard: the answers, in any order.
        failed: the repairs that were made and did not cure.
    """
    said = witnesses(case, start.causes, heard)
    said += [_not_cured(case, start.causes, tried) for tried in failed]
    return Belief(start.causes, posterior(start.weights, said))


def fits(
    card: Card, heard: Sequence[Heard], failed: Iterable[Tried]
) -> Mapping[str, float]:
    """P(what was found and tried in vain | cause) of one card's causes, "" for none.

    Only ratios matter. Answers on other cards are left out.
    """
    case = Case((card,), (1.0,))
    causes = tuple(cause.id for cause in card.causes)
    even = Belief(causes, (1.0,) * (len(causes) + 1))
    found = believe(case, even, heard, failed).weights
    return dict(zip((*causes, ""), found, strict=True))


def still_valid(
    case: Case, causes: Sequence[str], heard: Sequence[Heard], mended: Sequence[Tried]
) -> tuple[Heard, ...]:
    """The answers that count on after one of two faults was mended.

    What spoke for the mended cause told of a fault that is gone.
    """
    gone = {number for tried in mended for number in cures(case, causes, tried)}

    def tells_of_it(answer: Heard) -> bool:
        rows = witnesses(case, causes, [answer])
        return any(row[number] > 1.0 for row in rows for number in gone)

    return tuple(answer for answer in heard if not (gone and tells_of_it(answer)))


def cures(case: Case, causes: Sequence[str], tried: Tried) -> list[int]:
    """The numbers of the causes that a repair is for."""
    card = case.card(tried.card)
    named = card.causes if card else ()
    ids = {cause.id for cause in named if cause.cured_by(tried.repair)}
    return [number for number, cause in enumerate(causes) if cause in ids]


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


def witnesses(
    case: Case, causes: Sequence[str], heard: Sequence[Heard]
) -> list[list[float]]:
    """Likelihoods by cause, relative to "none", one list for each separate fact."""
    by_fact: dict[str, list[list[float]]] = {}
    for answer in heard:
        card = case.card(answer.card)
        check = card.check(answer.check) if card else None
        row = _row(card, check, answer.answer, causes) if card and check else None
        if check and row is not None:
            fact = check.needs.fact or f"{answer.card}#{check.id}"
            by_fact.setdefault(fact, []).append(row)
    return [
        [max(column, key=_loudness) for column in zip(*rows, strict=True)]
        for rows in by_fact.values()
    ]


def _row(
    card: Card, check: Check, answer: str, causes: Sequence[str]
) -> list[float] | None:
    rows = table_of(card, check, causes)
    for finding, row in zip(check.findings, rows, strict=True):
        if finding.answer == answer:
            return [p / row[-1] for p in row]
    return None


def _loudness(ratio: float) -> float:
    return abs(math.log(ratio))


def _not_cured(case: Case, causes: Sequence[str], tried: Tried) -> list[float]:
    """P(the fault is still there after the repair | cause), none of these last."""
    cured = set(cures(case, causes, tried))
    left = (1 - CURE_CHANCE if n in cured else 1.0 for n in range(len(causes)))
    return [*left, 1.0]
