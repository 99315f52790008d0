"""Why a cause is suspected: what each answer did to it; and when answers fight.

An answer's effect on a cause is what the cause's odds are with it, divided by what they
are without it. An answer fights the others when it was a third as likely, after what
was heard before it, as it was before anything was heard.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

from bot.diagnose.belief import Belief, Heard, Tried, believe
from bot.diagnose.case import Case
from bot.diagnose.evidence import Table, table_of
from bot.diagnose.pairs import pair_behind

NOTICED = 1.5
"""An answer that changes the odds by less is not named as a reason. Our choice."""

FIGHTS = 1 / 3
"""How much less likely than at first an answer must be to fight the others: the same
log 3 that is asked of Jensen's conflict measure. Our choice, no source."""

STREAK = 3
"""So many such answers in a row are said aloud."""


@dataclass(frozen=True, slots=True)
class Effect:
    """What one answer did to the odds of one cause; above 1 it speaks for it."""

    heard: Heard
    ratio: float


def effects(
    case: Case,
    start: Belief,
    heard: Sequence[Heard],
    failed: Sequence[Tried],
    cause: str,
) -> tuple[Effect, ...]:
    """What the answers did to a cause, the strongest first; small ones left out."""
    with_all = _odds(believe(case, start, heard, failed).of(cause))
    found = []
    for left_out in heard:
        rest = [answer for answer in heard if answer is not left_out]
        without = _odds(believe(case, start, rest, failed).of(cause))
        found.append(Effect(left_out, with_all / without))
    noticed = [e for e in found if max(e.ratio, 1 / e.ratio) >= NOTICED]
    return tuple(sorted(noticed, key=lambda e: -max(e.ratio, 1 / e.ratio)))


def _odds(chance: float) -> float:
    return chance / (1.0 - chance)


def surprises(case: Case, start: Belief, heard: Sequence[Heard]) -> tuple[float, ...]:
    """Of each answer, P(answer | those before it) / P(answer), in order."""
    found = []
    for number, answer in enumerate(heard):
        before = believe(case, start, heard[:number])
        found.append(_chance(case, before, answer) / _chance(case, start, answer))
    return tuple(found)


def _chance(case: Case, belief: Belief, answer: Heard) -> float:
    """P(that answer comes); 1 for an answer that its card no longer has."""
    found = _row(case, belief.causes, answer)
    if found is None:
        return 1.0
    table, number = found
    chances = zip(table[number], belief.weights, strict=True)
    return sum(p * weight for p, weight in chances)


def _row(case: Case, causes: Sequence[str], answer: Heard) -> tuple[Table, int] | None:
    """The table of a check and the row of its answer; None when its card lost it."""
    card = case.card(answer.card)
    check = card.check(answer.check) if card else None
    if card is None or check is None:
        return None
    answers = [finding.answer for finding in check.findings]
    if answer.answer not in answers:
        return None
    return table_of(card, check, causes), answers.index(answer.answer)


def fighting(case: Case, start: Belief, heard: Sequence[Heard]) -> Heard | None:
    """The answer to look at again when the last few all fought; otherwise None.

    It is the one without which the others are likeliest.
    """
    last = surprises(case, start, heard)[-STREAK:]
    if len(last) < STREAK or any(ratio > FIGHTS for ratio in last):
        return None

    def peace(left_out: Heard) -> float:
        rest = [answer for answer in heard if answer is not left_out]
        return prod(surprises(case, start, rest))

    return max(heard, key=peace)


def two_faults(
    case: Case, start: Belief, heard: Sequence[Heard]
) -> tuple[str, str] | None:
    """Two causes that are likely to be there together; or None.

    Fewer than three answers are too few to say so.
    """
    told = [
        row for row in (_row(case, start.causes, answer) for answer in heard) if row
    ]
    if len(told) < STREAK:
        return None
    found = pair_behind(start.weights, told)
    if found is None:
        return None
    (one, other), _ = found
    return start.causes[one], start.causes[other]
