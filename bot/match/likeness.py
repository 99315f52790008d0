"""How alike what was typed is to what somebody wrote, thing by thing.

Each thing that was said is held once against what is written, however often a long text
says it again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from rapidfuzz import fuzz

from bot.language.compare import bearing
from bot.language.line import Line, Wording

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from bot.language.lexicon import Lexicon
    from bot.language.mentions import Mention


class Told(NamedTuple):
    """A thing said, how often, the most that it counts once, and what in all."""

    mention: Mention
    times: int
    most: float
    whole: float


def gathered(said: Iterable[tuple[Mention, float]]) -> list[Told]:
    """Mentions with what each counts, those alike as one."""
    told: dict[object, Told] = {}
    for mention, weight in said:
        key = (mention.senses, mention.denied)
        _, times, most, whole = told.get(key, (mention, 0, 0.0, 0.0))
        told[key] = Told(mention, times + 1, max(most, weight), whole + weight)
    return list(told.values())


def clause_shares(
    told: Sequence[Told], written: Line, lexicon: Lexicon
) -> tuple[float, float]:
    """How far the best clause of an answer was said, and the worst denied."""
    shares = [0.0]
    for clause in written.clauses:
        met = [
            max((bearing(t.mention, o, lexicon) * t.most for t in told), key=abs)
            for o in clause.mentions
            if told
        ]
        if met:
            shares.append(sum(met) / len(met) ** 0.7)
    return max(shares), min(shares)


def by_wordings(
    line: Line, told: Sequence[Told], wordings: Sequence[Wording], lexicon: Lexicon
) -> tuple[float, float]:
    """How alike the line is to the nearest wording: in sense, in letters."""
    alike = (likeness(told, w.mentions, lexicon) for w in wordings)
    letters = (fuzz.token_set_ratio(line.figures, w.figures) for w in wordings)
    return max(alike, default=0.0), max(letters, default=0.0) / 100.0


def met_in_wordings(
    told: Sequence[Told], answers: Sequence[Sequence[Wording]], lexicon: Lexicon
) -> list[float]:
    """How much of the line stands in one answer's wordings and not in others'."""
    out = [0.0] * len(answers)
    for mention, _, _, whole in told:
        met = [_mean_of_best(mention, wordings, lexicon) for wordings in answers]
        mean = sum(met) / len(met)
        for n, value in enumerate(met):
            out[n] += (value - mean) * whole
    return out


BEST = 3


def _mean_of_best(
    mention: Mention, wordings: Sequence[Wording], lexicon: Lexicon
) -> float:
    """How well a mention is met in the three wordings that meet it best."""
    met = sorted(
        (
            max((bearing(mention, o, lexicon) for o in wording.mentions), default=0.0)
            for wording in wordings
        ),
        reverse=True,
    )
    return sum(max(value, 0.0) for value in met[:BEST]) / BEST


def likeness(
    told: Sequence[Told], theirs: Sequence[Mention], lexicon: Lexicon
) -> float:
    """How alike what was typed is to what somebody wrote, 0 to 1."""
    if not told or not theirs:
        return 0.0
    there = back = 0.0
    for mention, _, _, whole in told:
        there += max((bearing(mention, o, lexicon) for o in theirs), key=abs) * whole
    for other in theirs:
        back += max((bearing(m, other, lexicon) * w for m, _, w, _ in told), key=abs)
    mine, its = there / sum(t.times for t in told), back / len(theirs)
    return 2 * mine * its / (mine + its) if mine > 0.0 and its > 0.0 else 0.0
