"""Which finding words mean: of the check on the table, or of another one.

What could hurt somebody if it were misheard, what is said with a doubt, and what is
only half understood is played back for a yes.
"""

import re
from dataclasses import dataclass

from bot.job import events as e
from bot.model.card import Card, Check
from bot.talk import phrases
from bot.talk.aside import is_doubtful
from bot.talk.follow import stated
from bot.talk.library import Library, View, finding_of, sayable
from bot.talk.messages import Message, Say
from bot.units import amounts

SURE = 0.8
OUTRIGHT = 0.95
HALF_SURE = 0.4
LONG = 12
ONLY_THAT = "I took one thing from that. What else you noticed, say it by itself."
_NOT_WORDS = re.compile(r"[^\w\s]")


@dataclass(frozen=True, slots=True)
class Heard:
    """What typed words came to: events to record, and words back."""

    events: tuple[e.Event, ...] = ()
    says: tuple[Message, ...] = ()


def say(text: str) -> Heard:
    """Words back, and nothing that happened."""
    return Heard(says=(Say(text),))


def plainly(words: str) -> str:
    """Small letters, no punctuation, one blank between words."""
    return " ".join(_NOT_WORDS.sub("", words.lower()).split())


def found_events(view: View, event: e.Found, library: Library) -> tuple[e.Event, ...]:
    """A finding, and the stop rule that it raises."""
    finding = finding_of(view.card, event.check, event.answer) if view.card else None
    if finding and finding.stop:
        rule = finding.stop.target.rsplit("/", 1)[-1].removesuffix(".md")
        if library.rule(rule):
            return event, e.StopRaised((rule,))
    return (event,)


def _guards(check: Check) -> bool:
    """Whether an answer misheard could hurt somebody: then it is always played back."""
    grave = any(f.stop or f.drive for f in check.findings)
    return check.needs.first or grave


def in_words(view: View, check: Check, words: str, library: Library) -> Heard | None:
    """The finding of the check on the table that words mean, or None."""
    options = sayable(check)
    if _is_bare_yes(words) and sum(o.startswith("Yes") for o in options) != 1:
        return None
    chosen = library.choose(words, options)
    if not chosen:
        return None
    index, sure = chosen[0]
    denied = (check.id, options[index]) in view.job.denied
    doubted = denied or is_doubtful(plainly(words)) or _tells_figures(words)
    if sure >= SURE and not _guards(check) and not doubted:
        event = e.Found(check.id, options[index], words)
        return Heard(found_events(view, event, library), _only_that(words))
    if sure >= HALF_SURE and not denied:
        return Heard((e.Guessed(check.id, options[index], words),))
    return None


def _tells_figures(words: str) -> bool:
    """Whether two measured values are told, which were meant for another check."""
    kinds = [found.unit.kind for found in amounts(words) if found.unit]
    return sum(kind in ("pressure", "voltage", "temperature") for kind in kinds) > 1


def _is_bare_yes(words: str) -> bool:
    """Whether a yes is all that was said."""
    return plainly(words) in phrases.YES


def _only_that(words: str) -> tuple[Message, ...]:
    """A hint that what else was said has not been used."""
    more = len(words.split()) > LONG and re.search(r"[,;.] | but | and ", words)
    return (Say(ONLY_THAT),) if more else ()


def is_verbatim(view: View, words: str, library: Library) -> bool:
    """Whether words are an answer of the check on the table, letter for letter."""
    chosen = library.choose(words, sayable(view.check)) if view.check else ()
    return bool(chosen) and chosen[0][1] >= OUTRIGHT + 0.01


def elsewhere(
    view: View, card: Card, words: str, library: Library
) -> tuple[float, Heard] | None:
    """How outright a finding of another check is stated; it is to be played back."""
    found = [
        (sure, e.Guessed(check.id, answer, words))
        for check in card.checks
        if view.job.answered(check.id) is None and check is not view.check
        for sure, answer in stated(check, words, library)
        if (check.id, answer) not in view.job.denied
    ]
    if not found:
        return None
    sure, guess = max(found, key=lambda pair: pair[0])
    return sure, Heard((guess,))
