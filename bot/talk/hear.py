"""Words typed -> events, or a plain answer when they are no step of the job.

A line is read once (`bot.language`); then these listen, in this order: the keys of the
question on the table and what the whole line says to chock; danger, at the door, at
every stage; moves that mean the same everywhere; the stage's own ear. What is half
understood is played back for a yes; what no ear could use is said back.
"""

from collections.abc import Callable
from dataclasses import replace
from functools import reduce
from types import MappingProxyType

from bot.job import events as e
from bot.job.job import Job, Stage
from bot.job.moves import advance
from bot.language.lexicon import NOT
from bot.language.line import Line
from bot.language.scope import NOW
from bot.match.answers import Verdict, verdict
from bot.talk import phrases
from bot.talk.aside import asked_back, keys, lacks
from bot.talk.ask import ask, is_asked_whether_it_shows
from bot.talk.beside import hearsay, shown
from bot.talk.clean import clean
from bot.talk.denial import at_stop, denies
from bot.talk.door import after_the_end, door, with_danger
from bot.talk.ending import at_closed, at_prove, at_record
from bot.talk.figures import is_reading
from bot.talk.finding import (
    Heard,
    beside,
    found_events,
    kept_for_a_page,
    lost,
    not_understood,
    plainly,
    say,
    unused_rest,
    where,
)
from bot.talk.library import Library, View, sayable
from bot.talk.limits import is_reading_too
from bot.talk.messages import Aside, Ask, Choice, PageAsked, Say
from bot.talk.narrow import at_describe, at_narrow
from bot.talk.offer import declined
from bot.talk.owed import NONE_TO_PASS, asked_to_pass, passing
from bot.talk.reply import after_tone, move_first, reply, takes_back, tone
from bot.talk.show import suspicions
from bot.talk.steps import asked_for_by_name, at_check, at_repair
from bot.talk.why import why, why_suspected

MOST_CHARACTERS = 4_000


def hear(view: View, typed: str, library: Library) -> Heard:
    """What the words mean at this point of the job."""
    words = clean(typed, MOST_CHARACTERS).strip()
    question = ask(view, library)
    if not words:
        return say("Nothing typed. Type a number, or say it in words.")
    choice = _by_key(question, words)
    line = library.line(words)
    choice = choice or _by_act(view.job, question, words, line)
    if choice:
        return _chosen(view, choice, words, library)
    heard = _beyond_keys(view, question, words, library)
    danger = door(view, words, library, heard)
    if view.job.stage is Stage.CLOSED and danger:
        return after_the_end(danger, library)
    return with_danger(view.job, heard, danger, library) if danger else heard


def _beyond_keys(view: View, question: Ask, words: str, library: Library) -> Heard:
    """A move said among other words, a question back, or what the stage's ear hears."""
    line = library.line(words)
    aside = _aside(view, question, line, library)
    if aside:
        return aside
    if view.job.doubt or passing(view):
        return _at_doubt(view, question, words, library)
    if phrases.PASSED in line.acts:
        asked = asked_to_pass(view.ledger)
        return Heard((asked,)) if asked else say(NONE_TO_PASS)
    moved = _moved(view, question, words, library) or _turned(view, line, library)
    if moved:
        return moved
    if _is_unasked_reading(view, line) and not (view.job.guess and tone(line)):
        return lost(UNASKED)
    if view.job.guess and view.job.stage in (Stage.CHECK, Stage.REPAIR, Stage.PROVE):
        return _at_guess(view, question, words, library)
    return _at_stage(view, question, words, library)


def _at_stage(view: View, question: Ask, words: str, library: Library) -> Heard:
    """What the stage's ear hears, or a clause says; on a page to be written, news."""
    if view.job.stage in BY_CLAUSE_FIRST:
        return _by_clause(view, question, words, library) or _by_stage(
            view, words, library
        )
    heard = _by_stage(view, words, library)
    if heard.lost:
        heard = _by_clause(view, question, words, library) or heard
    return (kept_for_a_page(view, words, library) or heard) if heard.lost else heard


def _turned(view: View, line: Line, library: Library) -> Heard | None:
    """The job takes a turn: the fault shows just now or hides, or the card is wrong."""
    if view.job.stage not in (Stage.CHECK, Stage.REPAIR) or view.job.guess:
        return None
    step = asked_for_by_name(view, line.text, library)
    if step:
        return step
    if phrases.WRONG_CARD in line.told:
        return Heard((e.CardLeft(),))
    if line.told.intersection(phrases.HIDES) and view.job.shows is not False:
        return Heard((e.FaultHid(),))
    if line.told.intersection(phrases.SHOWS) and view.job.shows is False:
        return Heard((e.FaultShows(),))
    if is_asked_whether_it_shows(view, library):
        return _whether_it_shows(line, library)
    return None


def _whether_it_shows(line: Line, library: Library) -> Heard | None:
    """What is said of now: that it works is no fault; else a "not" denies one."""
    said = tone(line)
    now = [clause for clause in line.clauses if NOW in clause.marks]
    words = [word for clause in now for word in line.words[clause.first : clause.last]]
    works, fails = library.bears(" ".join(word.said for word in words), WORKS)
    if {"yes", "no"} <= line.told or (said and works > -fails):
        return lost(WHICH)  # "it is behaving, of course it is"
    if said is None and now:
        said = works <= -fails and not any(word.stem == NOT for word in words)
    if said is None:
        return None
    return Heard((e.FaultShows() if said else e.FaultHid(),))


WORKS = "it works as it should"


BY_CLAUSE_FIRST = frozenset(
    (Stage.NARROW, Stage.REPAIR, Stage.STOPPED, Stage.PAUSED, Stage.CLOSED)
)
"""Where a clause such as "done" or "none of these" comes before what else is said; at
checks, trials and the record, what else is said comes first."""


MADE = (e.RepairDone, e.MeasureTaken)
TRIALS = (e.CycleClean, e.CycleNotClean)


def _by_stage(view: View, words: str, library: Library) -> Heard:
    return _AT[view.job.stage](view, words, library)


def _by_clause(view: View, question: Ask, words: str, library: Library) -> Heard | None:
    """The choice that a clause of the line says, and what the rest of it comes to."""
    said = reply(question, library.line(words))
    if said is None or (is_trial(view.job) and isinstance(said.choice.act, TRIALS)):
        return None
    denies = any(word.stem == NOT for word in library.line(said.rest).words)
    if isinstance(said.choice.act, MADE) and view.repair and denies:
        return Heard((e.Guessed("", view.repair.title, words),))  # "done, but not ..."
    if isinstance(said.choice.act, e.NothingFitted) and said.rest:
        return at_describe(view, said.rest, library)
    heard = _chosen(view, said.choice, words, library)
    answers = tone(library.line(said.rest)) is not None
    if isinstance(said.choice.act, e.SteppedBack) and answers:
        return heard  # "no wait, go back": the no was to what is taken back
    if isinstance(said.choice.act, e.CardsDeclined) and said.rest:
        left = declined(view.job, said.choice.act.cards, said.rest, library)
        heard = Heard((e.CardsDeclined(left),))
    return _and_then(view, heard, said.rest, library) if heard.events else heard


# --- a doubt about a danger -----------------------------------------------------------


def _at_doubt(view: View, question: Ask, words: str, library: Library) -> Heard:
    """A yes or no to a question about a danger or a hazard, with more behind it or not.

    Without either, what the words say of the danger itself.
    """
    yes, no = question.choices
    line = library.line(words)
    yes_or_no = tone(line)
    if yes_or_no is None and view.job.doubt and denies(view, words, library):
        return Heard(_chosen(view, no, words, library).events, (Say(TAKEN_AS_NO),))
    said = reply(question, line) if yes_or_no is None else None
    if yes_or_no is True or (said and said.choice == yes):
        return _chosen(view, yes, words, library)
    if yes_or_no is None:
        return lost("Yes or no first, please: it decides whether it is safe to go on.")
    rest = after_tone(line)
    return _and_then(view, _chosen(view, no, words, library), rest, library)


TAKEN_AS_NO = "I take that as a no. Not so? Type <."


def _and_then(view: View, first: Heard, rest: str, library: Library) -> Heard:
    """Events, and what the words beside them mean once they have happened.

    Small talk beside an answer is no reason for a question.
    """
    job = reduce(advance, first.events, view.job)
    if not rest:
        return first
    then = replace(view, job=job)
    heard = _beyond_keys(then, ask(then, library), rest, library)
    if heard.lost and any(isinstance(event, MADE) for event in first.events):
        return Heard((*first.events, e.Told(rest)), first.says)  # how it was done
    if heard.lost:
        return beside(view, first, unused_rest(library.line(rest)), library)
    return Heard((*first.events, *heard.events), (*first.says, *heard.says))


UNASKED = (
    "No reading is asked for here. Pick an answer, or say in words what you found; to "
    "hear how to answer, type keys."
)


def _is_unasked_reading(view: View, line: Line) -> bool:
    """Whether a measured value is typed where a yes or a finding is asked for."""
    at_step = view.job.stage in (Stage.CHECK, Stage.REPAIR)
    asked = view.check is not None and view.check.readings is not None
    return at_step and (view.job.guess is not None or not asked) and is_reading(line)


def _aside(view: View, question: Ask, line: Line, library: Library) -> Heard | None:
    """A question back, which is no answer."""
    if phrases.NOTES in line.acts and view.card:
        return Heard(says=hearsay(library.notes(view.card.id)))
    told = asked_back(view, line)
    if told:
        return Heard(says=told)
    puzzled = line.acts & {phrases.KEYS, *phrases.PUZZLED}
    if puzzled and (view.job.stage is not Stage.DESCRIBE or phrases.KEYS in puzzled):
        return Heard(says=keys(question))
    return None


def _by_key(question: Ask, words: str) -> Choice | None:
    key = words.rstrip(".)")
    offered = (*question.choices, *question.more)
    return next((choice for choice in offered if choice.key == (key or words)), None)


def _by_act(job: Job, question: Ask, words: str, line: Line) -> Choice | None:
    """The choice that the whole line names: by its label, or by an act that it is.

    A clean trial counts by its label alone: "it works" is read back.
    """
    bare = plainly(words)
    for choice in (*question.choices, *question.more):
        counts = isinstance(choice.act, e.CycleClean) and not job.guess
        said = line.acts.intersection(choice.said) and not counts
        if bare and (said or bare == plainly(choice.label)):
            return choice
    return _by_place(question, line)


def is_trial(job: Job) -> bool:
    """Whether it is asked how a trial of the repair came out."""
    return job.stage is Stage.PROVE and job.showed is not None and not job.guess


def _by_place(question: Ask, line: Line) -> Choice | None:
    """The answer that the line names by its place, such as "number two"."""
    rows = [choice for choice in question.choices if choice.key != "0"]
    first = line.clauses[0].says if line.clauses else frozenset()
    named = line.acts or (first if len(rows) > 1 else frozenset())
    for place, name in enumerate(phrases.PLACES):
        if name in named and place < len(rows):
            return rows[place]
    return rows[-1] if rows and phrases.LAST in named else None


def _moved(view: View, question: Ask, words: str, library: Library) -> Heard | None:
    """A move that a line opens with; what is said beside it is kept."""
    line = library.line(words)
    move = move_first(question, line)
    if move is None or (view.check and lacks(line, view.check.needs.tools)):
        return None
    heard = _chosen(view, move.choice, words, library)
    if not heard.events or not move.rest:
        return heard
    return beside(view, heard, unused_rest(library.line(move.rest)), library)


def _chosen(view: View, choice: Choice, words: str, library: Library) -> Heard:
    if choice.act is Aside.WHY:
        return Heard(says=why(view))
    if choice.act is Aside.SUSPECTS:
        return Heard(says=(*suspicions(view), *why_suspected(view)))
    if isinstance(choice.act, PageAsked):
        held = library.procedure(choice.act.page)
        return Heard(says=shown(held)) if held else not_understood()
    if isinstance(choice.act, e.Found):
        found = choice.act
        if view.check and is_reading_too(view.check, words, found.answer):
            return Heard((e.Guessed(found.check, found.answer, words),))
        return Heard(found_events(view, found, library))
    assert isinstance(choice.act, e.Event)
    return Heard((choice.act,))


# --- a guess played back --------------------------------------------------------------


def _at_guess(view: View, question: Ask, words: str, library: Library) -> Heard:
    """Yes or no, with more words round it; anything else answers the check instead.

    A yes whose other words mean another answer, and a no whose other words mean this
    one, are neither: it is asked again.
    """
    yes, no = question.choices
    guess = view.job.guess
    assert guess is not None
    line = library.line(words)
    rest = after_tone(line) if tone(line) is not None else words
    means = _means(view, rest, library) if rest else None
    said = library.confirms(words, tone(line), guess.answer)
    if said is None and tone(line) is None and means is True:
        said = True
    if said is not None and means is not None and said is not means:
        return lost(WHICH)
    if said and takes_back(line):
        return lost(WHICH)
    if said is True:
        return _chosen(view, yes, words, library)
    denied = _chosen(view, no, words, library)
    if said is False:
        return _and_then(view, denied, rest, library)
    heard = _and_then(view, denied, words, library)
    return heard if len(heard.events) > 1 and tone(line) is None else lost(WHICH)


WHICH = "Is that a yes or a no? Type 1 for yes, 2 for no."


def _means(view: View, words: str, library: Library) -> bool | None:
    """Whether words mean the finding that is played back, another one, or neither."""
    guess = view.job.guess
    if guess is None or view.card is None:
        return None
    check = view.card.check(guess.check)
    proof = view.card.proof
    if check:
        choices = library.choose(words, sayable(check), where(view, check))
    elif view.job.stage is Stage.PROVE:
        choices = library.choose(words, [proof.clean, proof.not_clean])
    else:
        return None
    if verdict(choices) is Verdict.NONE:
        return None
    return choices[0].text == guess.answer


# --- where only what is offered can be answered --------------------------------------


def _at_rest(view: View, words: str, library: Library) -> Heard:
    """Paused: only what is offered can be answered."""
    return not_understood()


_AT: MappingProxyType[Stage, Callable[[View, str, Library], Heard]] = MappingProxyType(
    {
        Stage.DESCRIBE: at_describe,
        Stage.NARROW: at_narrow,
        Stage.CHECK: at_check,
        Stage.REPAIR: at_repair,
        Stage.PROVE: at_prove,
        Stage.RECORD: at_record,
        Stage.STOPPED: at_stop,
        Stage.PAUSED: _at_rest,
        Stage.CLOSED: at_closed,
    }
)
