"""The questions at the end of a job: how it went, what it was, what to write down."""

from dataclasses import replace

from bot.diagnose.proof import cured_chance
from bot.job import events as e
from bot.job.job import NOT_KNOWN, Job
from bot.language.counts import trials
from bot.model.card import Card
from bot.talk import phrases
from bot.talk.choices import CALL, PAUSE, back
from bot.talk.fitful import how_often
from bot.talk.library import Library, View, forbids_trial
from bot.talk.messages import Ask, Choice
from bot.talk.outcome import likely_cause, outcome_of
from bot.talk.owed import before_the_trial
from bot.talk.table import ANOTHER
from bot.talk.wording import cause_name, percent, span


def trial(view: View, card: Card, library: Library) -> Ask:
    """How a trial told in words is read back, which alone makes it count."""
    job, guess = view.job, view.job.guess
    assert guess is not None
    clean = guess.answer == card.proof.clean
    cycles = trials(library.line(guess.words).figures) if clean else 1
    event: e.Event = e.CycleClean(cycles) if clean else e.CycleNotClean()
    told = "clean" if clean else "not clean"
    which = f"{cycles} trials as {told}" if cycles > 1 else f"that trial as {told}"
    text = f'You said "{guess.words}". I take {which}: {guess.answer} Right?'
    yes = Choice("1", "Yes", event, phrases.YES)
    no = Choice("2", "No", e.GuessDenied(), phrases.NO)
    return Ask(text, (yes, no), (*back(job), PAUSE))


def prove(view: View, library: Library) -> Ask:
    """How often it showed before the repair, then how each trial went."""
    job = view.job
    if job.showed is None:
        text = "Before the repair, how often did it show? Pick, or type e.g. 3 of 10."
        told = how_often(job, library)
        rows: tuple[Choice, ...] = HOW_OFTEN
        if told:
            label = f"{told[0]} of {told[1]}, as you said"
            rows = (*rows, Choice("5", label, e.ShowedBefore(*told)))
        return Ask(text, rows, (*back(job), PAUSE, CALL), numbers=True)
    hazard = forbids_trial(view)
    if hazard:
        return before_the_trial(view, hazard)
    needed = view.cycles_needed
    sure = cured_chance(view.cure_chance(), job.showed, job.clean)
    text = f"How did it go? Clean so far: {job.clean} of {needed}."
    if job.clean:
        text += f" That makes it {percent(sure)} sure."
    clean = Choice("1", "Clean", e.CycleClean(), phrases.CLEAN)
    again = Choice("2", "Not clean, it is back", e.CycleNotClean(), phrases.NOT_CLEAN)
    leave = Choice("3", "Leave it at that", e.ProofEnded(), phrases.LEAVE_IT)
    better = Choice("4", "Better, but not gone", e.CycleBetter(), phrases.BETTER)
    return Ask(text, (clean, again, leave, better), (*back(job), PAUSE, CALL))


def record(view: View, library: Library) -> Ask:
    """What it was in the end, and what is written down."""
    job = view.job
    has_causes = view.card is not None and not view.card.is_stub
    if view.card and has_causes and job.named is None:
        return _which_cause(view, view.card)
    outcome = outcome_of(view)
    if not has_causes:
        write = Choice("1", "Yes", outcome, phrases.WRITE)
        return Ask("Keep what you said, and close the job?", (write,), (*back(job),))
    text = (
        f"About {span(outcome.minutes)} of work, no money. Right? Or type your own, "
        "such as 90 min, 40 money."
    )
    write = Choice("1", "Write it down so", outcome, phrases.WRITE)
    return Ask(text, (write, *words_kept(job, "2")), (*back(job), PAUSE), numbers=True)


def words_kept(job: Job, key: str) -> tuple[Choice, ...]:
    """The leave to find this page by what was said in the job, or to do so no longer.

    None is asked for where nobody knows what it was.
    """
    if job.keeps_words:
        label = "No longer find this page by my words"
        return (Choice(key, label, e.WordsForgotten(), phrases.FORGET_WORDS),)
    if not job.words or job.named in (None, "", NOT_KNOWN):
        return ()
    label = "Find this page by my words from now on, too"
    return (Choice(key, label, e.WordsKept(), phrases.KEEP_WORDS),)


def _which_cause(view: View, card: Card) -> Ask:
    likely = likely_cause(view)
    believed = view.belief.ranked() if view.belief else ()
    ranked = [cause for cause, _ in believed if card.cause(cause)]
    names = [likely, *(cause for cause in ranked if cause != likely)]
    more = (UNKNOWN_YET, *back(view.job), PAUSE)
    if view.job.helped and not view.job.repair:
        text = "Is it known by now what it was? If it is not, say so."
        return Ask(text, causes(names, card), more)
    text = f"So it was: {cause_name(card, likely)}. Right? Or pick another."
    return Ask(text, causes(names, card, first=phrases.YES), more)


def causes(
    names: list[str], card: Card, first: tuple[str, ...] = ()
) -> tuple[Choice, ...]:
    """Each cause to be named as the one it was, `first` said for the first of them."""
    rows = [
        Choice(str(number), cause_name(card, cause), e.CauseNamed(cause))
        for number, cause in enumerate(names[:MOST_CAUSES], 1)
    ]
    rows[:1] = [replace(row, said=first) for row in rows[:1]]
    none = Choice("0", "none of these", e.CauseNamed(""), phrases.NONE[:1])
    return (*rows, none)


MOST_CAUSES = 9
UNKNOWN_YET = Choice(
    ANOTHER.mark, "not known yet", e.CauseNamed(NOT_KNOWN), phrases.NOT_KNOWN_YET
)


_RARELY = e.ShowedBefore(1, 10)
HOW_OFTEN = (
    Choice("1", "Every time", e.ShowedBefore(1, 1), phrases.EVERY_TIME),
    Choice("2", "About every other time", e.ShowedBefore(5, 10), phrases.EVERY_OTHER),
    Choice("3", "About one time in five", e.ShowedBefore(2, 10), phrases.ONE_IN_FIVE),
    Choice(
        "4", "About one time in ten, or less", e.ShowedBefore(1, 10), phrases.RARELY
    ),
)
