"""What a line says outright of an answer: stated unasked, or a yes or no to it.

Stricter than `bot.match.answers`, which picks among answers to a question: here nobody
asked, or a life may hang on a yes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bot.language.compare import is_part
from bot.language.scope import NOW
from bot.match.answers import Choice
from bot.match.features import (
    CANNOT,
    CLEAR,
    clause_weights,
    measured,
    net_bearing,
    parts_named,
)
from bot.match.likeness import gathered, likeness

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.language.lexicon import Lexicon
    from bot.language.line import Line
    from bot.language.mentions import Mention
    from bot.match.features import Answer

AGREE = 0.75
FEWEST = 2
CLEARLY = 0.1
"""A fact that nobody asked for and an answer must be so alike, in so many things said,
and no other answer nearly as much. Source: our choice; a wrong one costs trust."""


def stated(line: Line, answers: Sequence[Answer], lexicon: Lexicon) -> Choice | None:
    """The answer that a clause of a story states outright, or None."""
    clauses = {
        tuple((m.senses, m.denied) for m in clause.mentions): clause.mentions
        for clause in line.clauses
        if len(clause.mentions) >= FEWEST and clause.marks <= {NOW}
    }
    told = [
        (
            {sense for m in said for sense, _ in m.senses},
            gathered((m, 1.0) for m in said),
        )
        for said in clauses.values()
    ]
    found = []
    for number, a in enumerate(answers):
        written = [
            *(c.mentions for c in a.line.clauses),
            *(w.mentions for w in a.wordings),
        ]
        alike = max(
            (
                likeness(said, mentions, lexicon)
                for senses, said in told
                for mentions in written
                if len(mentions) >= FEWEST and _may_agree(senses, mentions)
            ),
            default=0.0,
        )
        if alike >= AGREE:
            found.append(Choice(number, a.text, alike, 0.0, ()))
    found.sort(key=lambda c: -c.sureness)
    if len(found) > 1 and found[1].sureness > found[0].sureness - CLEARLY:
        return None
    return found[0] if found else None


def _may_agree(senses: set[str], written: Sequence[Mention]) -> bool:
    """Whether most of what is written has one of the senses: a quick look first."""
    met = sum(any(sense in senses for sense, _ in m.senses) for m in written)
    return 2 * met >= len(written)


def confirms(
    line: Line, tone: bool | None, guess: Answer, lexicon: Lexicon
) -> bool | None:
    """Whether a line says yes or no to what was read back; None when it says neither.

    `tone` is the yes or no that it says outright. With more behind it, what is behind
    must not speak the other way: "yes it is wet" to "dry" is asked again. Without
    either, words that say the same are a yes, words that say the opposite a no.
    """
    if line.is_question or (tone is None and line.opens & CANNOT):
        return None
    if tone is None and guess.bounds and _is_figure(line):
        told = measured(line, (guess,), lexicon)
        held = {guess.bounds.holds(found) for found in told}
        return held.pop() if len(held) == 1 else None
    pro, contra = _for_and_against(line, guess, lexicon)
    if tone is True:
        return None if contra > CLEAR and contra > pro else True
    if tone is False:
        return None if pro >= ALIKE and pro > 2 * contra else False
    if pro >= ALIKE and contra <= CLEAR:
        return True
    return False if contra >= ALIKE and pro <= CLEAR else None


def _is_figure(line: Line) -> bool:
    """Whether a line is a figure, and no sentence with a number: "2 of us sit here"."""
    exact = any(q.unit or not q.value.is_integer() for q in line.quantities)
    return bool(line.quantities) and (exact or len(line.words) <= MOST_WORDS)


MOST_WORDS = 5
"""A bare number among more words counts other things. Our choice."""

ALIKE = 0.75
"""So much said of the same is a yes, or a no, without the word. Our choice."""


def _for_and_against(
    line: Line, guess: Answer, lexicon: Lexicon
) -> tuple[float, float]:
    """How much of a line says the same as an answer, and how much the opposite."""
    pro = contra = 0.0
    for clause, weight in zip(line.clauses, clause_weights(line), strict=True):
        parts = parts_named(clause, lexicon)
        for mention in clause.mentions if not clause.says else ():
            found = net_bearing(mention, parts, guess, lexicon) * weight
            if not is_part(mention, lexicon):
                pro, contra = pro + max(found, 0.0), contra + max(-found, 0.0)
    return pro, contra
