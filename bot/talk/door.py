"""Danger at the door: heard in every typed line, at every stage, before all else."""

from functools import reduce

from bot.job import events as e
from bot.job.job import Job, Stage
from bot.job.moves import advance
from bot.language.mentions import Mention
from bot.match.answers import Verdict, verdict
from bot.match.danger import Band
from bot.talk.finding import Heard, where
from bot.talk.library import Library, View, sayable
from bot.talk.messages import Stop

AT_REST = frozenset((Stage.STOPPED, Stage.PAUSED, Stage.CLOSED))
"""Where no question but the stage's own is asked."""


def door(view: View, words: str, library: Library) -> tuple[e.Event, ...]:
    """The stop rules that words raise now: at once, or with one question first.

    What was raised before in this job, or looked at and found not so, is not raised
    again; what was only asked about and answered with no is, when it is told outright.
    Where the words answer the question on the table, a doubt is taken from what else
    they say alone.
    """
    known = {*view.job.stops, *view.job.denied_stops, *view.job.doubt}
    hits = [hit for hit in library.danger(words) if hit.rule not in known]
    sure = tuple(hit.rule for hit in hits if hit.band is Band.SURE)
    if sure:
        return (e.StopRaised(sure),)
    settled = view.job.settled
    maybe = [h.rule for h in hits if h.rule not in settled and library.rule(h.rule)]
    if not maybe or view.job.stage in AT_REST:
        return ()
    if _is_mere_answer(view, words, library):
        return ()
    return (e.DangerDoubted((*view.job.doubt, *maybe)),)


def _is_mere_answer(view: View, words: str, library: Library) -> bool:
    """Whether the words answer the check on the table, and say nothing besides."""
    check = view.check
    if check is None or view.job.stage is not Stage.CHECK:
        return False
    line = library.line(words)
    choices = library.choose(words, sayable(check), where(view, check))
    if verdict(choices) is Verdict.NONE:
        return False
    rest = [c for c in line.clauses if not _speaks(c.mentions, choices[0].why)]
    left = " ".join(w.said for c in rest for w in line.words[c.first : c.last])
    return not left or not library.danger(left)


def _speaks(mentions: tuple[Mention, ...], why: tuple[str, ...]) -> bool:
    return any(mention.said in why for mention in mentions)


def with_danger(
    job: Job, heard: Heard, danger: tuple[e.Event, ...], library: Library
) -> Heard:
    """What the words did to the job, and then the danger that they told of.

    What they did may have stopped or ended the job: a rule that holds by now is not
    raised twice, a doubt is not asked about under a stop, and after the end what to do
    is only said.
    """
    job = reduce(advance, heard.events, job)
    says = heard.says if heard.events else ()
    if job.stage is Stage.CLOSED:
        return Heard(heard.events, (*says, *after_the_end(danger, library).says))
    new: list[e.Event] = []
    for event in danger:
        if isinstance(event, e.StopRaised):
            rules = tuple(rule for rule in event.rules if rule not in job.stop)
            new += [e.StopRaised(rules)] if rules else []
        elif job.stage not in AT_REST:
            new.append(event)
    return Heard((*heard.events, *new), says)


def after_the_end(raised: tuple[e.Event, ...], library: Library) -> Heard:
    """A danger told when the job is closed: what to do now is said all the same."""
    rules = [rule for event in raised for rule in getattr(event, "rules", ())]
    found = (library.rule(rule) for rule in rules)
    return Heard(says=tuple(Stop(rule) for rule in found if rule))
