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
from bot.job.job import Stage
from bot.job.moves import advance
from bot.language.line import Line
from bot.match.answers import Verdict, verdict
from bot.model.card import Card, Check
from bot.talk import phrases
from bot.talk.aside import is_blind, is_doubtful, lacks, may_it_move, tone
from bot.talk.ask import ask, is_fitting, on_offer
from bot.talk.clean import clean
from bot.talk.door import after_the_end, door, with_danger
from bot.talk.ending import at_closed, at_prove, at_record
from bot.talk.figures import is_reading
from bot.talk.finding import (
    OUTRIGHT,
    Heard,
    elsewhere,
    found_events,
    in_words,
    is_verbatim,
    not_understood,
    plainly,
    say,
)
from bot.talk.library import Library, View, sayable
from bot.talk.limits import is_reading_too
from bot.talk.messages import Aside, Ask, Choice
from bot.talk.reading import by_reading
from bot.talk.show import suspicions, understood
from bot.talk.why import why, why_suspected

MOST_CHARACTERS = 4_000
SHORT = 6


def hear(view: View, typed: str, library: Library) -> Heard:
    """What the words mean at this point of the job."""
    words = clean(typed, MOST_CHARACTERS).strip()
    question = ask(view, library)
    if not words:
        return say("Nothing typed. Type a number, or say it in words.")
    choice = _by_key(question, words)
    line = library.line(words)
    choice = choice or _by_act(question, words, line)
    if choice:
        return _chosen(view, choice, words, library)
    danger = door(view, words, library)
    if view.job.stage is Stage.CLOSED and danger:
        return after_the_end(danger, library)
    heard = _beyond_keys(view, question, words, library)
    return with_danger(view.job, heard, danger, library) if danger else heard


def _beyond_keys(view: View, question: Ask, words: str, library: Library) -> Heard:
    """A move said among other words, a question back, or what the stage's ear hears."""
    line = library.line(words)
    move = _move_within(question, words, line)
    if move:
        return _chosen(view, move, words, library)
    aside = _aside(view, question, line)
    if aside:
        return aside
    if view.job.doubt:
        return _at_doubt(view, question, words, library)
    if _is_unasked_reading(view, line):
        return say(UNASKED)
    if view.job.guess and view.job.stage in (Stage.CHECK, Stage.REPAIR):
        return _at_guess(view, question, words, library)
    return _AT[view.job.stage](view, words, library)


# --- a doubt about a danger -----------------------------------------------------------


def _at_doubt(view: View, question: Ask, words: str, library: Library) -> Heard:
    """A yes or no to the question about a danger, with more behind it or not."""
    yes, no = question.choices
    line = library.line(words)
    yes_or_no = tone(line)
    if yes_or_no is True:
        return _chosen(view, yes, words, library)
    if yes_or_no is None:
        return say("Yes or no first, please: it decides whether it is safe to go on.")
    return _and_then(view, (no.act,), _rest(line), library)


def _and_then(
    view: View, first: tuple[object, ...], rest: str, library: Library
) -> Heard:
    """Events, and what the words behind them mean once they have happened."""
    events = tuple(event for event in first if isinstance(event, e.Event))
    job = reduce(advance, events, view.job)
    if not rest:
        return Heard(events)
    then = replace(view, job=job)
    heard = _beyond_keys(then, ask(then, library), rest, library)
    return Heard((*events, *heard.events), heard.says)


def _rest(line: Line) -> str:
    """What stands behind the yes or no that a line begins with."""
    return " ".join(word.said for word in line.words[1:])


UNASKED = (
    "No reading is asked for here. Pick an answer, or say in words what you found; to "
    "hear how to answer, type keys."
)


def _is_unasked_reading(view: View, line: Line) -> bool:
    """Whether a measured value is typed where a yes or a finding is asked for."""
    at_step = view.job.stage in (Stage.CHECK, Stage.REPAIR)
    asked = view.check is not None and view.check.readings is not None
    return at_step and (view.job.guess is not None or not asked) and is_reading(line)


def _aside(view: View, question: Ask, line: Line) -> Heard | None:
    """A question back, which is no answer."""
    asks = phrases.MAY_IT_MOVE in (line.acts | line.opens) and (
        line.is_question or phrases.MAY_IT_MOVE in line.acts
    )
    if asks or (line.is_question and phrases.MAY_IT_MOVE in line.marks):
        return Heard(says=(may_it_move(view),))
    puzzled = line.acts & {phrases.KEYS, *phrases.PUZZLED}
    if puzzled and (view.job.stage is not Stage.DESCRIBE or phrases.KEYS in puzzled):
        return say(keys(question))
    return None


def keys(question: Ask) -> str:
    """How to answer the question on the table, in one paragraph."""
    marks_ = ", ".join(f"{c.key} {c.label}" for c in question.more)
    digits = "Type a number" if question.choices else "Type"
    out = f"{digits} or say it in your own words."
    if marks_:
        out += f" Also: {marks_}."
    return f"{out} Type quit to leave; everything is kept."


def _by_key(question: Ask, words: str) -> Choice | None:
    key = words.rstrip(".)")
    offered = (*question.choices, *question.more)
    return next((choice for choice in offered if choice.key == (key or words)), None)


def _by_act(question: Ask, words: str, line: Line) -> Choice | None:
    """The choice that the whole line names: by its label, or by an act that it is."""
    bare = plainly(words)
    for choice in (*question.choices, *question.more):
        if bare and (
            line.acts.intersection(choice.said) or bare == plainly(choice.label)
        ):
            return choice
    return _by_place(question, line)


def _by_place(question: Ask, line: Line) -> Choice | None:
    """The answer that the whole line names by its place, such as "number two"."""
    rows = [choice for choice in question.choices if choice.key != "0"]
    for place, name in enumerate(phrases.PLACES):
        if name in line.acts and place < len(rows):
            return rows[place]
    return rows[-1] if rows and phrases.LAST in line.acts else None


WITHIN = 12
"""In so many words a move is heard among others."""


def _move_within(question: Ask, words: str, line: Line) -> Choice | None:
    """The move that a few words ask for among others: they may tell of danger too."""
    if len(line.words) > WITHIN:
        return None
    turns = line.marks
    return next((c for c in question.more if turns.intersection(c.said)), None)


def _chosen(view: View, choice: Choice, words: str, library: Library) -> Heard:
    if choice.act is Aside.WHY:
        return Heard(says=why(view))
    if choice.act is Aside.SUSPECTS:
        return Heard(says=(*suspicions(view), *why_suspected(view)))
    if isinstance(choice.act, e.Found):
        found = choice.act
        if view.check and is_reading_too(view.check, words, found.answer):
            return Heard((e.Guessed(found.check, found.answer, words),))
        return Heard(found_events(view, found, library))
    assert isinstance(choice.act, e.Event)
    return Heard((choice.act,))


# --- description ----------------------------------------------------------------------


def _at_describe(view: View, words: str, library: Library) -> Heard:
    ranked = library.rank(". ".join((*view.job.words, words)))
    candidates = tuple((card.card, card.probability) for card in ranked.cards)
    return Heard((e.Described(words, candidates, ranked.none),), understood(ranked))


def _at_narrow(view: View, words: str, library: Library) -> Heard:
    near = on_offer(view.job, library)
    line = library.line(words)
    first = plainly(words).startswith(("first one", "the first one"))
    if near and (first or (is_fitting(view.job) and tone(line) is True)):
        return Heard((e.CardChosen(near[0].card),))
    if len(line.words) <= SHORT and near:
        labels = [f"{card.title}. {card.look}" for card in near]
        chosen = library.choose(words, labels)
        if verdict(chosen) is Verdict.TAKE:
            return Heard((e.CardChosen(near[chosen[0].number].card),))
    return _at_describe(view, words, library)


# --- a guess played back --------------------------------------------------------------


def _at_guess(view: View, question: Ask, words: str, library: Library) -> Heard:
    """Yes or no, with more words round it; anything else answers the check instead.

    A yes whose other words mean another answer, and a no whose other words mean this
    one, are neither: it is asked again.
    """
    yes, no = question.choices
    line = library.line(words)
    yes_or_no = tone(line)
    rest = _rest(line) if yes_or_no is not None else words
    means = _means(view, rest, library) if rest else None
    if yes_or_no is True:
        return say(WHICH) if means is False else _chosen(view, yes, words, library)
    if yes_or_no is False and means is True:
        return say(WHICH)
    if yes_or_no is None and means is True:
        return _chosen(view, yes, words, library)
    if yes_or_no is False:
        return _and_then(view, (no.act,), rest, library)
    heard = _and_then(view, (no.act,), words, library)
    return heard if len(heard.events) > 1 else say(WHICH)


WHICH = "Is that a yes or a no? Type 1 for yes, 2 for no."


def _means(view: View, words: str, library: Library) -> bool | None:
    """Whether words mean the finding that is played back, another one, or neither."""
    guess = view.job.guess
    check = view.card.check(guess.check) if view.card and guess else None
    if guess is None or check is None:
        return None
    choices = library.choose(words, sayable(check))
    if verdict(choices) is Verdict.NONE:
        return None
    return choices[0].text == guess.answer


# --- checks and repairs ---------------------------------------------------------------


def _at_check(view: View, words: str, library: Library) -> Heard:
    if view.card is None:
        return not_understood()
    if view.job.stage is Stage.REPAIR and _says_done(library.line(words)):
        return Heard((e.RepairDone(view.job.step.id if view.job.step else ""),))
    heard = _at_open_check(view, view.check, words, library) if view.check else None
    heard = heard or _found_elsewhere(view, view.card, words, library)
    if heard:
        return heard
    asked = view.check and view.check.readings
    return say(FIGURES) if asked else not_understood()


def _at_open_check(
    view: View, check: Check, words: str, library: Library
) -> Heard | None:
    """A missing tool, a reading, or a finding of the check on the table."""
    line = library.line(words)
    missing = lacks(line, check.needs.tools)
    if missing:
        return Heard((e.ToolMissing(check.id, missing),))
    if is_blind(line):
        return say(BLIND)
    read = by_reading(view, check, words, library) if check.readings else None
    if read:
        return read
    heard = in_words(view, check, words, library)
    other = elsewhere(view, view.card, words, library) if view.card else None
    if heard and other and other[0] >= OUTRIGHT:
        # word for word the answer of another check
        return heard if is_verbatim(view, words, library) else other[1]
    return heard


BLIND = (
    "Where nothing can be read this check tells nothing: type - to pass it over. A "
    "truck whose brake gauges are dead does not drive."
)


def _found_elsewhere(
    view: View, card: Card, words: str, library: Library
) -> Heard | None:
    found = elsewhere(view, card, words, library)
    return found[1] if found else None


FIGURES = (
    "I cannot tell. Type figures, such as 8.2 bar; or pick an answer, or type keys."
)


def _says_done(line: Line) -> bool:
    """Whether the words say that a repair is made; "yes" only with little after it."""
    if "done" in line.opens and not is_doubtful(line):
        return not any(mention.denied for mention in line.mentions)
    return "yes" in line.opens and len(line.words) <= 3


def _at_rest(view: View, words: str, library: Library) -> Heard:
    """Stopped or paused: only what is offered can be answered."""
    return not_understood()


_AT: MappingProxyType[Stage, Callable[[View, str, Library], Heard]] = MappingProxyType(
    {
        Stage.DESCRIBE: _at_describe,
        Stage.NARROW: _at_narrow,
        Stage.CHECK: _at_check,
        Stage.REPAIR: _at_check,
        Stage.PROVE: at_prove,
        Stage.RECORD: at_record,
        Stage.STOPPED: _at_rest,
        Stage.PAUSED: _at_rest,
        Stage.CLOSED: at_closed,
    }
)
