"""Words typed -> events, or a plain answer when they are no step of the job.

First the keys and fixed phrases of the question on the table, then the stage's own
ear: a reading, a finding in the person's words, a fact nobody asked about, more
description. What is half understood is played back for a yes.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from types import MappingProxyType

from bot.job import events as e
from bot.job.job import Stage
from bot.model.card import Card, Check, Proof
from bot.talk import phrases
from bot.talk.aside import (
    asks_to_drive,
    is_blind,
    is_puzzled,
    is_question,
    lacks,
    may_it_move,
)
from bot.talk.ask import ask, is_fitting, on_offer
from bot.talk.clean import clean
from bot.talk.figures import is_reading
from bot.talk.finding import (
    HALF_SURE,
    OUTRIGHT,
    SURE,
    Heard,
    elsewhere,
    found_events,
    in_words,
    is_verbatim,
    plainly,
    say,
)
from bot.talk.library import Library, View, sayable
from bot.talk.messages import Aside, Ask, Choice, Say
from bot.talk.outcome import likely_cause, typed_outcome
from bot.talk.reading import by_reading, is_reading_too
from bot.talk.show import suspicions, understood
from bot.talk.why import why, why_suspected
from bot.talk.wording import cause_name

MOST_CHARACTERS = 4_000
SHORT = 6
_N_OF_M = re.compile(r"([0-9]{1,3}) ?(?:of|in|out of|/) ?([0-9]{1,3})")


def hear(view: View, typed: str, library: Library) -> Heard:
    """What the words mean at this point of the job."""
    words = clean(typed, MOST_CHARACTERS).strip()
    question = ask(view, library)
    if not words:
        return say("Nothing typed. Type a number, or say it in words.")
    choice = _by_key(question, words) or _by_phrase(question, words)
    if choice:
        return _chosen(view, choice, words, library)
    move = _by_phrase_within(question, words)
    if move:
        heard = _chosen(view, move, words, library)
        return Heard((*heard.events, *_stops(view, words, library)), heard.says)
    if plainly(words) in phrases.KEYS:
        return Heard(says=(Say(keys(question)),))
    aside = _aside(view, question, words, library)
    if aside:
        return aside
    if _is_unasked_reading(view, words):
        return say(UNASKED)
    if view.job.guess and view.job.stage in (Stage.CHECK, Stage.REPAIR):
        return _at_guess(view, question, words, library)
    return _AT[view.job.stage](view, words, library)


UNASKED = (
    "No reading is asked for here. Pick an answer, or say in words what you found; to "
    "hear how to answer, type keys."
)


def _is_unasked_reading(view: View, words: str) -> bool:
    """Whether a measured value is typed where a yes or a finding is asked for."""
    at_step = view.job.stage in (Stage.CHECK, Stage.REPAIR)
    asked = view.check is not None and view.check.readings is not None
    return at_step and (view.job.guess is not None or not asked) and is_reading(words)


def _aside(view: View, question: Ask, words: str, library: Library) -> Heard | None:
    """A question back, which is no answer; words of danger come before it."""
    bare = plainly(words)
    working = view.job.stage not in (Stage.DESCRIBE, Stage.NARROW, Stage.PAUSED)
    asked = asks_to_drive(bare) and is_question(words) and working
    if not asked and not (is_puzzled(bare) and view.job.stage is not Stage.DESCRIBE):
        return None
    stops = _stops(view, words, library)
    if stops:
        return Heard(stops)
    return Heard(says=(may_it_move(view) if asked else Say(keys(question)),))


def keys(question: Ask) -> str:
    """How to answer the question on the table, in one paragraph."""
    marks = ", ".join(f"{c.key} {c.label}" for c in question.more)
    digits = "Type a number" if question.choices else "Type"
    out = f"{digits} or say it in your own words."
    if marks:
        out += f" Also: {marks}."
    return f"{out} Type quit to leave; everything is kept."


def _by_key(question: Ask, words: str) -> Choice | None:
    key = words.rstrip(".)")
    offered = (*question.choices, *question.more)
    return next((choice for choice in offered if choice.key == (key or words)), None)


def _by_phrase(question: Ask, words: str) -> Choice | None:
    bare = plainly(words)
    for choice in (*question.choices, *question.more):
        if bare and (bare in choice.said or bare == plainly(choice.label)):
            return choice
    return None


def _by_phrase_within(question: Ask, words: str) -> Choice | None:
    """The move that a few words ask for among others: they may tell of danger too."""
    bare = plainly(words)
    if len(bare.split()) > phrases.ANYWHERE_WITHIN:
        return None
    for choice in question.more:
        told = phrases.ANYWHERE.intersection(choice.said)
        if any(f" {phrase} " in f" {bare} " for phrase in told):
            return choice
    return None


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


def _stops(view: View, words: str, library: Library) -> tuple[e.Event, ...]:
    """The stop rules that words raise and that have not been raised before."""
    known = (*view.job.stops, *view.job.denied_stops)
    new = [rule for rule in library.raised(words) if rule not in known]
    return (e.StopRaised(tuple(new)),) if new else ()


# --- description ----------------------------------------------------------------------


def _at_describe(view: View, words: str, library: Library) -> Heard:
    ranked = library.rank(". ".join((*view.job.words, words)))
    candidates = tuple((card.card, card.probability) for card in ranked.cards)
    event = e.Described(words, candidates, ranked.none)
    return Heard((event, *_stops(view, words, library)), understood(ranked))


def _at_narrow(view: View, words: str, library: Library) -> Heard:
    near = on_offer(view.job, library)
    first = plainly(words).startswith(("first one", "the first one"))
    if near and (first or (is_fitting(view.job) and _tone(words) is True)):
        return Heard((e.CardChosen(near[0].card),))
    if len(words.split()) <= SHORT and near:
        labels = [f"{card.title}. {card.look}" for card in near]
        chosen = library.choose(words, labels)
        if chosen and chosen[0][1] >= SURE:
            return Heard((e.CardChosen(near[chosen[0][0]].card),))
    return _at_describe(view, words, library)


# --- a guess played back --------------------------------------------------------------


def _at_guess(view: View, question: Ask, words: str, library: Library) -> Heard:
    """Yes or no with more words round it; anything else answers the check instead."""
    yes, no = question.choices
    tone = _tone(words)
    if tone is not None and not (tone and _means_another(view, words, library)):
        return _chosen(view, yes if tone else no, words, library)
    said_again = _said_again(view, words, library)
    if said_again:
        return said_again
    denied = e.GuessDenied()
    without = replace(view, job=denied.change(view.job))
    heard = _AT[view.job.stage](without, words, library)
    return Heard((denied, *heard.events), heard.says) if heard.events else heard


def _tone(words: str) -> bool | None:
    """Whether a few words say yes or no; None when neither."""
    said = plainly(words).split()
    if not said or len(said) > 2 * SHORT:
        return None
    if len(said) <= SHORT and said[0] in phrases.YES:
        return True
    refuses = said[0] in phrases.NO and len(said) <= SHORT
    few = len(said) <= 4 and bool(set(said) & set(phrases.REFUSING))
    return False if refuses or few else None


def _means_another(view: View, words: str, library: Library) -> bool:
    """Whether a yes with more words states another answer than the one guessed."""
    guess = view.job.guess
    check = view.card.check(guess.check) if view.card and guess else None
    if guess is None or check is None or len(words.split()) < 2:
        return False
    options = sayable(check)
    chosen = library.choose(words, options)
    other = chosen and options[chosen[0][0]] != guess.answer
    return bool(other) and chosen[0][1] >= HALF_SURE


def _said_again(view: View, words: str, library: Library) -> Heard | None:
    """The finding that the guess is of, said again in other words."""
    guess = view.job.guess
    check = view.card.check(guess.check) if view.card and guess else None
    if guess is None or check is None:
        return None
    options = sayable(check)
    chosen = library.choose(words, options)
    if not chosen or chosen[0][1] < SURE or options[chosen[0][0]] != guess.answer:
        return None
    event = e.Found(guess.check, guess.answer, guess.words)
    return Heard(found_events(view, event, library))


# --- checks and repairs ---------------------------------------------------------------


def _at_check(view: View, words: str, library: Library) -> Heard:
    stops = _stops(view, words, library)
    if view.card is None:
        return Heard(stops)
    if view.job.stage is Stage.REPAIR and _says_done(words):
        return Heard((e.RepairDone(view.job.step.id if view.job.step else ""), *stops))
    heard = _at_open_check(view, view.check, words, library) if view.check else None
    heard = heard or _found_elsewhere(view, view.card, words, library)
    if heard:
        return Heard((*heard.events, *stops), heard.says)
    if stops:
        return Heard(stops)
    asked = view.check and view.check.readings
    return say(FIGURES) if asked else _not_understood()


def _at_open_check(
    view: View, check: Check, words: str, library: Library
) -> Heard | None:
    """A missing tool, a reading, or a finding of the check on the table."""
    missing = lacks(plainly(words), check.needs.tools)
    if missing:
        return Heard((e.ToolMissing(check.id, missing),))
    if is_blind(plainly(words)):
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


def _says_done(words: str) -> bool:
    """Whether the words say that a repair is made; "yes" only with little after it."""
    first, *rest = plainly(words).split() or [""]
    said = first in phrases.DONE_WORDS
    return said and (first not in phrases.YES or len(rest) <= 2)


NOT_UNDERSTOOD = (
    "I cannot tell which answer that is. Type its number, say it another way, or type "
    "keys to see what else can be said."
)


def _not_understood() -> Heard:
    return say(NOT_UNDERSTOOD)


# --- proof and record -----------------------------------------------------------------


def _at_prove(view: View, words: str, library: Library) -> Heard:
    stops = _stops(view, words, library)
    times = _N_OF_M.search(words)
    if view.job.showed is None and times:
        showed, cycles = int(times[1]), int(times[2])
        if 0 < showed <= cycles:
            return Heard((e.ShowedBefore(showed, cycles), *stops))
        return say("Write it as 3 of 10: how often it showed, in how many tries.")
    if stops:
        return Heard(stops)
    if view.job.showed is None or view.card is None:
        return _not_understood()
    clean = _came_out(view.card.proof, words, library)
    if clean is None:
        proof = view.card.proof
        return say(f"Only a trial counts. 1: {proof.clean} 2: {proof.not_clean} Which?")
    return Heard((e.CycleClean() if clean else e.CycleNotClean(),))


def _came_out(proof: Proof, words: str, library: Library) -> bool | None:
    """Whether a trial came out clean, when that is said outright; None otherwise."""
    said = set(plainly(words).split())
    ailing = said & phrases.AILING - set(plainly(proof.clean).split())
    chosen = library.choose(words, [proof.clean, proof.not_clean])
    sure = chosen[0][0] if chosen and chosen[0][1] >= OUTRIGHT else None
    if ailing:
        twice = bool(ailing & phrases.BACK_AGAIN and said & phrases.DENYING)
        failed = sure == 1 or bool(ailing & phrases.FAILED)
        return False if failed and not twice else None
    return {0: True, 1: False}.get(sure) if sure is not None else None


def _at_record(view: View, words: str, library: Library) -> Heard:
    if view.card and view.job.named is None:
        if _tone(words) is True:
            return Heard((e.CauseNamed(likely_cause(view)),))
        causes = [cause.id for cause in view.card.causes]
        names = [cause_name(view.card, cause) for cause in causes]
        chosen = library.choose(words, names)
        if chosen and chosen[0][1] >= SURE and not typed_outcome(view, words):
            return Heard((e.CauseNamed(causes[chosen[0][0]]),))
        return _not_understood()
    outcome = typed_outcome(view, words)
    return Heard((outcome,)) if outcome else _not_understood()


def _at_rest(view: View, words: str, library: Library) -> Heard:
    """Stopped or paused: only what is offered can be answered."""
    return _not_understood()


def _at_closed(view: View, words: str, library: Library) -> Heard:
    """The cause of a closed job, in words, when it is known better now."""
    if view.card is None:
        return _not_understood()
    causes = [cause.id for cause in view.card.causes]
    names = [cause_name(view.card, cause) for cause in causes]
    chosen = library.choose(words, names)
    if not chosen or chosen[0][1] < SURE:
        return _not_understood()
    return Heard((e.CauseNamed(causes[chosen[0][0]]),))


_AT: MappingProxyType[Stage, Callable[[View, str, Library], Heard]] = MappingProxyType(
    {
        Stage.DESCRIBE: _at_describe,
        Stage.NARROW: _at_narrow,
        Stage.CHECK: _at_check,
        Stage.REPAIR: _at_check,
        Stage.PROVE: _at_prove,
        Stage.RECORD: _at_record,
        Stage.STOPPED: _at_rest,
        Stage.PAUSED: _at_rest,
        Stage.CLOSED: _at_closed,
    }
)
