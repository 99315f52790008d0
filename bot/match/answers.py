"""Which of a check's findings the person means by their own words.

Every mention of the line is held against every answer: the same sense speaks for an
answer, its opposite or its denial against it; what all answers share tells nothing. A
state counts more where the part that it is said of is the same. Figures are held
against bounds. The sums are made a probability by a few weights, fitted by
`tools/weigh.py`; "none of them" is always one of the answers.
"""

from __future__ import annotations

from enum import Enum
from math import exp, log1p
from typing import TYPE_CHECKING, NamedTuple

from rapidfuzz import fuzz

from bot.language.compare import bearing
from bot.language.line import Clause, Line, Wording, listen, wording
from bot.language.quantities import Bounds, bounds, picked

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.language.lexicon import Lexicon
    from bot.language.mentions import Mention

FEATURES = (
    "state",
    "part",
    "against",
    "whole clause",
    "missing clause",
    "letters",
    "figure",
    "yes or no",
    "left over",
    "wording",
    "wording letters",
    "wording state",
)
FIGURE = FEATURES.index("figure")
NONE_FEATURES = ("always", "length", "spread", "cannot")

WEIGHTS = (1.12, 0.5, -0.94, 1.65, -0.61, 1.86, 0.84, 1.13, 0.38, 1.23, 1.23, 1.33)
NONE_WEIGHTS = (0.08, 0.45, 0.29, 0.92)
"""What the features count where nobody wrote down how people say the answers."""

TOLD = (1.06, 0.94, -0.84, 1.65, -0.41, 2.15, 4.5, 2.53, 0.27, 2.72, 1.49, 1.19)
NONE_TOLD = (1.18, 0.8, 0.42, -0.01)
"""And where they did: fitted to what strangers typed, by `tools/weigh.py`; the first of
"none" is less by 1.6 than fitted, for fewer lines mean none than in that set.
"""

PAST = 0.25
"""What a clause counts that says how it was before, beside one that says how it is."""

SAME_PART, OTHER_PART = 1.1, 0.6
"""What a state counts that is said of the same part, and of another."""

CROSSED = 0.6
"""What it counts that a part is met by a state, or the reverse."""

CLEAR = 0.25
"""So much speaks clearly for an answer, or against it. Source: our choice."""

CANNOT = frozenset(
    (
        "do_not_know",
        "not_sure",
        "can_not_do_it_here",
        "not_done_yet",
        "not_looked",
        "wait_a_moment",
        "say_it_again",
    )
)
"""How a line begins that answers no question of the check: acts of speech."""


class Answer(NamedTuple):
    """An answer made ready once: read as a line, with bounds and further wordings.

    `tone` is 1 for an answer that begins with "Yes", -1 with "No", less for "No froth".
    """

    text: str
    line: Line
    bounds: Bounds | None
    tone: float
    wordings: tuple[Wording, ...] = ()


class Choice(NamedTuple):
    """An answer by its number from 0, how surely it is meant, and what speaks for it.

    `against`: how much of what was typed speaks against it or for another answer.
    """

    number: int
    text: str
    sureness: float
    against: float
    why: tuple[str, ...]


def answer(text: str, lexicon: Lexicon, wordings: Sequence[str] = ()) -> Answer:
    """An answer made ready to be compared with."""
    line = listen(text, lexicon)
    more = tuple(wording(said, lexicon) for said in wordings)
    return Answer(text, line, bounds(text), _tone_of(line), more)


def _tone_of(line: Line) -> float:
    """What an answer says by its first word."""
    first = line.words[0].said if line.words else ""
    if first == "yes":
        return 1.0
    by_itself = len(line.words) == 1 or line.words[1].gap
    return (-1.0 if by_itself else NO_SUCH) if first == "no" else 0.0


NO_SUCH = -0.4
"""What "No bubbles" says beside "No, ..."."""


def tone(line: Line) -> float:
    """Yes (1), no (-1) or neither, by how a line begins."""
    if "yes" in line.opens and "no" not in line.opens:
        return 1.0
    if "no" not in line.opens:
        return 0.0
    by_itself = len(line.words) == 1 or line.words[1].gap
    return -1.0 if by_itself or "no" in line.acts else NO_SUCH


def choose(
    line: Line, answers: Sequence[Answer], lexicon: Lexicon
) -> tuple[Choice, ...]:
    """The answers with how surely each is meant, the surest first.

    Together they come to 1 at most; what is missing says that none is meant.
    """
    if not answers or not line.words:
        return ()
    rows, none, seen = features(line, answers, lexicon)
    told = any(a.wordings for a in answers)
    mine, nobody = (TOLD, NONE_TOLD) if told else (WEIGHTS, NONE_WEIGHTS)
    scores = [_weighed(row, mine) for row in rows]
    scores.append(_weighed(none, nobody))
    top = max(scores)
    raw = [exp(score - top) for score in scores]
    whole = sum(raw)
    found = [
        Choice(n, a.text, raw[n] / whole, _against(seen, n), seen[n].why)
        for n, a in enumerate(answers)
    ]
    return tuple(sorted(found, key=lambda c: (-c.sureness, c.number)))


def _weighed(row: Sequence[float], weights: Sequence[float]) -> float:
    return sum(value * weight for value, weight in zip(row, weights, strict=True))


class _Seen(NamedTuple):
    """How much speaks for an answer and against it, and the words that speak for it."""

    pro: float
    contra: float
    why: tuple[str, ...]


def _against(seen: Sequence[_Seen], number: int) -> float:
    """The most that speaks against an answer, or for another one."""
    others = [s.pro for n, s in enumerate(seen) if n != number]
    return max([seen[number].contra, *(pro - CLEAR for pro in others)])


def features(
    line: Line, answers: Sequence[Answer], lexicon: Lexicon
) -> tuple[list[list[float]], list[float], list[_Seen]]:
    """What the weights look at: a row an answer, the row of "none", what was seen."""
    weights = clause_weights(line)
    told = [
        (mention, weight)
        for clause, weight in zip(line.clauses, weights, strict=True)
        for mention in clause.mentions
    ]
    nets = [
        [net_bearing(mention, clause, a, lexicon) for a in answers]
        for clause in line.clauses
        for mention in clause.mentions
    ]
    rows = [[0.0] * len(FEATURES) for _ in answers]
    seen = [_Seen(0.0, 0.0, ()) for _ in answers]
    spread = 0.0
    for (mention, weight), net in zip(told, nets, strict=True):
        mean = sum(net) / len(net)
        spread += min(1.0, max(net) - min(net)) * weight
        for n, value in enumerate(net):
            shift = (value - mean) * weight
            rows[n][1 if is_part(mention, lexicon) else 0] += shift
            if value < -CLEAR and shift < -0.1:
                rows[n][2] += shift
                seen[n] = seen[n]._replace(contra=seen[n].contra - shift)
            elif value > CLEAR and shift > 0.1:
                why = (*seen[n].why, mention.said)
                seen[n] = seen[n]._replace(pro=seen[n].pro + shift, why=why)
    figure = picked(
        line.quantities, [a.text for a in answers], [a.bounds for a in answers]
    )
    met = _met_in_wordings(told, answers, lexicon)
    for n, a in enumerate(answers):
        rows[n][3:] = [
            *_clause_shares(told, a.line, lexicon),
            fuzz.token_set_ratio(line.figures, a.text.lower()) / 100.0,
            float(n == figure),
            tone(line) * a.tone,
            float(_is_left_over(seen, n)),
            *_by_wordings(line, told, a, lexicon),
            met[n],
        ]
        if figure is not None and a.bounds:  # "2 psi more" is not "0.15 bar or more"
            rows[n] = [0.0 if n_ != FIGURE else v for n_, v in enumerate(rows[n])]
    cannot = float(bool(line.opens & CANNOT))
    return rows, [1.0, log1p(len(line.words)), -spread, cannot], seen


def clause_weights(line: Line) -> list[float]:
    """What each clause counts: how it was before tells little beside how it is."""
    past = ["was_so_before" in clause.marks for clause in line.clauses]
    return [PAST if was and not all(past) else 1.0 for was in past]


def is_part(mention: Mention, lexicon: Lexicon) -> bool:
    """Whether it names a part and not a state."""
    return any(s in lexicon.parts for s, weight in mention.senses if weight >= 1.0)


def net_bearing(mention: Mention, clause: Clause, a: Answer, lexicon: Lexicon) -> float:
    """The strongest bearing of a mention on an answer, for it or against it."""
    own = [m for m in clause.mentions if is_part(m, lexicon)]
    state = not is_part(mention, lexicon)
    best = worst = 0.0
    for written in a.line.clauses:
        theirs = [m for m in written.mentions if is_part(m, lexicon)]
        factor = 1.0
        if state and own and theirs:
            factor = SAME_PART if _share_part(own, theirs, lexicon) else OTHER_PART
        for other in written.mentions:
            found = bearing(mention, other, lexicon) * factor
            if found and state is is_part(other, lexicon):
                found *= CROSSED
            best, worst = max(best, found), min(worst, found)
    return best if best >= -worst else worst


def _share_part(
    own: Sequence[Mention], theirs: Sequence[Mention], lexicon: Lexicon
) -> bool:
    """Whether two clauses speak of the same part."""
    return any(
        bearing(a._replace(denied=False), b._replace(denied=False), lexicon) > 0.4
        for a in own
        for b in theirs
    )


Told = tuple["Mention", float]


def _clause_shares(
    told: Sequence[Told], written: Line, lexicon: Lexicon
) -> tuple[float, float]:
    """How far the best clause of an answer was said, and the worst denied."""
    shares = [0.0]
    for clause in written.clauses:
        met = [
            max((bearing(m, o, lexicon) * w for m, w in told), key=abs, default=0.0)
            for o in clause.mentions
        ]
        if met:
            shares.append(sum(met) / len(met) ** 0.7)
    return max(shares), min(shares)


def _by_wordings(
    line: Line, told: Sequence[Told], a: Answer, lexicon: Lexicon
) -> tuple[float, float]:
    """How alike the line is to the nearest wording: in sense, in letters."""
    alike = (likeness(told, w.mentions, lexicon) for w in a.wordings)
    letters = (fuzz.token_set_ratio(line.figures, w.figures) for w in a.wordings)
    return max(alike, default=0.0), max(letters, default=0.0) / 100.0


def _met_in_wordings(
    told: Sequence[Told], answers: Sequence[Answer], lexicon: Lexicon
) -> list[float]:
    """How much of the line stands in one answer's wordings and not in others'."""
    out = [0.0] * len(answers)
    for mention, weight in told:
        met = [_mean_of_best(mention, a.wordings, lexicon) for a in answers]
        mean = sum(met) / len(met)
        for n, value in enumerate(met):
            out[n] += (value - mean) * weight
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


def _is_left_over(seen: Sequence[_Seen], number: int) -> bool:
    """Whether all other answers are spoken against and this one is not."""
    others = [s for n, s in enumerate(seen) if n != number]
    own = seen[number].pro >= seen[number].contra
    return bool(others) and own and all(s.contra > s.pro for s in others)


def likeness(
    told: Sequence[Told], theirs: Sequence[Mention], lexicon: Lexicon
) -> float:
    """How alike what was typed is to what somebody wrote, 0 to 1."""
    if not told or not theirs:
        return 0.0
    there = sum(
        max((bearing(m, o, lexicon) for o in theirs), key=abs) * w for m, w in told
    )
    back = sum(
        max((bearing(m, o, lexicon) * w for m, w in told), key=abs) for o in theirs
    )
    mine, its = there / len(told), back / len(theirs)
    return 2 * mine * its / (mine + its) if mine > 0.0 and its > 0.0 else 0.0


TAKE, READ_BACK = 0.97, 0.7
"""From so sure on an answer is taken at once, if nothing speaks against it, or read
back for a yes. Fitted: `tools/evaluate.py --answers`."""

OPPOSED = 0.5
"""With so much against it an answer is read back, however sure."""


class Verdict(Enum):
    """What to do with the surest answer."""

    TAKE = "take"
    READ_BACK = "read back"
    NONE = "none"


def verdict(choices: Sequence[Choice]) -> Verdict:
    """Whether the surest answer is clear enough to be taken, or to be read back."""
    if not choices or choices[0].sureness < READ_BACK:
        return Verdict.NONE
    first = choices[0]
    clear = first.sureness >= TAKE and first.against < OPPOSED
    return Verdict.TAKE if clear else Verdict.READ_BACK
