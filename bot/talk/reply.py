"""What a line says to the question on the table: one of its choices, and what is left.

People say more than "yes": "oh no, the rims are fine", "all done, new gaskets on". A
clause that is as a whole one of the choices is that choice; the rest is heard after it.
"""

from typing import NamedTuple

from bot.job.events import SteppedBack
from bot.language.lexicon import NOT
from bot.language.line import Begun, Line
from bot.talk import phrases
from bot.talk.messages import Ask, Choice


class Reply(NamedTuple):
    """The choice that was said, and the text without the clauses that said it."""

    choice: Choice
    rest: str


def reply(question: Ask, line: Line) -> Reply | None:
    """The choice that clauses of a line say; None for none, or for two at odds."""
    done = () if line.is_question else question.choices  # "is that ok?" is nothing done
    offered = (*done, *question.more)
    said = {
        number: found
        for number, acts in line.replies.items()
        if (found := [choice for choice in offered if acts.intersection(choice.said)])
    }
    if not said:
        return None
    first, *others = said.values()
    agreed = [choice for choice in first if all(choice in other for other in others)]
    back = [
        c for found in said.values() for c in found if isinstance(c.act, SteppedBack)
    ]
    agreed = agreed or back[:1]  # "no wait, I haven't done it, go back"
    if agreed and _is_gainsaid(agreed[0], line):
        return None
    rest = line.but({*said, *line.courtesies})
    return Reply(agreed[0], rest) if agreed else None


ASSENTS = frozenset(("yes", "done", "go_on", "clean"))
DISSENTS = frozenset(("no", "not_so", "not_done_yet"))


def _is_gainsaid(choice: Choice, line: Line) -> bool:
    """Whether another clause says no to what one clause says yes to."""
    every = line.told
    agrees = ASSENTS.intersection(choice.said)
    return bool(agrees and every & DISSENTS and not DISSENTS.intersection(choice.said))


LEAST_WORDS = 3
"""With so many words or more a clause may begin with a move and go on."""


def asked_for(line: Line) -> frozenset[str]:
    """The acts that clauses are, or that they clearly begin with."""
    begun = {
        begun.act
        for clause in line.clauses
        for begun in clause.begins
        if begun.last - clause.first >= LEAST_WORDS
    }
    return line.told | begun


def move_first(question: Ask, line: Line) -> Reply | None:
    """The move that a line is, begins with as a clause of its own, or clearly opens.

    "Not now, I can't wait a night" puts the check off; what is said of it is kept.
    """
    first = line.clauses[0] if line.clauses else None
    if first is None or first.last - first.first < LEAST_MOVE:
        return None
    whole = first.says - NO_MOVES
    opens = {
        begun.act
        for begun in first.begins
        if begun.last - first.first >= LEAST_WORDS and len(line.words) <= MOST_MOVE
    } - NO_MOVES
    for choice in question.more:
        if whole.intersection(choice.said):
            return Reply(choice, line.but({0, *line.courtesies}))
        if opens.intersection(choice.said):
            return Reply(choice, "")
    return None


NO_MOVES = frozenset((*phrases.UNSURE, *phrases.NO, *phrases.DONE, phrases.NO_PART))
"""What a line may open with and go on to a finding: "took the plug off, it stopped"."""

LEAST_MOVE, MOST_MOVE = 2, 9
"""A clause of one word may be a finding ("stuck"); a line that opens with a move and
goes on for longer than this tells of what was found."""


def tone(line: Line) -> bool | None:
    """Whether a line says yes or no, or begins with one; None when neither or both.

    A "no" that denies what stands right behind it is none: "no brakes at all", "not
    moving the truck".
    """
    told = {"yes", "no"} & line.told
    if len(told) > 1 or "could_be_either" in line.told | line.opens:
        return None
    if told:
        return "yes" in told
    begun = _opening(line)
    if begun is None or (begun.act == "no" and _denies(line, begun)):
        return None
    return begun.act == "yes"


def _opening(line: Line) -> Begun | None:
    """The yes or no, and nothing else, that a line begins with."""
    begins = line.clauses[0].begins if line.clauses else ()
    found = {b.act: b for b in begins if b.last - b.first == 1 and b.act in YES_OR_NO}
    return next(iter(found.values())) if len(found) == 1 else None


YES_OR_NO = ("yes", "no")


def _denies(line: Line, no: Begun) -> bool:
    """Whether a "no" is one of what follows: "no brakes at all", "not moving"."""
    after = line.words[no.last : no.last + 1]
    not_it = line.words[no.first].said == "not" and after and not after[0].gap
    return bool(not_it) or any(m.first == no.last and m.denied for m in line.mentions)


def after_tone(line: Line) -> str:
    """What stands beside the yes or no of a line."""
    said = {n for n, acts in line.replies.items() if acts & {"yes", "no"}}
    if said:
        return line.but({*said, *line.courtesies})
    begun = _opening(line)
    after = line.words[begun.last if begun else 1 :]
    return line.plain[after[0].start :] if after else ""


def takes_back(line: Line) -> bool:
    """Whether a "but" with a "not" behind it follows: "yes, but I did not look"."""
    firsts = [line.words[clause.first].said for clause in line.clauses]
    at = next((n for n, said in enumerate(firsts) if said in BUT), len(firsts))
    rest = line.words[line.clauses[at].first :] if at < len(firsts) else ()
    return any(word.stem == NOT for word in rest)


BUT = frozenset(("but", "though", "although", "except"))
