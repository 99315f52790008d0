"""What speaks for each answer to a question in what a person typed: figures to weigh.

Every mention of the line is held against every answer: the same sense speaks for an
answer, its opposite or its denial against it; what all answers share tells nothing. A
state counts more where the part that it is said of is the same. Amounts are held
against bounds.
"""

from __future__ import annotations

from math import log1p
from typing import TYPE_CHECKING, NamedTuple

from rapidfuzz import fuzz

from bot.language.bounds import Bounds, bounds, picked, speaks_of_two
from bot.language.compare import bearing, is_part
from bot.language.counts import how_many
from bot.language.line import Clause, Line, Wording, listen, wording
from bot.language.quantities import Quantity
from bot.language.scope import BEFORE, OVER
from bot.match.likeness import (
    by_wordings,
    clause_shares,
    gathered,
    met_in_wordings,
)

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
    "how many",
    "wording",
    "wording letters",
    "wording state",
)
FIGURE = FEATURES.index("figure")
NONE_FEATURES = ("always", "length", "spread", "cannot")

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

    `tone` is 1 for an answer that begins with "Yes", -1 with "No", less for "No froth";
    `many` 1 where it says something of all, -1 of some only; `apart` whether its figure
    is the difference of two readings.
    """

    text: str
    line: Line
    bounds: Bounds | None
    tone: float
    wordings: tuple[Wording, ...] = ()
    apart: bool = False
    many: float = 0.0


def answer(
    text: str, lexicon: Lexicon, wordings: Sequence[str] = (), ask: str = ""
) -> Answer:
    """An answer made ready to be compared with; `ask` is the question, if any."""
    line = listen(text, lexicon)
    more = tuple(wording(said, lexicon) for said in wordings)
    apart = speaks_of_two(text) or speaks_of_two(ask)
    many = how_many(line.words, line.figures, line.marks, lexicon)
    return Answer(text, line, bounds(text), _tone_of(line), more, apart, many)


def _tone_of(line: Line) -> float:
    """What an answer says by its first word."""
    if not line.words:
        return 0.0
    first = line.words[0].said
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


def _agreed(told: float, written: float) -> float:
    """How far a yes or no of a line is that of an answer.

    "No bulges" is no "No, the needles stand": it denies the bulges alone.
    """
    other = told == NO_SUCH and written == -1.0
    return 0.0 if other else told * written


class Seen(NamedTuple):
    """How much speaks for an answer and against it, and the words that speak for it."""

    pro: float
    contra: float
    why: tuple[str, ...]


def most_against(seen: Sequence[Seen], number: int) -> float:
    """The most that speaks against an answer, or for another one."""
    others = [s.pro for n, s in enumerate(seen) if n != number]
    return max([seen[number].contra, *(pro - CLEAR for pro in others)])


def features(
    line: Line, answers: Sequence[Answer], lexicon: Lexicon
) -> tuple[list[list[float]], list[float], list[Seen]]:
    """What the weights look at: a row an answer, the row of "none", what was seen."""
    weights = clause_weights(line)
    told = [
        (mention, weight)
        for clause, weight in zip(line.clauses, weights, strict=True)
        for mention in clause.mentions
    ]
    nets = _all_nets(line, answers, lexicon)
    rows = [[0.0] * len(FEATURES) for _ in answers]
    seen = [Seen(0.0, 0.0, ()) for _ in answers]
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
    apart = any(a.apart for a in answers)
    figure = picked(
        measured(line, answers, lexicon), [a.bounds for a in answers], apart=apart
    )
    many = how_many(line.words, line.figures, line.marks, lexicon)
    once = gathered(told)
    met = met_in_wordings(once, [a.wordings for a in answers], lexicon)
    for n, a in enumerate(answers):
        rows[n][3:] = [
            *clause_shares(once, a.line, lexicon),
            fuzz.token_set_ratio(line.figures, a.text.lower()) / 100.0,
            float(n == figure),
            _agreed(tone(line), a.tone),
            float(_is_left_over(seen, n)),
            many * a.many,
            *by_wordings(line, once, a.wordings, lexicon),
            met[n],
        ]
        if figure is not None and a.bounds:  # "2 psi more" is not "0.15 bar or more"
            rows[n] = [0.0 if n_ != FIGURE else v for n_, v in enumerate(rows[n])]
    cannot = float(bool(line.opens & CANNOT))
    return rows, [1.0, log1p(len(line.words)), -spread, cannot], seen


def _all_nets(
    line: Line, answers: Sequence[Answer], lexicon: Lexicon
) -> list[list[float]]:
    """How each mention of a line bears on each answer; what is said again, once."""
    kept: dict[object, list[list[float]]] = {}
    nets: list[list[float]] = []
    for clause in line.clauses:
        key = tuple((mention.senses, mention.denied) for mention in clause.mentions)
        if key not in kept:
            kept[key] = _nets(clause, answers, lexicon)
        nets += kept[key]
    return nets


def _nets(
    clause: Clause, answers: Sequence[Answer], lexicon: Lexicon
) -> list[list[float]]:
    """How each mention of a clause bears on each answer.

    A thing speaks for no answer that the same clause speaks against by all that it says
    of it: "not a sound from any joint" beside "air hisses from a joint".
    """
    parts = parts_named(clause, lexicon)
    nets = [
        [net_bearing(mention, parts, a, lexicon) for a in answers]
        for mention in clause.mentions
    ]
    states = [_is_state(mention, lexicon) for mention in clause.mentions]
    for n in range(len(answers)):
        said = [net[n] for net, state in zip(nets, states, strict=True) if state]
        if said and min(said) < -CLEAR and max(said) <= CLEAR:
            for net, state in zip(nets, states, strict=True):
                net[n] = net[n] if state else min(net[n], 0.0)
    return nets


def _is_state(mention: Mention, lexicon: Lexicon) -> bool:
    """Whether it says for certain what has an opposite, such as "quiet"."""
    sure = [sense for sense, weight in mention.senses if weight >= 1.0]
    known = [lexicon.senses.get(s) for s in sure if s not in lexicon.parts]
    return any(sense is not None and sense.against for sense in known)


def clause_weights(line: Line) -> list[float]:
    """What each clause counts: how it was before tells little beside how it is."""
    past = [bool(clause.marks & {BEFORE, OVER}) for clause in line.clauses]
    return [PAST if was and not all(past) else 1.0 for was in past]


def measured(
    line: Line, answers: Sequence[Answer], lexicon: Lexicon
) -> tuple[Quantity, ...]:
    """The amounts of a line that may be meant by answers with bounds.

    Not what was so before; and where several are told, those said of what the answers
    or their conditions name: "cold it gave 4, hot 0.8" at "2 bar or more, hot".
    """
    told = [
        (clause, amount)
        for clause, weight, amounts in zip(
            line.clauses, clause_weights(line), line.amounts(lexicon), strict=True
        )
        for amount in amounts
        if weight == 1.0
    ]
    named = [
        mention
        for a in answers
        if a.bounds
        for clause in a.line.clauses
        for mention in clause.mentions
        if not is_part(mention, lexicon)
    ]
    met = [
        amount
        for clause, amount in told
        if any(
            bearing(mine, theirs, lexicon) >= CONDITION
            for mine in clause.mentions
            for theirs in named
        )
    ]
    return tuple(met or [amount for _, amount in told] or line.quantities)


CONDITION = 0.8
"""So much a clause must say what an answer says beside its figure. Our choice."""


def parts_named(clause: Clause, lexicon: Lexicon) -> tuple[Mention, ...]:
    """The parts that a clause names; one that is named again stands once."""
    named = (m for m in clause.mentions if is_part(m, lexicon))
    return tuple({mention.senses: mention for mention in named}.values())


def net_bearing(
    mention: Mention, own: Sequence[Mention], a: Answer, lexicon: Lexicon
) -> float:
    """The strongest bearing of a mention on an answer, for it or against it.

    `own` are the parts that its clause names.
    """
    state = not is_part(mention, lexicon)
    best = worst = 0.0
    for written in a.line.clauses:
        theirs = parts_named(written, lexicon)
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


def _is_left_over(seen: Sequence[Seen], number: int) -> bool:
    """Whether all other answers are spoken against and this one is not."""
    others = [s for n, s in enumerate(seen) if n != number]
    own = seen[number].pro >= seen[number].contra
    return bool(others) and own and all(s.contra > s.pro for s in others)
