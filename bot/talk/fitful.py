"""A fault that comes and goes: how often, and what to do while it hides."""

from bot.job.job import Job
from bot.language.counts import share
from bot.talk.follow import waiting
from bot.talk.library import Library, View
from bot.talk.messages import Message, Say

COMES_AND_GOES = "comes_and_goes"
"""The mark of such words in `kb/speech.yaml`."""

MOST_TO_DO = 3
"""So many checks are named that wait for the fault."""


def said(job: Job) -> tuple[str, ...]:
    """All that the person said in words, the last first."""
    answers = (answer.words for answer in job.answers if answer.words)
    return tuple(reversed((*job.words, *answers, *job.told)))


def how_often(job: Job, library: Library) -> tuple[int, int] | None:
    """How often it shows, in how many tries, where that was told; (1, 5)."""
    told = (share(library.line(words).figures) for words in said(job))
    return next((pair for pair in told if pair and 0 < pair[0] <= pair[1]), None)


def is_fitful(job: Job, library: Library) -> bool:
    """Whether the person said that it comes and goes."""
    often = how_often(job, library)
    if often:
        return often[0] < often[1]
    return any(COMES_AND_GOES in library.line(words).marks for words in said(job))


def watch(view: View) -> tuple[Message, ...]:
    """What to do while the fault hides: how to make it show, what to look at then."""
    if view.card is None:
        return ()
    first = [check.title for check in waiting(view)[:MOST_TO_DO]]
    says = [
        "It does not show now, and what is left to check needs it to show. That is "
        "no finding: I wait with you."
    ]
    if view.card.provoke:
        says.append(f"To make it show: {view.card.provoke}")
    if first:
        says.append(f"When it shows, first: {'; then: '.join(first)}.")
    says.append(view.card.watch or NOTE)
    return tuple(Say(text) for text in says)


NOTE = "Note the hour, how warm and wet it was, load, road, and what was switched on."
