"""The end of a job in words: how a trial came out, what it was, what is recorded."""

from bot.job import events as e
from bot.language.quantities import share
from bot.match.answers import Verdict, verdict
from bot.model.card import Proof
from bot.talk.aside import tone
from bot.talk.finding import Heard, not_understood, say
from bot.talk.library import Library, View
from bot.talk.outcome import likely_cause, typed_outcome
from bot.talk.wording import cause_name


def at_prove(view: View, words: str, library: Library) -> Heard:
    """How often it showed before the repair; a trial in words is only read back."""
    line = library.line(words)
    times = share(line.figures)
    if view.job.showed is None and times:
        showed, cycles = times
        if 0 < showed <= cycles:
            return Heard((e.ShowedBefore(showed, cycles),))
        return say("Write it as 3 of 10: how often it showed, in how many tries.")
    if view.job.showed is None or view.card is None:
        return not_understood()
    return say(_came_out(view.card.proof, words, library))


def _came_out(proof: Proof, words: str, library: Library) -> str:
    """How the words about a trial are read back: none of them counts by itself."""
    choices = library.choose(words, [proof.clean, proof.not_clean])
    if verdict(choices) is Verdict.NONE:
        return f"Only a trial counts. 1: {proof.clean} 2: {proof.not_clean} Which?"
    clean = choices[0].number == 0
    told = f"clean: {proof.clean}" if clean else f"not clean: {proof.not_clean}"
    return f"I take that trial as {told} If so type {1 if clean else 2}."


def at_record(view: View, words: str, library: Library) -> Heard:
    """The cause, and then the outcome that is written into the record."""
    line = library.line(words)
    if view.card and view.job.named is None:
        if tone(line) is True:
            return Heard((e.CauseNamed(likely_cause(view)),))
        cause = None if typed_outcome(view, line) else _cause(view, words, library)
        return Heard((e.CauseNamed(cause),)) if cause else not_understood()
    outcome = typed_outcome(view, line)
    return Heard((outcome,)) if outcome else not_understood()


def _cause(view: View, words: str, library: Library) -> str | None:
    """The cause that words name outright, or None."""
    if view.card is None:
        return None
    names = [cause_name(view.card, cause.id) for cause in view.card.causes]
    chosen = library.choose(words, names)
    clear = bool(chosen) and chosen[0].sureness >= NAMED
    return view.card.causes[chosen[0].number].id if clear else None


NAMED = 0.8
"""From so sure on a cause is named: its name was said, not a state. Our choice."""


def at_closed(view: View, words: str, library: Library) -> Heard:
    """The cause of a closed job, in words, when it is known better now."""
    cause = _cause(view, words, library)
    return Heard((e.CauseNamed(cause),)) if cause else not_understood()
