"""A danger denied: in answer to a doubt about it, or while it stops the work.

A stop is lifted only by what says outright that the danger is not there; a doubt, which
was asked for a yes or no, by less.
"""

from bot.job import events as e
from bot.language.lexicon import NOT
from bot.language.line import Line
from bot.match.features import CANNOT
from bot.model.rule import StopRule
from bot.talk.finding import Heard, is_found, lost
from bot.talk.library import Library, View
from bot.talk.messages import Say
from bot.talk.reply import tone


def denies(view: View, words: str, library: Library) -> bool:
    """Whether words deny what is asked of a danger, and tell of none themselves."""
    rule = library.rule(view.job.doubt[0])
    if rule is None or any(hit.rule == rule.id for hit in library.danger(words)):
        return False
    return library.bears(words, rule.question)[1] <= DENIAL


DENIAL = -0.6
"""So clearly some of it must be said not to be. Our choice."""


def at_stop(view: View, words: str, library: Library) -> Heard:
    """A plain denial of all that stopped the work; else it is told what may be said.

    Where a finding stopped the work, it is that finding that has to be taken back.
    """
    told = all(_is_denied(words, rule, library) for rule in view.rules)
    by_words = not any(is_found(view, rule.id, library) for rule in view.rules)
    if told and by_words:
        return Heard((e.StopDenied(),), (Say(TAKEN_AS_NOT_SO),))
    return lost(IS_IT_SO if told else FIRST_THIS)


def _is_denied(words: str, rule: StopRule, library: Library) -> bool:
    """Whether words say outright that a danger is not there.

    They tell of no danger themselves, nor of anything that could not be done or seen,
    or is not so yet.
    """
    line = library.line(words)
    if line.is_question or library.danger(words) or line.marks & NOT_HERE_AND_NOW:
        return False
    if CANNOT.intersection(line.told, *(clause.says for clause in line.clauses)):
        return False
    if any(word.said in NOT_NOW for word in line.words):
        return False
    bears = (library.bears(words, text) for text in (rule.question, rule.title))
    least = PLAIN_NO if tone(line) is False else DENIAL
    return _gainsays(line, rule, library) and min(w for _, w in bears) <= least


NOT_NOW = frozenset(("yet", "before", "earlier"))
"""Words beside which a denial tells of another time."""

PLAIN_NO = -0.5
"""And so clearly beside a plain no."""


def _gainsays(line: Line, rule: StopRule, library: Library) -> bool:
    """Whether a line denies what a sign of a danger says, or says what it denies."""
    signs = [_polar(library.line(sign)) for sign in rule.signs]
    said = frozenset(pair for sign in signs for pair in sign)
    return any((stem, not denied) in said for stem, denied in _polar(line))


def _polar(line: Line) -> frozenset[tuple[str, bool]]:
    """The stems of what a line says, each with whether it is denied."""
    found = set()
    for mention in line.mentions:
        words = line.words[mention.first : mention.last]
        denied = mention.denied or line.has_not(mention)
        found |= {(word.stem, denied) for word in words if word.stem not in ("", NOT)}
    return frozenset(found)


NOT_HERE_AND_NOW = frozenset(
    ("asks", "if_so", "planned", "hearsay", "doubt", "lacking", "was_so_before")
)
"""Marks of what is no look at the truck."""

TAKEN_AS_NOT_SO = "I take that as: looked, and it is not so here. Not so? Type <."
IS_IT_SO = "If you have looked and it is not so here, type 3."
FIRST_THIS = (
    "First the stop: type 1 when all of it is done, 3 if you have looked and it is not "
    "so here, 2 for help."
)
