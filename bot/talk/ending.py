"""The end of a job in words: how a trial came out, what it was, what is recorded."""

from collections.abc import Sequence
from dataclasses import replace

from bot.job import events as e
from bot.job.job import NOT_KNOWN
from bot.job.moves import advance
from bot.language.counts import share
from bot.language.line import Clause, Line
from bot.language.scope import BUT_FOR, ONLY
from bot.match.answers import Choice, Verdict, verdict
from bot.talk.finding import Heard, by_name, lost, not_understood, say
from bot.talk.library import Library, View, forbids_trial
from bot.talk.limits import held
from bot.talk.outcome import likely_cause, outcome_of, typed_outcome
from bot.talk.owed import not_yet
from bot.talk.phrases import (
    ANOTHER_WAY,
    CANT_DO,
    CLEAN,
    EVERY_OTHER,
    NOT_CLEAN,
    NOT_DONE,
    NOT_KNOWN_YET,
    ONE_IN_FIVE,
    PAUSE,
    RARELY,
)
from bot.talk.reply import tone
from bot.talk.wording import cause_name


def at_prove(view: View, words: str, library: Library) -> Heard:
    """How often it showed before the repair; a trial in words is only read back."""
    line = library.line(words)
    if view.job.showed is None:
        return _showed_before(line)
    if view.card is None:
        return not_understood()
    hazard = forbids_trial(view)
    if hazard:
        return lost(not_yet(hazard).text)
    if _opens_with(line, CANT_DO):
        return lost(NO_TRIAL)
    later = (*ANOTHER_WAY, *PAUSE, NOT_DONE)
    ended = line.told.intersection((*CLEAN, *NOT_CLEAN))
    if _opens_with(line, later) or (not ended and line.told.intersection(later)):
        return lost(NO_HURRY)
    proof = view.card.proof
    choices = library.choose(words, [proof.clean, proof.not_clean])
    answer = of_trial(line, proof.clean, proof.not_clean, choices)
    if answer is None:
        return lost(
            f"Only a trial counts. 1: {proof.clean} 2: {proof.not_clean} Which?"
        )
    return Heard((e.Guessed("", answer, words),))


NO_TRIAL = (
    "Without a trial nothing is proved. Make it when and where you can: = keeps the "
    "job till then, 3 leaves it at that."
)
NO_HURRY = "No hurry: = keeps the job till the trial is made, 3 leaves it at that."


def _opens_with(line: Line, acts: Sequence[str]) -> bool:
    """Whether a line begins with a clause that says one of these."""
    first = line.clauses[0] if line.clauses else None
    return first is not None and not first.says.isdisjoint(acts)


def of_trial(
    line: Line, clean: str, not_clean: str, choices: Sequence[Choice]
) -> str | None:
    """How the words about a trial are to be read back, if they tell.

    By the words for it, by how many of how many, by a figure beside the page's, by what
    `choices` make of them; and with an exception no trial is clean.
    """
    by_act = [
        answer
        for answer, acts in ((clean, CLEAN), (not_clean, NOT_CLEAN))
        if line.told.intersection(acts)
    ]
    excepted = bool(line.marks & {BUT_FOR, ONLY})
    if len(by_act) == 1 and "better" not in line.told:
        return not_clean if excepted else by_act[0]
    good = share(line.figures)
    if good:
        return clean if good[0] == good[1] else not_clean
    found = held(line, clean, not_clean)
    if found is None and verdict(choices) is not Verdict.NONE:
        found = choices[0].text
    return not_clean if BUT_FOR in line.marks or (found and excepted) else found


def _showed_before(line: Line) -> Heard:
    """How often the fault showed, from words such as "3 of 10", "each time"."""
    times = share(line.figures)
    if times and 0 < times[0] <= times[1]:
        return Heard((e.ShowedBefore(*times),))
    if times:
        return say("Write it as 3 of 10: how often it showed, in how many tries.")
    some = line.told.intersection((*EVERY_OTHER, *ONE_IN_FIVE, *RARELY))
    always = [clause for clause in line.clauses if _is_of_all(clause, line)]
    if always and not some and not any(m.denied for c in always for m in c.mentions):
        return Heard((e.ShowedBefore(1, 1),))
    return not_understood()


def _is_of_all(clause: Clause, line: Line) -> bool:
    """Whether a clause says every time: "always", "at every filling"."""
    words = line.words[clause.first : clause.last]
    return "always" in clause.marks or any(word.said in EVERY for word in words)


EVERY = frozenset(("every", "each", "whenever"))


def at_record(view: View, words: str, library: Library) -> Heard:
    """The cause, and then the outcome that is written into the record."""
    line = library.line(words)
    if view.card and view.job.named is None:
        return _named(view, words, line, library)
    outcome = typed_outcome(view, line)
    if outcome is None and tone(line) is True:
        outcome = outcome_of(view)
    return Heard((outcome,)) if outcome else not_understood()


def _named(view: View, words: str, line: Line, library: Library) -> Heard:
    """The cause, and with a yes to the likeliest the outcome too, if it is told."""
    if _opens_with(line, NOT_KNOWN_YET):
        return Heard((e.CauseNamed(NOT_KNOWN),))
    if typed_outcome(view, line) is None:
        cause = _cause(view, words, library)
        if cause is None and tone(line) is True:
            cause = likely_cause(view)
        if cause is None and tone(line) is False:
            return lost(PICK_CAUSE)
        return Heard((e.CauseNamed(cause),)) if cause else not_understood()
    if tone(line) is not True:
        return not_understood()
    named = e.CauseNamed(likely_cause(view))
    outcome = typed_outcome(replace(view, job=advance(view.job, named)), line)
    return Heard((named, outcome) if outcome else (named,))


PICK_CAUSE = "Then pick what it was by its number, or 0 for none of these."


def _cause(view: View, words: str, library: Library) -> str | None:
    """The cause that words name outright, or None."""
    if view.card is None:
        return None
    names = [cause_name(view.card, cause.id) for cause in view.card.causes]
    chosen = library.choose(words, names)
    if not chosen:
        return None
    named = view.card.causes[chosen[0].number].id
    enough = LIKELY_NAMED if named == likely_cause(view) else NAMED
    if chosen[0].sureness >= enough:
        return named
    asked = [cause.id for cause in view.card.causes].index(likely_cause(view))
    written = [library.line(name) for name in names]
    number = by_name(library.line(words), written, asked)
    return None if number is None else view.card.causes[number].id


LIKELY_NAMED = 0.5
"""And the cause that is asked about from so sure on."""

NAMED = 0.8
"""From so sure on a cause is named: its name was said, not a state. Our choice."""


def at_closed(view: View, words: str, library: Library) -> Heard:
    """The cause of a closed job, in words, when it is known better now."""
    cause = _cause(view, words, library)
    return Heard((e.CauseNamed(cause),)) if cause else not_understood()
