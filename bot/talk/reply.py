"""What a line says to the question on the table: one of its choices, and what is left.

People say more than "yes": "oh no, the rims are fine", "all done, new gaskets on". A
clause that is as a whole one of the choices is that choice; the rest is heard after it.
"""

from typing import NamedTuple

from bot.language.line import Line
from bot.talk.messages import Ask, Choice


class Reply(NamedTuple):
    """The choice that was said, and the text without the clauses that said it."""

    choice: Choice
    rest: str


def reply(question: Ask, line: Line) -> Reply | None:
    """The choice that clauses of a line say; None for none, or for two at odds."""
    offered = (*question.choices, *question.more)
    said = {
        number: found
        for number, acts in line.replies.items()
        if (found := [choice for choice in offered if acts.intersection(choice.said)])
    }
    if not said:
        return None
    first, *others = said.values()
    agreed = [choice for choice in first if all(choice in other for other in others)]
    rest = line.but({*said, *line.courtesies})
    return Reply(agreed[0], rest) if agreed else None


LEAST_WORDS = 3
"""With so many words or more a clause may begin with a move and go on."""


def asked_for(line: Line) -> frozenset[str]:
    """The acts that clauses are, or that they clearly begin with."""
    whole = {act for acts in line.replies.values() for act in acts}
    begun = {
        act
        for clause in line.clauses
        for act, end in clause.begins
        if end - clause.first >= LEAST_WORDS
    }
    return frozenset(whole | begun)


def tone(line: Line) -> bool | None:
    """Whether a line says yes or no, or begins with one; None when neither or both.

    A "no" that denies what stands right behind it is none: "no brakes at all".
    """
    acts = [act for acts in line.replies.values() for act in acts]
    told = {"yes", "no"}.intersection(acts)
    if len(told) > 1 or "could_be_either" in {*acts, *line.opens}:
        return None
    if told:
        return "yes" in told
    first = line.clauses[0] if line.clauses else None
    opens = {act for act, end in first.begins if end == 1} if first else set()
    opens &= {"yes", "no"}
    denies = any(m.first == 1 and m.denied for m in line.mentions)
    if len(opens) != 1 or ("no" in opens and denies):
        return None
    return "yes" in opens


def after_tone(line: Line) -> str:
    """What stands beside the yes or no of a line."""
    said = {n for n, acts in line.replies.items() if acts & {"yes", "no"}}
    if said:
        return line.but({*said, *line.courtesies})
    return line.plain[line.words[1].start :] if len(line.words) > 1 else ""
