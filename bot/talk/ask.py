"""The question on the table at each stage, with every answer that has a key.

Digits are answers to the question. Marks are the moves that are possible at many
questions; each mark has words too. Whatever is offered here is what `hear` accepts.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from types import MappingProxyType

from bot.calc.readings import limit_in
from bot.job import events as e
from bot.job.job import Skip, Stage, StepKind
from bot.model.card import Finding, Readings
from bot.model.rule import StopRule
from bot.talk import phrases, table
from bot.talk.ask_end import causes, prove, record, trial, words_kept
from bot.talk.beside import lead
from bot.talk.choices import CALL, PAUSE, SUSPECTS, WHY, back
from bot.talk.fitful import is_fitful
from bot.talk.follow import held_back
from bot.talk.library import Library, View, last_finding, stopped_by_answer
from bot.talk.messages import Ask, Candidate, Choice
from bot.talk.offer import is_fitting, on_offer, pick
from bot.talk.owed import passing, waits_for
from bot.talk.reading import due
from bot.talk.search import question
from bot.talk.table import Move
from bot.talk.why import look_again
from bot.talk.wording import span


def ask(view: View, library: Library) -> Ask:
    """The question that the job waits on; one about a danger before all others."""
    doubted = library.rule(view.job.doubt[0]) if view.job.doubt else None
    if doubted:
        return _doubt(view, doubted)
    passed = passing(view)
    if passed:
        return passed
    if view.job.guess and view.job.stage is Stage.REPAIR and not view.job.guess.check:
        return _made(view)
    if view.job.guess and view.job.stage in (Stage.CHECK, Stage.REPAIR):
        return _guess(view)
    if view.job.guess and view.job.stage is Stage.PROVE and view.card:
        return trial(view, view.card, library)
    return _AT[view.job.stage](view, library)


def _describe(view: View, library: Library) -> Ask:
    return Ask("What is wrong? Say it in your own words.")


def _paused(view: View, library: Library) -> Ask:
    return Ask("Paused.", (Choice("1", "Go on", e.Resumed(), phrases.GO_ON),))


def _closed(view: View, library: Library) -> Ask:
    """What can be put right in a job that was closed."""
    outcome = view.job.outcome
    if view.card is None or outcome is None:
        return Ask("This job is closed.")
    rows = causes([c.id for c in view.card.causes if c.id != outcome.cause], view.card)
    text = "This job is closed. If you know better now what it was, pick it."
    again = CAME_BACK if outcome.repair else OPEN_AGAIN
    return Ask(text, rows, (*words_kept(view.job, table.ANOTHER.mark), again))


OPEN_AGAIN = Choice(table.LEAD.mark, "open it again", e.CameBack(), phrases.OPEN_AGAIN)
CAME_BACK = Choice(
    table.LEAD.mark, "it came back", e.CameBack(), phrases.BACK_AGAIN_SAID
)


def _stopped(view: View, library: Library) -> Ask:
    done = Choice("1", "I have done this, go on", e.StopCleared(), phrases.GO_ON)
    call = Choice("2", "I call for help", e.HelpCalled(), CALL.said)
    label = "I have looked: it is not so here"
    not_so = Choice("3", label, e.StopDenied(), phrases.NOT_SO)
    slip = Choice("4", "That answer was a slip: take it back", e.SteppedBack())
    rows = (done, call, not_so, *((slip,) if stopped_by_answer(view) else ()))
    more = replace(WHY, label="when to call, who decides")
    return Ask("Do this first. Then", rows, (more, PAUSE))


def _doubt(view: View, rule: StopRule) -> Ask:
    """One plain question about a danger that words may have told of."""
    raised = e.StopRaised((rule.id,))
    yes = Choice("1", "Yes, or I can't tell", raised, (*phrases.YES, *phrases.UNSURE))
    no = Choice("2", "No", e.DangerDenied(), phrases.NO)
    return Ask(f"First: {rule.question}", (yes, no), back(view.job))


def _guess(view: View) -> Ask:
    job, guess = view.job, view.job.guess
    assert guess is not None
    may_type = view.check is not None and view.check.readings is not None
    found = e.Found(guess.check, guess.answer, guess.words, guess.why)
    yes = Choice("1", "Yes", found, phrases.YES)
    no = Choice("2", "No", e.GuessDenied(), phrases.NO)
    text = f'You said "{guess.words}". I take it as: {guess.answer}. Right?'
    return Ask(text, (yes, no), (*back(job), PAUSE), numbers=may_type)


def _made(view: View) -> Ask:
    """How work told in words is read back."""
    job, guess = view.job, view.job.guess
    assert guess is not None
    step = job.step.id if job.step else ""
    yes = Choice("1", "Yes", _made_event(view, step), phrases.DONE)
    no = Choice("2", "No", e.GuessDenied(), phrases.NO)
    text = f'You said "{guess.words}". So this is made: {guess.answer}. Right?'
    return Ask(text, (yes, no), (*back(job), PAUSE))


def _made_event(view: View, step: str) -> e.RepairDone | e.MeasureTaken:
    """A repair is made, or a measure taken to get home on."""
    home = view.repair is not None and view.repair.is_get_home
    return e.MeasureTaken(step) if home else e.RepairDone(step)


def _narrow(view: View, library: Library) -> Ask:
    job = view.job
    offered = on_offer(job, library)
    yes = phrases.YES if len(offered) == 1 else ()
    rows = [_card_choice(number, card, yes) for number, card in enumerate(offered, 1)]
    more = (*back(job), PAUSE, CALL)
    if not offered or not is_fitting(job):
        label = "none of these: " * bool(rows) + "write down what I said"
        write = Choice("0", label, e.NothingFitted(), (*phrases.NONE, WRITE))
        return Ask(question(job), (*rows, write), more)
    declined = e.CardsDeclined(tuple(card.card for card in offered))
    none = Choice("0", "no, something else", declined, phrases.NONE)
    if len(rows) == 1:
        return Ask("Is it this? Or tell me more.", (*rows, none), more)
    kept = e.CardsKept(tuple(card.card for card in offered))
    unsure = Choice(table.ANOTHER.mark, LET_CHECKS, kept, phrases.CANT_SAY)
    text = "Which is nearest to what you have? Or tell me more."
    return Ask(text, (*rows, none), (unsure, *more))


def _card_choice(number: int, card: Candidate, yes: tuple[str, ...]) -> Choice:
    label = f"{card.title} ({card.look})" if card.look else card.title
    first = (*phrases.FIRST, *yes)
    said = (first, phrases.SECOND, phrases.THIRD)[number - 1]
    return Choice(str(number), label, pick(card), said)


def _moves(view: View, library: Library, step: str) -> tuple[Choice, ...]:
    """The moves that are always possible at a check."""
    job = view.job
    in_order = job.as_written
    order = Choice(
        table.ORDER.mark,
        "the best order" if in_order else "the card's own order",
        e.OrderChosen(as_written=not in_order),
        phrases.BEST_ORDER if in_order else phrases.AS_WRITTEN,
    )
    return (
        _cant_tell(view, step),
        *_other_card(view, library),
        _skip(table.CANT_DO, step, Skip.NOT_POSSIBLE),
        _skip(table.ANOTHER, step, Skip.PUT_OFF),
        WHY,
        SUSPECTS,
        *back(job),
        order,
        *_again(view),
        PAUSE,
        CALL,
    )


def _cant_tell(view: View, step: str) -> Choice:
    """Not knowing: where the check has an answer for that, it is that answer."""
    findings = view.check.findings if view.check else ()
    unknown = next((f for f in findings if UNKNOWN.search(f.answer)), None)
    if unknown is None:
        return _skip(table.CANT_TELL, step, Skip.COULD_NOT_TELL)
    event = e.Found(step, unknown.answer)
    return Choice(*table.CANT_TELL[:2], event, phrases.CANT_TELL)


UNKNOWN = re.compile(r"\b(?:nobody knows|I don't know)\b")
"""In an answer: it holds as well for one who does not know."""

_SKIPS = MappingProxyType(
    {
        Skip.COULD_NOT_TELL: phrases.CANT_TELL,
        Skip.NOT_POSSIBLE: phrases.CANT_DO,
        Skip.PUT_OFF: phrases.ANOTHER_WAY,
    }
)


def _skip(move: Move, step: str, why: Skip) -> Choice:
    return Choice(*move[:2], e.StepSkipped(step, why.value), _SKIPS[why])


CHECK_MORE = table.ANOTHER._replace(said="check more first")
WRITE = phrases.WRITE[0]
LET_CHECKS = "can't say: let checks tell"


def _again(view: View) -> tuple[Choice, ...]:
    """The check to make anew when the answers fight each other."""
    again = look_again(view)
    if not again:
        return ()
    check, _ = again
    label = f"look again: {check.title}"
    return (Choice(table.AGAIN.mark, label, e.CheckProposed(check.id), phrases.AGAIN),)


def _other_card(view: View, library: Library) -> tuple[Choice, ...]:
    """The page that the last finding leads to, or a procedure that the step names."""
    finding = last_finding(view)
    if not finding or not finding.go_to:
        return lead(view, library)
    target = finding.go_to.target.rsplit("/", 1)[-1].removesuffix(".md")
    card = library.card(target)
    if not card or card.id == view.job.card:
        return lead(view, library)
    label = f"go to the card '{card.title}'"
    return (Choice(table.LEAD.mark, label, e.LeadFollowed(card.id), phrases.GO_TO),)


def _check(view: View, library: Library) -> Ask:
    check = view.check
    if check is None and view.job.step and view.job.step.kind is StepKind.WATCH:
        return _watch(view)
    if check is None:
        return _help_is_best(view, library)
    if is_asked_whether_it_shows(view, library):
        return _does_it_show(view)
    choices = tuple(
        Choice(str(number), _told(finding, view), e.Found(check.id, finding.answer))
        for number, finding in enumerate(check.findings, 1)
    )
    moves = _moves(view, library, check.id)
    if check.readings is None:
        return Ask("What did you find?", choices, moves)
    at = due(check, view.job.taken(check.id), library)
    text = _asks_for(check.readings, library.wall_clock(at) if at else "")
    return Ask(text, choices, moves, numbers=True, due=at)


def is_asked_whether_it_shows(view: View, library: Library) -> bool:
    """Whether it must be known first if a fault that comes and goes shows now."""
    check = view.check
    asks = check is not None and check.needs_showing and view.job.shows is None
    return asks and is_fitful(view.job, library)


def _does_it_show(view: View) -> Ask:
    """Before the first check that tells nothing while the fault hides."""
    yes = Choice("1", "Yes", e.FaultShows(), (*phrases.YES, *phrases.SHOWS))
    no = Choice("2", "No, not now", e.FaultHid(), (*phrases.NO, *phrases.HIDES))
    text = "It comes and goes, you said. Is it doing it now?"
    return Ask(text, (yes, no), (WHY, *back(view.job), PAUSE, CALL))


def _watch(view: View) -> Ask:
    """What is left to check waits for the fault."""
    shows = Choice("1", "It is doing it now", e.FaultShows(), phrases.SHOWS)
    later = Choice("2", "Leave the job until it does", e.Paused(), PAUSE.said)
    return Ask("When it shows:", (shows, later), (SUSPECTS, *back(view.job), CALL))


def _told(finding: Finding, view: View) -> str:
    """The answer, with its bounds in the truck's own unit where that is another."""
    limit, units = finding.limit, view.truck.units if view.truck else ()
    if limit is None:
        return finding.answer
    readings = view.check.readings if view.check else None
    told = limit_in(limit, units, is_change=bool(readings and readings.sum))
    return finding.answer if told == limit else f"{finding.answer} ({told})"


def _asks_for(readings: Readings, at: str) -> str:
    """What is to be read: all of it, the first value, or the last when it is time."""
    values = [f"{value.name} ({value.unit})" for value in readings.values]
    if at:
        return f"Read {values[-1]} at {at} or later and type it; or pick."
    if readings.wait:
        return (
            f"Type {values[0]} and I keep the time, {span(readings.wait.minutes)}; or "
            f"type {' and '.join(values)} at once; or pick."
        )
    return f"What did you read? Type {' and '.join(values)}, or pick."


SEEK = (*phrases.YES, phrases.WRONG_CARD)


def _help_is_best(view: View, library: Library) -> Ask:
    job = view.job
    call = Choice("1", "Call for help", e.HelpCalled(), CALL.said)
    leads = lead(view, library)
    if view.card is None:
        seek = Choice("1", "Find its page anew, by what I said", e.CardLeft(), SEEK)
        call = replace(call, key="2")
        return Ask("What now?", (seek, call), (*back(job), PAUSE))
    if view.card.is_stub:
        end = Choice("1", "Write it down, or call for help", e.HelpCalled(), CALL.said)
        return Ask("What now?", (end,), (*leads, *back(job), PAUSE))
    rows, held = [call], held_back(view)
    left_out = bool(job.skipped or job.lacking)
    if held:
        text = f"What is left to do must wait. {waits_for(held[0])}"
        keys = tuple(hazard.key for hazard in held if hazard.is_passed_by_word)
        label = "They have looked, and passed it"
        rows += [Choice("2", label, e.HazardsAsked(keys))] if keys else []
    else:
        text = f"{BEST_CALL}{OR_ONCE_MORE if left_out else '.'}"
    if left_out:
        key, label = str(len(rows) + 1), "What was left out, once more"
        rows.append(Choice(key, label, e.StepsTakenUp(), phrases.LEFT_OUT))
    more = (*leads, *back(job), SUSPECTS, WHY, PAUSE)
    return Ask(text, tuple(rows), more)


BEST_CALL = (
    "Nothing that is left to do is worth its time. Call for help, or go back and look "
    "again at what was found"
)
OR_ONCE_MORE = ", or have what was left out once more."


def _repair(view: View, library: Library) -> Ask:
    job = view.job
    step = job.step.id if job.step else ""
    done = Choice("1", "Done", _made_event(view, step), phrases.DONE)
    cannot = _skip(table.CANT_DO, step, Skip.NOT_POSSIBLE)
    other = _skip(CHECK_MORE, step, Skip.PUT_OFF)
    leads = (*_other_card(view, library), *_again(view))
    more = (cannot, other, WHY, SUSPECTS, *back(job), *leads, PAUSE, CALL)
    return Ask("Is the repair made?", (done,), more)


_AT: MappingProxyType[Stage, Callable[[View, Library], Ask]] = MappingProxyType(
    {
        Stage.DESCRIBE: _describe,
        Stage.NARROW: _narrow,
        Stage.CHECK: _check,
        Stage.REPAIR: _repair,
        Stage.PROVE: prove,
        Stage.RECORD: record,
        Stage.STOPPED: _stopped,
        Stage.PAUSED: _paused,
        Stage.CLOSED: _closed,
    }
)
