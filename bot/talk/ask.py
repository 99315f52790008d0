"""The question on the table at each stage, with every answer that has a key.

Digits are answers to the question. Marks are the moves that are possible at many
questions; each mark has words too. Whatever is offered here is what `hear` accepts.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from types import MappingProxyType

from bot.calc.readings import limit_in
from bot.diagnose.proof import cured_chance
from bot.job import events as e
from bot.job.job import NOT_KNOWN, Job, Skip, Stage
from bot.model.card import Card, Finding, Readings
from bot.model.rule import StopRule
from bot.talk import phrases
from bot.talk.follow import cure_chance, cycles_needed
from bot.talk.library import Library, View, last_finding
from bot.talk.messages import Aside, Ask, Candidate, Choice
from bot.talk.outcome import likely_cause, outcome_of
from bot.talk.reading import due
from bot.talk.why import look_again
from bot.talk.wording import cause_name, percent, span

CLEAR = 0.75
"""A card this likely is offered by itself; otherwise one question parts the nearest."""

WORTH_ASKING = 0.03
"""A card less likely than this is not put beside a likelier one."""

NEAREST = 3
HALF = 0.5

WHY = Choice("?", "why", Aside.WHY, phrases.WHY)
BACK = Choice("<", "back", e.SteppedBack(), phrases.BACK)
PAUSE = Choice("=", "pause", e.Paused(), phrases.PAUSE)
CALL = Choice("!", "call for help", e.HelpCalled(), phrases.HELP)
SUSPECTS = Choice("*", "suspicions", Aside.SUSPECTS, phrases.SUSPECTS)


def ask(view: View, library: Library) -> Ask:
    """The question that the job waits on; one about a danger before all others."""
    doubted = library.rule(view.job.doubt[0]) if view.job.doubt else None
    if doubted:
        return _doubt(view, doubted)
    if view.job.guess and view.job.stage in (Stage.CHECK, Stage.REPAIR):
        return _guess(view)
    return _AT[view.job.stage](view, library)


def _back(job: Job) -> tuple[Choice, ...]:
    return (BACK,) if job.earlier else ()


def _describe(view: View, library: Library) -> Ask:
    return Ask("What is wrong? Say it in your own words.")


def _paused(view: View, library: Library) -> Ask:
    return Ask("Paused.", (Choice("1", "Go on", e.Resumed(), phrases.GO_ON),))


def _closed(view: View, library: Library) -> Ask:
    """What can be put right in a job that was closed."""
    outcome = view.job.outcome
    if view.card is None or outcome is None:
        return Ask("This job is closed.")
    rows = _causes([c.id for c in view.card.causes if c.id != outcome.cause], view.card)
    text = "This job is closed. If you know better now what it was, pick it."
    return Ask(text, rows, (CAME_BACK if outcome.repair else OPEN_AGAIN,))


OPEN_AGAIN = Choice("+", "open it again", e.CameBack(), phrases.OPEN_AGAIN)
CAME_BACK = Choice("+", "it came back", e.CameBack(), phrases.BACK_AGAIN_SAID)


def _stopped(view: View, library: Library) -> Ask:
    done = Choice("1", "I have done this, go on", e.StopCleared(), phrases.GO_ON)
    call = Choice("2", "I call for help", e.HelpCalled(), CALL.said)
    label = "I have looked: it is not so here"
    not_so = Choice("3", label, e.StopDenied(), phrases.NOT_SO)
    return Ask("Do this first. Then", (done, call, not_so), (PAUSE,))


def _doubt(view: View, rule: StopRule) -> Ask:
    """One plain question about a danger that words may have told of."""
    raised = e.StopRaised((rule.id,))
    yes = Choice("1", "Yes, or I can't tell", raised, (*phrases.YES, *phrases.UNSURE))
    no = Choice("2", "No", e.DangerDenied(), phrases.NO)
    return Ask(f"First: {rule.question}", (yes, no), _back(view.job))


def _guess(view: View) -> Ask:
    job, guess = view.job, view.job.guess
    assert guess is not None
    may_type = view.check is not None and view.check.readings is not None
    found = e.Found(guess.check, guess.answer, guess.words)
    yes = Choice("1", "Yes", found, phrases.YES)
    no = Choice("2", "No", e.GuessDenied(), phrases.NO)
    text = f'You said "{guess.words}". I take it as: {guess.answer}. Right?'
    return Ask(text, (yes, no), (*_back(job), PAUSE), numbers=may_type)


def nearest(job: Job, library: Library) -> tuple[Candidate, ...]:
    """The cards worth asking about, each with what tells it from the others."""
    left = [(card, p) for card, p in job.candidates if card not in job.declined]
    cards = [(library.card(card), p) for card, p in left[:NEAREST]]
    known = [(card, p) for card, p in cards if card]
    rest = {card.id for card, _ in known}
    return tuple(
        Candidate(card.id, card.title, p, look=_look(card, known, rest))
        for card, p in known
    )


def _look(card: Card, known: list[tuple[Card, float]], rest: set[str]) -> str:
    """How the other cards on offer describe this one to tell it apart."""
    for other, _ in known:
        for look_alike in other.look_alikes:
            if other.id in rest and look_alike.card == card.id:
                return look_alike.phrase
    return ""


def on_offer(job: Job, library: Library) -> tuple[Candidate, ...]:
    """The cards that are asked about: all that are near, or the likely ones of them."""
    near = nearest(job, library)
    if not near or not is_fitting(job):
        return near
    if near[0].probability >= CLEAR:
        return near[:1]
    return (near[0], *(c for c in near[1:] if c.probability >= WORTH_ASKING))


def _narrow(view: View, library: Library) -> Ask:
    job = view.job
    offered = on_offer(job, library)
    rows = [_card_choice(number, card) for number, card in enumerate(offered, 1)]
    more = (*_back(job), PAUSE, CALL)
    if not offered or not is_fitting(job):
        label = "none of these: write down what I said"
        write = Choice("0", label, e.NothingFitted(), phrases.NONE)
        return Ask(SAY_MORE, (*rows, write), more)
    declined = e.CardsDeclined(tuple(card.card for card in offered))
    none = Choice("0", "no, something else", declined, phrases.NONE)
    if len(rows) == 1:
        return Ask("Is it this? Or tell me more.", (*rows, none), more)
    kept = e.CardsKept(tuple(card.card for card in offered))
    unsure = Choice(">", "can't say: let checks tell", kept, phrases.CANT_SAY)
    text = "Which is nearest to what you have? Or tell me more."
    return Ask(text, (*rows, none), (unsure, *more))


SAY_MORE = (
    "I have nothing that fits well. Say it another way: where on the truck, what you "
    "see or hear, and when."
)


def is_fitting(job: Job) -> bool:
    """Whether some card that was not declined is likelier than that none fits."""
    return not job.declined and bool(job.candidates) and job.none < HALF


def _card_choice(number: int, card: Candidate) -> Choice:
    label = f"{card.title} ({card.look})" if card.look else card.title
    first = (*phrases.FIRST, *phrases.YES)
    said = (first, phrases.SECOND, phrases.THIRD)[number - 1]
    return Choice(str(number), label, e.CardChosen(card.card), said)


def _moves(view: View, library: Library, step: str) -> tuple[Choice, ...]:
    """The moves that are always possible at a check."""
    job = view.job
    in_order = job.as_written
    order = Choice(
        "#",
        "the best order" if in_order else "the card's own order",
        e.OrderChosen(as_written=not in_order),
        phrases.BEST_ORDER if in_order else phrases.AS_WRITTEN,
    )
    return (
        _cant_tell(view, step),
        _skip("-", "can't do that here", step, Skip.NOT_POSSIBLE),
        _skip(">", "another way", step, Skip.PUT_OFF),
        WHY,
        SUSPECTS,
        *_back(job),
        order,
        *_other_card(view, library),
        *_again(view),
        PAUSE,
        CALL,
    )


def _cant_tell(view: View, step: str) -> Choice:
    """Not knowing: where the check has an answer for that, it is that answer."""
    findings = view.check.findings if view.check else ()
    unknown = next((f for f in findings if UNKNOWN.search(f.answer)), None)
    if unknown is None:
        return _skip("0", "can't tell", step, Skip.COULD_NOT_TELL)
    event = e.Found(step, unknown.answer)
    return Choice("0", "can't tell", event, phrases.CANT_TELL)


UNKNOWN = re.compile(r"\b(?:nobody knows|I don't know)\b")
"""In an answer: it holds as well for one who does not know."""

_SKIPS = MappingProxyType(
    {
        Skip.COULD_NOT_TELL: phrases.CANT_TELL,
        Skip.NOT_POSSIBLE: phrases.CANT_DO,
        Skip.PUT_OFF: phrases.ANOTHER_WAY,
    }
)


def _skip(key: str, label: str, step: str, why: Skip) -> Choice:
    return Choice(key, label, e.StepSkipped(step, why.value), _SKIPS[why])


def _again(view: View) -> tuple[Choice, ...]:
    """The check to make anew when the answers fight each other."""
    again = look_again(view)
    if not again:
        return ()
    check, _ = again
    label = f"look again: {check.title}"
    return (Choice("@", label, e.CheckProposed(check.id), phrases.AGAIN),)


def _other_card(view: View, library: Library) -> tuple[Choice, ...]:
    """The card that the last finding leads to."""
    finding = last_finding(view)
    if not finding or not finding.go_to:
        return ()
    target = finding.go_to.target.rsplit("/", 1)[-1].removesuffix(".md")
    card = library.card(target)
    if not card or card.id == view.job.card:
        return ()
    label = f"go to the card '{card.title}'"
    return (Choice("+", label, e.LeadFollowed(card.id), phrases.GO_TO),)


def _check(view: View, library: Library) -> Ask:
    check = view.check
    if check is None:
        return _help_is_best(view)
    choices = tuple(
        Choice(str(number), _told(finding, view), e.Found(check.id, finding.answer))
        for number, finding in enumerate(check.findings, 1)
    )
    moves = _moves(view, library, check.id)
    if check.readings is None:
        return Ask("What did you find?", choices, moves)
    at = due(check, view.job.taken(check.id))
    text = _asks_for(check.readings, library.wall_clock(at) if at else "")
    return Ask(text, choices, moves, numbers=True, due=at)


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


def _help_is_best(view: View) -> Ask:
    job = view.job
    call = Choice("1", "Call for help", e.HelpCalled(), CALL.said)
    text = (
        "Nothing that is left to do is worth its time. Call for help, or go "
        "back and look again at what was found."
    )
    return Ask(text, (call,), (*_back(job), SUSPECTS, WHY, PAUSE))


def _repair(view: View, library: Library) -> Ask:
    job = view.job
    step = job.step.id if job.step else ""
    done = Choice("1", "Done", e.RepairDone(step), phrases.DONE)
    cannot = _skip("-", "can't do that here", step, Skip.NOT_POSSIBLE)
    other = _skip(">", "check more first", step, Skip.PUT_OFF)
    leads = (*_other_card(view, library), *_again(view))
    more = (cannot, other, WHY, SUSPECTS, *_back(job), *leads, PAUSE, CALL)
    return Ask("Is the repair made?", (done,), more)


def _prove(view: View, library: Library) -> Ask:
    job = view.job
    if job.showed is None:
        text = "Before the repair, how often did it show? Pick, or type e.g. 3 of 10."
        return Ask(text, HOW_OFTEN, (*_back(job), PAUSE, CALL), numbers=True)
    needed = cycles_needed(view)
    sure = cured_chance(cure_chance(view), job.showed, job.clean)
    text = f"How did it go? Clean so far: {job.clean} of {needed}."
    if job.clean:
        text += f" That makes it {percent(sure)} sure."
    clean = Choice("1", "Clean", e.CycleClean(), phrases.CLEAN)
    again = Choice("2", "Not clean, it is back", e.CycleNotClean(), phrases.NOT_CLEAN)
    leave = Choice("3", "Leave it at that", e.ProofEnded(), phrases.LEAVE_IT)
    better = Choice("4", "Better, but not gone", e.CycleBetter(), phrases.BETTER)
    return Ask(text, (clean, again, leave, better), (*_back(job), PAUSE, CALL))


def _record(view: View, library: Library) -> Ask:
    job = view.job
    if view.card and job.named is None:
        return _which_cause(view, view.card)
    outcome = outcome_of(view)
    if not view.card:
        write = Choice("1", "Yes", outcome, phrases.WRITE)
        return Ask("Keep what you said, and close the job?", (write,), (*_back(job),))
    text = (
        f"About {span(outcome.minutes)} of work, no money. Right? Or type your own, "
        "such as 90 min, 40 money."
    )
    write = Choice("1", "Write it down so", outcome, phrases.WRITE)
    return Ask(text, (write,), (*_back(job), PAUSE), numbers=True)


def _which_cause(view: View, card: Card) -> Ask:
    likely = likely_cause(view)
    believed = view.belief.ranked() if view.belief else ()
    ranked = [cause for cause, _ in believed if card.cause(cause)]
    causes = [likely, *(cause for cause in ranked if cause != likely)]
    more = (UNKNOWN_YET, *_back(view.job), PAUSE)
    if view.job.helped and not view.job.repair:
        text = "Is it known by now what it was? If it is not, say so."
        return Ask(text, _causes(causes, card), more)
    text = f"So it was: {cause_name(card, likely)}. Right? Or pick another."
    return Ask(text, _causes(causes, card, first=phrases.YES), more)


def _causes(
    causes: list[str], card: Card, first: tuple[str, ...] = ()
) -> tuple[Choice, ...]:
    """Each cause to be named as the one it was, `first` said for the first of them."""
    rows = [
        Choice(str(number), cause_name(card, cause), e.CauseNamed(cause))
        for number, cause in enumerate(causes[:MOST_CAUSES], 1)
    ]
    rows[:1] = [replace(row, said=first) for row in rows[:1]]
    none = Choice("0", "none of these", e.CauseNamed(""), phrases.NONE)
    return (*rows, none)


MOST_CAUSES = 9
UNKNOWN_YET = Choice(
    ">", "not known yet", e.CauseNamed(NOT_KNOWN), phrases.NOT_KNOWN_YET
)


HOW_OFTEN = (
    Choice("1", "Every time", e.ShowedBefore(1, 1), phrases.EVERY_TIME),
    Choice("2", "About every other time", e.ShowedBefore(5, 10)),
    Choice("3", "About one time in five", e.ShowedBefore(2, 10)),
    Choice("4", "About one time in ten, or less", e.ShowedBefore(1, 10)),
)

_AT: MappingProxyType[Stage, Callable[[View, Library], Ask]] = MappingProxyType(
    {
        Stage.DESCRIBE: _describe,
        Stage.NARROW: _narrow,
        Stage.CHECK: _check,
        Stage.REPAIR: _repair,
        Stage.PROVE: _prove,
        Stage.RECORD: _record,
        Stage.STOPPED: _stopped,
        Stage.PAUSED: _paused,
        Stage.CLOSED: _closed,
    }
)
