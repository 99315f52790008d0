"""What people say that is no answer: may I drive, what do you mean, I am not sure.

Each of these is heard before the words are taken for a finding.
"""

import re

from bot.job.job import Stage
from bot.model.card import Drive
from bot.model.truck import same_part
from bot.talk import phrases
from bot.talk.library import View
from bot.talk.messages import Say

_MAY_DRIVE = re.compile(
    r"^is (?:it|she|he|this) safe$"
    r"|\b(?:safe|ok|okay|alright|all right|fit|fine) to (?:drive|move|go|use)\b"
    r"|\b(?:can|may|could|should|shall|dare) (?:i|we) "
    r"(?:still |just |now |even )?"
    r"(?:drive|move|limp|(?:get|go) (?:it |her )?(?:home|away|on|back))\b"
)
_PUZZLED = re.compile(
    r"^(?:sorry |er |um )?(?:what do(?:es)? (?:you|that|it|this) mean|what is that"
    r"|whats that|i do ?nt (?:understand|follow|get it)|dont understand|how do you mean"
    r"|what do i do now|what now|how do i do that|come again|pardon|you what|eh|huh)\b"
)
_HEDGES = re.compile(
    r"\b(?:i think|i guess|i suppose|maybe|perhaps|might be|could be"
    r"|not (?:really )?sure"
    r"|mate (?:says|reckons)|he (?:says|reckons|heard)|she (?:says|reckons|heard)"
    r"|hard to say|i dont think|do not think|probably|sort of|kind of|but it was)\b"
)
_LACKS = re.compile(
    r"^(?:sorry |well |no |but |i |we )*"
    r"(?:havent (?:got|any)|have ?nt got|have no|have not|ive no|ive got no"
    r"|dont have|do not have|got no|aint got|forgot|cant find)\b"
)
_LEFT = re.compile(
    r"^(?:sorry |well |i |ive |we )*(?:left (?:the|my) .*(?:home|behind|garage)"
    r"|(?:the|my) .*(?:is|are) (?:broken|bust|dead|lost|at home)$)"
)
_ABOUT = frozenset(("here", "aboard", "handy"))
_SHORTLY = ("no", "without", "lost", "broken")
MOST_SHORT = 6
"""A bare "no" before a tool's whole name says it only in so few words: "no lamp lights
up" is an answer."""
MOST_LACKING = 8
"""So far into what was said the name of the missing tool must stand."""


def asks_to_drive(bare: str) -> bool:
    """Whether plain small words ask if the truck may move."""
    return bool(_MAY_DRIVE.search(bare))


_ASKING = ("is", "can", "may", "could", "should", "shall", "dare", "do", "am", "are")


_BLIND = re.compile(
    r"\b(?:gauges?|needles?|meter|dial)\b.*\b"
    r"(?:broken|bust|dead|missing|(?:dont|doesnt|do not|does not|not) work(?:ing)?)$"
    r"|^no gauges?(?: here| fitted| at all)?$"
)


def is_blind(bare: str) -> bool:
    """Whether they say that nothing can be read, which is no finding."""
    return bool(_BLIND.search(bare))


def is_question(words: str) -> bool:
    """Whether words ask something, with a question mark or by how they begin."""
    return words.rstrip().endswith("?") or words.lower().startswith(
        tuple(f"{word} " for word in _ASKING)
    )


def is_puzzled(bare: str) -> bool:
    """Whether they ask what is meant."""
    return bool(_PUZZLED.search(bare))


def is_doubtful(bare: str) -> bool:
    """Whether what they say is hearsay, or said with a doubt."""
    return bool(_HEDGES.search(bare))


def lacks(bare: str, tools: tuple[str, ...]) -> str:
    """The tool that they say is not here, by its name in `tools`; "" for none."""
    said = bare.split()
    common = {
        name: tool
        for name, tool in phrases.HANDS.items()
        if tool not in phrases.MEASURING or any(same_part(tool, t) for t in tools)
    }
    named = {**{tool: tool for tool in tools}, **common}
    if said and said[0] in _SHORTLY and _ABOUT & set(said):
        short = [word for word in said[1:] if len(word) >= LEAST_LETTERS]
        for name, tool in named.items():
            if any(_begins(word, short) for word in name.split()):
                return tool
    if said and said[0] in _SHORTLY and len(said) <= MOST_SHORT:
        return next((named[name] for name in named if f" {name} " in f" {bare} "), "")
    if not _LACKS.search(bare) and not _LEFT.search(bare):
        return ""
    early = f" {' '.join(said[:MOST_LACKING])} "
    for name, tool in named.items():
        words = {name, *name.split()} - phrases.NO_TOOL
        if any(f" {word} " in early for word in words):
            return tool
    return ""


LEAST_LETTERS = 4


def _begins(word: str, said: list[str]) -> bool:
    """Whether a word of a tool's name is one that was said, or begins with it."""
    return any(word.startswith(short) for short in said)


def may_it_move(view: View) -> Say:
    """The drive verdict, and where it comes from."""
    verdict = view.drive
    text = f"Drive verdict now: {verdict.value}."
    if view.rules:
        text += f" The stop rule '{view.rules[0].title}' holds."
    elif verdict is Drive.DO_NOT_MOVE:
        text += " Do not drive it, not even slowly, until that changes."
    elif verdict is Drive.CREEP:
        text += " At walking pace to the nearest safe place, no farther."
    if view.job.stage in (Stage.CHECK, Stage.REPAIR):
        text += " It may change with what you find."
    return Say(f"{text} When in doubt it stays where it is.")
