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
from bot.language.line import Clause, Line
from bot.language.text import Word
from bot.match.answers import Choice as Choosing
from bot.match.answers import Verdict, verdict
from bot.match.features import CANNOT
from bot.model.rule import StopRule
from bot.talk import phrases
from bot.talk.aside import carry, lacks, may_it_move
from bot.talk.ask import ask
from bot.talk.clean import clean
from bot.talk.door import after_the_end, door, with_danger
from bot.talk.ending import at_closed, at_prove, at_record
from bot.talk.figures import is_reading
from bot.talk.finding import (
    MOSTLY,
    Heard,
    beside,
    found_events,
    is_found,
    lost,
    not_understood,
    plainly,
    say,
    unused_rest,
    where,
)
from bot.talk.library import Library, View, sayable
from bot.talk.limits import is_reading_too
from bot.talk.messages import Aside, Ask, Choice, Say
from bot.talk.offer import declined, offered_again, on_offer
from bot.talk.reply import after_tone, asked_for, move_first, reply, tone
from bot.talk.show import suspicions, understood
from bot.talk.steps import at_check, at_repair
from bot.talk.table import BY_MARK, MOVES
from bot.talk.why import why, why_suspected

MOST_CHARACTERS = 4_000
SHORT = 14
"""In so many words a card on offer may be named."""


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
    aside = _aside(view, question, line)
    if aside:
        return aside
    if view.job.doubt:
        return _at_doubt(view, question, words, library)
    moved = _moved(view, question, words, library) or _turned(view, line)
    if moved:
        return moved
    if _is_unasked_reading(view, line):
        return lost(UNASKED)
    if view.job.guess and view.job.stage in (Stage.CHECK, Stage.REPAIR, Stage.PROVE):
        return _at_guess(view, question, words, library)
    if view.job.stage in BY_CLAUSE_FIRST:
        return _by_clause(view, question, words, library) or _by_stage(
            view, words, library
        )
    heard = _by_stage(view, words, library)
    return _by_clause(view, question, words, library) or heard if heard.lost else heard


def _turned(view: View, line: Line) -> Heard | None:
    """The job takes a turn: the fault shows just now or hides, or the card is wrong."""
    if view.job.stage not in (Stage.CHECK, Stage.REPAIR) or view.job.guess:
        return None
    if phrases.WRONG_CARD in line.told:
        return Heard((e.CardLeft(),))
    if line.told.intersection(phrases.HIDES) and view.job.shows is not False:
        return Heard((e.FaultHid(),))
    if line.told.intersection(phrases.SHOWS) and view.job.shows is False:
        return Heard((e.FaultShows(),))
    return None


BY_CLAUSE_FIRST = frozenset(
    (Stage.NARROW, Stage.REPAIR, Stage.STOPPED, Stage.PAUSED, Stage.CLOSED)
)
"""Where a clause such as "done" or "none of these" comes before what else is said; at
checks, trials and the record, what else is said comes first."""


TRIALS = (e.CycleClean, e.CycleNotClean)


def _by_stage(view: View, words: str, library: Library) -> Heard:
    return _AT[view.job.stage](view, words, library)


def _by_clause(view: View, question: Ask, words: str, library: Library) -> Heard | None:
    """The choice that a clause of the line says, and what the rest of it comes to."""
    said = reply(question, library.line(words))
    if said is None or (is_trial(view.job) and isinstance(said.choice.act, TRIALS)):
        return None
    if isinstance(said.choice.act, e.NothingFitted) and said.rest:
        return _at_describe(view, said.rest, library)
    heard = _chosen(view, said.choice, words, library)
    if isinstance(said.choice.act, e.CardsDeclined) and said.rest:
        left = declined(said.choice.act.cards, said.rest, library)
        heard = Heard((e.CardsDeclined(left),))
    return _and_then(view, heard, said.rest, library) if heard.events else heard


# --- a doubt about a danger -----------------------------------------------------------


def _at_doubt(view: View, question: Ask, words: str, library: Library) -> Heard:
    """A yes or no to the question about a danger, with more behind it or not.

    Without either, what the words say of the danger itself.
    """
    yes, no = question.choices
    line = library.line(words)
    yes_or_no = tone(line)
    if yes_or_no is None and _denies(view, words, library):
        return Heard(_chosen(view, no, words, library).events, (Say(TAKEN_AS_NO),))
    said = reply(question, line) if yes_or_no is None else None
    if yes_or_no is True or (said and said.choice == yes):
        return _chosen(view, yes, words, library)
    if yes_or_no is None:
        return lost("Yes or no first, please: it decides whether it is safe to go on.")
    rest = after_tone(line)
    return _and_then(view, _chosen(view, no, words, library), rest, library)


def _denies(view: View, words: str, library: Library) -> bool:
    """Whether words deny what is asked of a danger, and tell of none themselves."""
    rule = library.rule(view.job.doubt[0])
    if rule is None or any(hit.rule == rule.id for hit in library.danger(words)):
        return False
    return library.bears(words, rule.question)[1] <= DENIAL


TAKEN_AS_NO = "I take that as a no. Not so? Type <."
DENIAL = -0.6
"""So clearly some of it must be said not to be. Our choice."""


def _and_then(view: View, first: Heard, rest: str, library: Library) -> Heard:
    """Events, and what the words beside them mean once they have happened.

    Small talk beside an answer is no reason for a question.
    """
    job = reduce(advance, first.events, view.job)
    if not rest:
        return first
    then = replace(view, job=job)
    heard = _beyond_keys(then, ask(then, library), rest, library)
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


def _aside(view: View, question: Ask, line: Line) -> Heard | None:
    """A question back, which is no answer."""
    if phrases.MAY_IT_MOVE in asked_for(line):
        return Heard(says=(may_it_move(view),))
    if phrases.CARRY in asked_for(line):
        return Heard(says=(carry(view),))
    puzzled = line.acts & {phrases.KEYS, *phrases.PUZZLED}
    if puzzled and (view.job.stage is not Stage.DESCRIBE or phrases.KEYS in puzzled):
        return Heard(says=keys(question))
    return None


def keys(question: Ask) -> tuple[Say, ...]:
    """How to answer the question on the table, and what each move does."""
    digits = "Type a number" if question.choices else "Type"
    moves = [
        Say(f"{c.key} {c.label}: {BY_MARK[c.key].does}.")
        for c in question.more
        if c.key in BY_MARK
    ]
    said = [Say(f"{move.said}: {move.does}.") for move in MOVES if not move.mark]
    return (Say(f"{digits} or say it in your own words. Or:"), *moves, *said)


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
    described = e.Described(words, candidates, ranked.none)
    hidden = library.line(words).told.intersection(phrases.HIDES)
    hides = (e.FaultHid(),) if hidden else ()
    again = offered_again(view.job, words, library)
    offered = (e.CardsOfferedAgain(again),) if again else ()
    return Heard((described, *offered, *hides), understood(ranked))


def _at_narrow(view: View, words: str, library: Library) -> Heard:
    near = on_offer(view.job, library)
    line = library.line(words)
    if near and (len(line.words) <= SHORT or tone(line)):
        labels = [f"{card.title}. {card.look}" for card in near]
        chosen = library.choose(words, labels)
        named = verdict(chosen)
        sure = named is Verdict.TAKE or bool(tone(line))
        if named is not Verdict.NONE and (sure or _is_title(chosen[0], line, library)):
            return Heard((e.CardChosen(near[chosen[0].number].card),))
    if len(near) > 1 and tone(line) is True and not after_tone(line):
        return lost(WHICH_ONE)
    if len(near) == 1 and tone(line) is True and not _takes_back(line):
        rest = after_tone(line)
        ranked = library.rank(rest).cards[:1] if rest else ()
        other = [
            c for c in ranked if c.card != near[0].card and c.probability >= LIKELY
        ]
        if not other:
            told = (e.Told(rest),) if rest else ()
            return Heard((e.CardChosen(near[0].card), *told))
    return _at_describe(view, words, library)


WHICH_ONE = "Which of them? Type its number, or > where you cannot say."


def _is_title(choice: Choosing, line: Line, library: Library) -> bool:
    """Whether little is said but words of what is chosen: "the park brake one"."""
    met = line.stems & library.line(choice.text).stems
    return len(met) > 1 and len(met) >= MOSTLY * len(line.stems)


LIKELY = 0.5
"""So likely another card is by what stands beside a yes that it is no yes."""

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
    if said and _takes_back(line):
        return lost(WHICH)
    if said is True:
        return _chosen(view, yes, words, library)
    denied = _chosen(view, no, words, library)
    if said is False:
        return _and_then(view, denied, rest, library)
    heard = _and_then(view, denied, words, library)
    return heard if len(heard.events) > 1 and tone(line) is None else lost(WHICH)


def _takes_back(line: Line) -> bool:
    """Whether a "but" with a "not" behind it follows: "yes, but I did not look"."""
    firsts = [line.words[clause.first].said for clause in line.clauses]
    at = next((n for n, said in enumerate(firsts) if said in BUT), len(firsts))
    rest = [w for clause in line.clauses[at:] for w in _words(line, clause)]
    return any(word.stem == NOT for word in rest)


def _words(line: Line, clause: Clause) -> tuple[Word, ...]:
    return line.words[clause.first : clause.last]


BUT = frozenset(("but", "though", "although", "except"))

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


def _at_stop(view: View, words: str, library: Library) -> Heard:
    """A plain denial of what stopped the work; else it is told what the choices are.

    Where a finding stopped the work, it is that finding that has to be taken back.
    """
    told = any(_is_denied(words, rule, library) for rule in view.rules)
    by_words = not any(is_found(view, rule.id, library) for rule in view.rules)
    if told and by_words:
        return Heard((e.StopDenied(),), (Say(TAKEN_AS_NOT_SO),))
    return lost(IS_IT_SO if told else FIRST_THIS)


def _is_denied(words: str, rule: StopRule, library: Library) -> bool:
    """Whether words say outright that a danger is not there.

    They tell of no danger themselves, nor of anything that could not be done or seen,
    or is not so yet.
    """
    line = library.line(words)
    if line.is_question or library.danger(words) or line.marks & NOT_HERE_AND_NOW:
        return False
    if CANNOT.intersection(line.told, *(clause.says for clause in line.clauses)):
        return False
    if any(word.said == "yet" for word in line.words):
        return False
    bears = (library.bears(words, text) for text in (rule.question, rule.title))
    least = PLAIN_NO if tone(line) is False else DENIAL
    return _gainsays(line, rule, library) and min(w for _, w in bears) <= least


PLAIN_NO = -0.5
"""And so clearly beside a plain no."""


def _gainsays(line: Line, rule: StopRule, library: Library) -> bool:
    """Whether a line denies what a sign of a danger says, or says what it denies."""
    signs = [_polar(library.line(sign)) for sign in rule.signs]
    said = frozenset(pair for sign in signs for pair in sign)
    return any((stem, not denied) in said for stem, denied in _polar(line))


def _polar(line: Line) -> frozenset[tuple[str, bool]]:
    """The stems of what a line says, each with whether it is denied."""
    found = set()
    for mention in line.mentions:
        words = line.words[mention.first : mention.last]
        denied = mention.denied or any(word.stem == NOT for word in words)
        found |= {(word.stem, denied) for word in words if word.stem not in ("", NOT)}
    return frozenset(found)


NOT_HERE_AND_NOW = frozenset(
    ("asks", "if_so", "planned", "hearsay", "doubt", "lacking", "was_so_before")
)
"""Marks of what is no look at the truck."""

TAKEN_AS_NOT_SO = "I take that as: looked, and it is not so here. Not so? Type <."
IS_IT_SO = "If you have looked and it is not so here, type 3."
FIRST_THIS = (
    "First the stop: type 1 when all of it is done, 3 if you have looked and it is not "
    "so here, 2 for help."
)


def _at_rest(view: View, words: str, library: Library) -> Heard:
    """Paused: only what is offered can be answered."""
    return not_understood()


_AT: MappingProxyType[Stage, Callable[[View, str, Library], Heard]] = MappingProxyType(
    {
        Stage.DESCRIBE: _at_describe,
        Stage.NARROW: _at_narrow,
        Stage.CHECK: at_check,
        Stage.REPAIR: at_repair,
        Stage.PROVE: at_prove,
        Stage.RECORD: at_record,
        Stage.STOPPED: _at_stop,
        Stage.PAUSED: _at_rest,
        Stage.CLOSED: at_closed,
    }
)
