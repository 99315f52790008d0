"""Danger at the door: heard in every typed line, at every stage, before all else."""

from functools import reduce

from bot.job import events as e
from bot.job.job import Job, Stage
from bot.job.moves import advance
from bot.language.lexicon import NOT
from bot.language.mentions import Mention
from bot.language.scope import NOW
from bot.match.answers import Verdict, verdict
from bot.match.danger import Band, Hit
from bot.model.card import Block, Caution
from bot.talk import phrases
from bot.talk.finding import Heard, where
from bot.talk.library import Library, View, sayable
from bot.talk.messages import Stop
from bot.talk.reply import asked_for

AT_REST = frozenset((Stage.STOPPED, Stage.PAUSED, Stage.CLOSED))
"""Where no question but the stage's own is asked."""

UNHEARD = Heard()
ANSWERS = (e.Found, e.Guessed, e.ShowedBefore, e.CycleClean, e.CycleNotClean)
"""What words do that answer the question on the table."""

ASKS = frozenset((phrases.MAY_IT_MOVE, phrases.CARRY))

AT_A_STEP = frozenset((Stage.CHECK, Stage.REPAIR, Stage.PROVE))


def door(
    view: View, words: str, library: Library, heard: Heard = UNHEARD
) -> tuple[e.Event, ...]:
    """The stop rules that words raise now: at once, or with one question first.

    What was raised before in this job, or looked at and found not so, is not raised
    again; what was only asked about and answered with no is, when it is told outright.
    Where the words answer the question on the table (`heard` is what they did), a doubt
    is taken from what else they say alone.
    """
    known = {*view.job.stops, *view.job.denied_stops, *view.job.doubt}
    hits = [hit for hit in library.danger(words) if hit.rule not in known]
    if hits and _is_mere_answer(view, words, library, to_the_letter=True):
        return ()
    left = _unexpected(view, words, library) if hits else None
    if left is not None:
        now = NOW in library.line(words).marks
        hits = [_tempered(hit, left, heard, now) if hit.by_ear else hit for hit in hits]
    if asked_for(library.line(words)) & ASKS:
        # "is it safe to drive home?" asks, it does not tell
        hits = [hit for hit in hits if hit.band is Band.SURE or not hit.by_ear]
    sure = tuple(hit.rule for hit in hits if hit.band is Band.SURE)
    if sure:
        return (e.StopRaised(sure),)
    settled = view.job.settled
    maybe = [
        hit
        for hit in hits
        if hit.band is Band.MAYBE and hit.rule not in settled and library.rule(hit.rule)
    ]
    if not maybe or view.job.stage in AT_REST:
        return ()
    is_nearly_sure = any(hit.sureness >= NEARLY for hit in maybe)
    if not is_nearly_sure and _is_mere_answer(
        view, words, library, to_the_letter=False
    ):
        return ()
    return (e.DangerDoubted((*view.job.doubt, *(hit.rule for hit in maybe))),)


NEARLY = 0.9
"""From so sure on a danger is asked about, whatever else is answered. Our choice."""


def _unexpected(view: View, words: str, library: Library) -> dict[str, Band] | None:
    """The rules that are raised without the words of the step on the table.

    "I put hot water on the drum" is no burning drum where the page says to pour it.
    None where no step is on the table.
    """
    if view.job.stage not in AT_A_STEP:
        return None
    page = library.line(_on_the_table(view))
    there = {word.stem for word in page.words if word.stem and word.stem != NOT}
    own = [
        ", " * bool(word.gap) + word.said
        for word in library.line(words).words
        if word.stem not in there
    ]
    return {hit.rule: hit.band for hit in library.danger(" ".join(own))}


def _tempered(hit: Hit, left: dict[str, Band], heard: Heard, now: bool) -> Hit:
    """A danger that the ear heard, as it sounds beside the step on the table.

    What the page put in their mouth stops nothing at once: it is asked about; and what
    was only to be asked about is not, where the words answer the page's question. How
    often it showed is told of the time before the repair, unless it speaks of `now`:
    only what is sure is asked about.
    """
    if any(isinstance(event, e.ShowedBefore) for event in heard.events):
        asked = now or hit.band is Band.SURE
        return hit._replace(band=Band.MAYBE if asked else Band.NONE)
    if left.get(hit.rule) is Band.SURE:
        return hit
    answers = any(_answers(event) for event in heard.events)
    plain = hit.sureness < NEARLY and hit.rule not in left
    if hit.band is Band.MAYBE and answers and plain:
        return hit._replace(band=Band.NONE)
    return hit._replace(band=Band.MAYBE)


def _answers(event: e.Event) -> bool:
    """Whether words answered the question; a bare "no" in front of them did not."""
    bare = isinstance(event, e.Guessed) and event.check and not event.why
    return isinstance(event, ANSWERS) and not bare


def _on_the_table(view: View) -> str:
    """The words of the step that is done now, check, repair or trial.

    Not its cautions: who tells what they warn of tells of danger.
    """
    step = [view.job.guess.answer] if view.job.guess else []
    blocks: tuple[Block, ...] = ()
    if view.job.stage is Stage.PROVE and view.card:
        proof = view.card.proof
        step, blocks = [*step, proof.clean, proof.not_clean], proof.body
    elif view.check:
        answers = [finding.answer for finding in view.check.findings]
        step, blocks = [*step, view.check.title, *answers], view.check.body
    elif view.repair:
        step, blocks = [*step, view.repair.title], view.repair.body
    told = (block.text for block in blocks if not isinstance(block, Caution))
    return " ".join((*step, *told))


def _is_mere_answer(
    view: View, words: str, library: Library, *, to_the_letter: bool
) -> bool:
    """Whether the words answer the check on the table, and say nothing besides.

    `to_the_letter`: in the very words of the page, which a danger is told in as well.
    """
    check = view.check
    if check is None or view.job.stage is not Stage.CHECK:
        return False
    line = library.line(words)
    choices = library.choose(words, sayable(check), where(view, check))
    if verdict(choices) is Verdict.NONE:
        return False
    first = choices[0]
    if to_the_letter:
        return line.stems <= library.line(first.text).stems
    rest = [c for c in line.clauses if not _speaks(c.mentions, first.why)]
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
