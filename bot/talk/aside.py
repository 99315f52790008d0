"""What people say that is no answer: may I drive, what do you mean, no meter here."""

from collections.abc import Callable

from bot.job.job import Stage
from bot.language.line import Line
from bot.model.card import Drive
from bot.model.truck import same_part
from bot.talk import phrases
from bot.talk.library import View, entered
from bot.talk.messages import Ask, Say
from bot.talk.owed import in_full
from bot.talk.reply import asked_for
from bot.talk.table import BY_MARK, MOVES

DOUBTS = frozenset(("hearsay", "doubt"))
"""Marks of what somebody else says, or what is said with a doubt."""

LACKING, WITHOUT, HERE, UNREAD = "lacking", "without", "here", "unread"
"""Marks of "I have no ...", a bare "no ...", "... here", "the gauge is broken"."""

TOOLS = {
    "helper": "helper",
    "tool": "tools",
    "torch": "torch",
    "meter": "meter",
    "gauge": "tyre gauge",
}
"""Common tools by the word that names them, and as cards name them."""

MEASURING = frozenset(("meter", "tyre gauge"))
"""Tools that are missing only where they are asked for: dashboards have gauges too."""

MOST_SHORT = 6
"""A bare "no" before a tool's whole name says it only in so few words: "no lamp lights
up" is an answer."""

MOST_LACKING = 8
"""So far into what was said the name of the missing tool must stand."""

LEAST_LETTERS = 4


def is_doubtful(line: Line) -> bool:
    """Whether what they say is hearsay, or said with a doubt."""
    return bool(line.marks & DOUBTS)


WORK = frozenset(("made", "is_mended_since"))
NO_WORK = frozenset(
    ("planned", "asks", "if_so", "lacking", "unread", "hearsay", "was_so_before")
)
"""Marks of work that is told, and of what makes it no work done now."""


REFUSALS = frozenset(
    ("no", "not_so", "back", "can_not_do_it_here", "another_way", "not_done_yet")
)
"""Acts beside which no work is told as done."""


def tells_of_work(line: Line) -> bool:
    """Whether words tell that something was repaired: "new core in", "pipe washed"."""
    if line.told & REFUSALS:
        return False
    told = [clause for clause in line.clauses if clause.marks & WORK]
    denied = any(m.denied for clause in told for m in clause.mentions)
    return bool(told) and not line.is_question and not (line.marks & NO_WORK or denied)


def is_blind(line: Line) -> bool:
    """Whether they say that nothing can be read, which is no finding."""
    return UNREAD in line.marks


def lacks(line: Line, tools: tuple[str, ...]) -> str:
    """The tool that they say is not here, by its name in `tools`; "" for none."""
    turns = line.marks
    if not turns & {LACKING, WITHOUT}:
        return ""
    has_none = any(word.said.startswith("have ") for word in line.words)  # "have no"
    lacking = has_none or LACKING in turns or {WITHOUT, HERE} <= turns
    said = [word.said for word in line.words]
    near = said[:MOST_LACKING]
    for name, tool in _named(tools).items():
        whole = f" {name} " in f" {' '.join(said)} "
        if lacking and any(_names(w, near) for w in name.split()):
            return tool
        if WITHOUT in turns and whole and len(said) <= MOST_SHORT:
            return tool
    return ""


def _named(tools: tuple[str, ...]) -> dict[str, str]:
    """What a tool may be called, and its name on the card."""
    common = {
        name: tool
        for name, tool in TOOLS.items()
        if tool not in MEASURING or any(same_part(tool, t) for t in tools)
    }
    return {**{tool: tool for tool in tools}, **common}


def _names(word: str, said: list[str]) -> bool:
    """Whether a word of a tool's name is one that was said, or ends or begins one."""
    if len(word) < LEAST_LETTERS:
        return False
    return any(
        word.startswith(s) or s.rstrip("s").endswith(word)
        for s in said
        if len(s) >= LEAST_LETTERS
    )


def asked_back(view: View, line: Line) -> tuple[Say, ...]:
    """What is told when it is asked: may it move, what to carry, what was answered."""
    asked = asked_for(line)
    for act, tells in _TOLD:
        if act in asked:
            return tells(view)
    return ()


def answered(view: View) -> tuple[Say, ...]:
    """What was answered so far, in order, and how to answer one anew."""
    rows = entered(view)
    if not rows:
        return (Say("Nothing is answered yet."),)
    said = (f"{check}: {answer}" for check, answer in rows)
    return (Say("You answered:"), *map(Say, said), Say(ANEW))


ANEW = "To answer one anew, type its name as it stands here."


def keys(question: Ask) -> tuple[Say, ...]:
    """How to answer the question on the table, and what each move does."""
    digits = "Type a number" if question.choices else "Type"
    moves = [
        Say(f"{c.key} {c.label}: {BY_MARK[c.key].does}.")
        for c in question.more
        if c.key in BY_MARK
    ]
    said = [Say(f"{move.said}: {move.does}.") for move in MOVES if not move.mark]
    return (Say(f"{digits} or say it in your own words. Or:"), *moves, *said)


def may_it_move(view: View) -> Say:
    """The drive verdict, and where it comes from."""
    verdict = view.drive
    text = f"Drive verdict now: {verdict.value}."
    told = " ".join(in_full(view.ledger))
    if told:
        text += f" {told}"
    elif view.rules:
        text += f" The stop rule '{view.rules[0].title}' holds."
    elif verdict.stays:
        text += " Do not drive it, not even slowly, until that changes."
    elif verdict is Drive.CREEP:
        text += " At walking pace to the nearest safe place, no farther."
    if view.job.stage in (Stage.CHECK, Stage.REPAIR):
        text += " It may change with what you find."
    elif view.card is None:
        text = text if view.ledger.hazards else BEFORE_A_CARD
    return Say(f"{text} When in doubt it stays where it is.")


MOST_CARRIED = 6


def carry(view: View) -> Say:
    """What to have aboard for this fault, the likeliest causes' parts first."""
    card, belief = view.card, view.belief
    if card is None or belief is None:
        return Say("That depends on what it is. Say first what is wrong.")
    causes = [found for name, _ in belief.ranked() if (found := card.cause(name))]
    names = dict.fromkeys(
        " or ".join(choice.name for choice in part.choices)
        for cause in causes
        for repair in card.repairs_for(cause)
        for part in repair.needs.parts
    )
    listed = "; ".join(list(names)[:MOST_CARRIED]) or "no parts, only tools"
    return Say(f"For this fault, the likeliest first: {listed}.")


BEFORE_A_CARD = (
    "Until I know what it is, it stays where it is. First look at these: do the brakes "
    "hold and is their air up and steady; are all wheels, nuts and tyres whole; does "
    "it steer; does anything smoke, burn, leak fuel or boil? Tell me what you see."
)


_TOLD: tuple[tuple[str, Callable[[View], tuple[Say, ...]]], ...] = (
    (phrases.MAY_IT_MOVE, lambda view: (may_it_move(view),)),
    (phrases.CARRY, lambda view: (carry(view),)),
    (phrases.ANSWERED, answered),
)
