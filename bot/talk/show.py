"""What to say about a job as it stands, and about what has just happened."""

from dataclasses import replace
from types import MappingProxyType

from bot.diagnose.belief import Belief
from bot.diagnose.case import Case
from bot.job import events as e
from bot.job.job import NOT_KNOWN, Job, Stage, StepKind
from bot.model.card import Card, Caution, Drive
from bot.talk.again import had_before, same_cause
from bot.talk.ask import ask
from bot.talk.beside import blocks, cautions_for
from bot.talk.fitful import watch
from bot.talk.follow import way_home
from bot.talk.library import (
    Library,
    Ranked,
    View,
    entered,
    finding_of,
    forbids_trial,
    last_finding,
    stopped_by_answer,
)
from bot.talk.messages import (
    Chart,
    Done,
    Message,
    Say,
    ShowStep,
    Stop,
    Suspicions,
)
from bot.talk.offer import is_fitting, on_offer, on_the_table
from bot.talk.outcome import how_sure
from bot.talk.owed import not_yet, open_hazards
from bot.talk.search import advice
from bot.talk.why import disagreement, in_a_line
from bot.talk.wording import cause_name, span


def show(
    view: View, library: Library, before: Job | None = None
) -> tuple[Message, ...]:
    """Everything a person needs to see at this point, the question last.

    Args:
        view: the job as it stands.
        library: cards and rules.
        before: the job before the last answer, if that was seen: a step that stays on
            the table is not told again.
    """
    if view.job.doubt or view.job.passing or (before and _stays(before, view.job)):
        return (ask(view, library),)
    return (*_before_question(view, library), ask(view, library))


def resumed(view: View, library: Library) -> tuple[Message, ...]:
    """The same where a job is gone on with: what was said and found, the cautions."""
    job, card = view.job, view.card
    at_work = card is not None and job.stage in (Stage.CHECK, Stage.REPAIR, Stage.PROVE)
    if not at_work or card is None:
        return show(view, library)
    shown = show(view, library)
    head = [message for message in _head(card) if message not in shown]
    return (*so_far(view), *head, *shown)


MOST_TOLD = 8
"""Answers told when a job is gone on with, the last ones. Our choice."""


def so_far(view: View) -> tuple[Message, ...]:
    """What was said at first, answered and read off, a line each."""
    told = [f'You said: "{said}"' for said in view.job.words]
    told += [f"{check}: {answer}" for check, answer in entered(view)[-MOST_TOLD:]]
    told += [f"Read off: {taken.value:g} {taken.unit}" for taken in view.job.readings]
    return (Chart(("So far:", *(f"  {line}" for line in told))),) if told else ()


def _stays(before: Job, now: Job) -> bool:
    """Whether the same step is on the table, and nothing new is believed."""
    same = (before.stage, before.card, before.step) == (now.stage, now.card, now.step)
    on_table = now.stage in (Stage.CHECK, Stage.REPAIR) and now.step is not None
    return same and on_table and before.answers == now.answers


def _before_question(view: View, library: Library) -> tuple[Message, ...]:
    job = view.job
    if job.stage is Stage.STOPPED:
        return tuple(Stop(rule) for rule in reversed(view.rules))
    if job.stage is Stage.CLOSED:
        return (_closed(view),)
    if job.guess:
        return ()
    if job.stage is Stage.NARROW:
        return _candidates(job, library)
    if job.stage in (Stage.CHECK, Stage.REPAIR):
        return tuple(_marked(m, view, library) for m in _step(view))
    if job.stage is Stage.PROVE and job.showed is not None:
        return tuple(_marked(m, view, library) for m in _proof(view))
    return ()


def _marked(message: Message, view: View, library: Library) -> Message:
    """A step with how its page stands; other messages as they are."""
    if isinstance(message, ShowStep) and view.card:
        return replace(message, standing=library.standing(view.card.id)[0])
    return message


def _candidates(job: Job, library: Library) -> tuple[Message, ...]:
    ranked = library.rank(". ".join(job.words), job.truck)
    reasons = {card.card: card.why for card in ranked.cards}
    rows = tuple(
        replace(
            near,
            why=reasons.get(near.card, ()),
            standing=library.standing(near.card)[0],
        )
        for near in on_offer(job, library)
    )
    shown = on_the_table(rows, job) if rows else ()
    return shown if is_fitting(job) else (*advice(job), *shown)


def understood(ranked: Ranked) -> tuple[Message, ...]:
    """How odd spellings and short forms were read, so that a wrong guess is seen."""
    if not ranked.understood:
        return ()
    return (Say(f"I read {', '.join(ranked.understood)}."),)


def suspicions(view: View) -> tuple[Message, ...]:
    """The causes with their chances, and the drive verdict."""
    if not view.card or not view.belief:
        return ()
    return (suspicion_rows(view.card, view.belief, view),)


def suspicion_rows(card: Card, belief: Belief, view: View) -> Suspicions:
    """The causes in play by name, likeliest first."""
    names = view.case or Case((card,), (1.0,))
    rows = tuple(
        (cause_name(names.naming(cause) or card, cause), p)
        for cause, p in belief.ranked()
    )
    hazards, unproved = open_hazards(view.ledger), view.ledger.unproved
    return Suspicions(card.title, rows, belief.none, view.drive, hazards, unproved)


def _step(view: View) -> tuple[Message, ...]:
    job, card = view.job, view.card
    if card is None:
        return (Say(PAGE_GONE),)
    is_first = job.proposed.count(card.id) == 1
    head = _head(card) if is_first and not _was_told(job) else ()
    if head and len(set(job.proposed)) > 1:
        head = (Say(f"The next step is from the card: {card.title}."), *head)
    if job.step and job.step.kind is StepKind.CHECK and view.check:
        check = view.check
        body = cautions_for(card, check.needs, check.body)
        step = ShowStep("Check", check.title, check.needs, body, check.readings)
        last = last_finding(view)
        bore = last is None or bool(last.bearings)
        told = (*suspicions(view), *disagreement(view)) if bore else ()
        return (*head, *told, step)
    if job.step and job.step.kind is StepKind.REPAIR and view.repair:
        repair = view.repair
        note = " ".join((in_a_line(view), *_way_home(view), *_before_it(job)))
        body = cautions_for(card, repair.needs, repair.body)
        step = ShowStep("Repair", repair.title, repair.needs, body, note=note)
        return (*head, *suspicions(view), *disagreement(view), step)
    if job.step and job.step.kind is StepKind.WATCH:
        return (*head, *watch(view))
    if card.is_stub:
        return (*head, Say(NO_PAGE))
    told = (Say("If nothing was found:"), *blocks(card.nothing))
    return (*suspicions(view), *disagreement(view), *told)


PAGE_GONE = (
    "The page of this job is no longer here: it was merged with another, renamed or "
    "taken out. All you said and found is kept. Until there is a page again, treat it "
    "as one that does not move."
)

NO_PAGE = (
    "This fault is known, and there is no page for it yet: I cannot lead you through "
    "it. What you tell me is kept, for the club to begin one."
)


def _way_home(view: View) -> tuple[str, ...]:
    """The measure that would take it home where this cannot be done here."""
    home = way_home(view)
    if home is None or home == view.repair:
        return ()
    return (f"Without it, to get home: '{home.title}'; name it to have it shown.",)


def _before_it(job: Job) -> tuple[str, ...]:
    """What must be noticed before the first repair, for the proof needs it."""
    return () if job.failed or job.mended else (COUNT_FIRST,)


COUNT_FIRST = (
    "Before you start, notice in how many tries the fault shows: the proof needs that."
)


def _was_told(job: Job) -> bool:
    """Whether the first step was on the table when the last answer was given."""
    return job.earlier is not None and job.earlier.step == job.step


def _head(card: Card) -> tuple[Message, ...]:
    """What is going on inside, and the cautions that hold for the whole job.

    A caution for a dangerous act comes with each step that does it.
    """
    own = (b for b in card.opening if not (isinstance(b, Caution) and b.act))
    return blocks(own)


def _proof(view: View) -> tuple[Message, ...]:
    if view.card is None:
        return ()
    hazard = forbids_trial(view)
    if hazard:
        return (not_yet(hazard),)
    proof = view.card.proof
    note = (
        f"Clean means: {proof.clean} Not clean: {proof.not_clean} "
        f"One cycle takes {span(proof.needs.time.minutes)}."
    )
    body = cautions_for(view.card, proof.needs, proof.body)
    return (ShowStep("Proof", "Prove it", proof.needs, body, note=note),)


KEPT = (
    "Written down, with all that you said. Pass it on to the club when it is found: so "
    "a page begins."
)


def _closed(view: View) -> Message:
    outcome = view.job.outcome
    if outcome is None or view.card is None:
        return Done(KEPT)
    parts = [f"Written down. {view.card.title}."]
    if outcome.cause == NOT_KNOWN:
        parts.append("Cause not known yet.")
    elif outcome.cause:
        parts.append(f"Cause: {cause_name(view.card, outcome.cause)}.")
    repair = view.card.repair(outcome.repair) if outcome.repair else None
    if repair:
        parts.append(f"Repair: {repair.title}, {how_sure(outcome)}.")
    if outcome.helped:
        parts.append("Help was called.")
    parts.append(f"{span(outcome.minutes)}, money {outcome.money:g}.")
    parts += [f"Still open: {hazard}." for hazard in open_hazards(view.ledger)]
    return Done(" ".join(parts))


def noted(event: e.Event, before: View, library: Library) -> tuple[Message, ...]:
    """A short word on what has just been taken in."""
    match event:
        case e.Found():
            return _noted_finding(event, before)
        case e.SteppedBack():
            return (Say(f"Taken back{_taken_back(before)}."),)
        case e.CycleClean():
            return _counted(before)
        case e.ToolMissing():
            return (Say(f"No {event.tool} here: steps that need it are left out."),)
        case e.CardChosen() | e.LeadFollowed():
            return _chosen(event.card, before.job, library)
        case e.StopDenied():
            return _still_stands(before)
        case e.CauseNamed():
            return same_cause(event.cause, before.job, library)
        case _:
            said = _NOTED.get(type(event))
            return (Say(said),) if said else ()


def _still_stands(before: View) -> tuple[Message, ...]:
    """That an answer stands though the stop rule behind it is denied."""
    finding = stopped_by_answer(before)
    if finding is None:
        return ()
    return (Say(f"Your answer stands: {finding.answer}. A slip? Type <, then 4."),)


def _chosen(card_id: str, job: Job, library: Library) -> tuple[Message, ...]:
    card = library.card(card_id)
    if card is None:
        return ()
    stands = " ".join(f"({part})" for part in _stands(card.id, library))
    said = f"Card: {card.title} {stands}".strip()
    back = (Say(TAKEN_BACK),) if library.standing(card.id)[0] == WITHDRAWN else ()
    return (Say(f"{said}."), *back, *had_before(card, job, library))


WITHDRAWN = "withdrawn"
TAKEN_BACK = (
    "The club has withdrawn this page: do not work by it. What it says of moving the "
    "truck holds; for the rest ask a reviewer, or somebody who knows."
)


def _stands(card_id: str, library: Library) -> tuple[str, ...]:
    """How a page stands, and why, as one remark; none where it is not known."""
    how, why = library.standing(card_id)
    return (f"{how}: {why}" if why else how,) if how else ()


HOME = (
    "That takes it home and cures nothing: the job stays open. Type = to leave it till "
    "you are there; ask 'is it safe to drive' for how far and how fast."
)
CALLING = (
    "Make the truck safe first: park brake, chocks, warning triangle. Tell whoever "
    "comes what you saw and what you have tried; it is all in this job."
)


_NOTED: MappingProxyType[type[e.Event], str] = MappingProxyType(
    {
        e.CardsKept: "Then I take the checks that tell them apart.",
        e.MeasureTaken: HOME,
        e.HazardPassed: "Noted: passed by one who may decide.",
        e.HazardStands: "Then it stays as it is.",
        e.ProofPutOff: "Then that first. Say done to the repair again after it.",
        e.WordsKept: "Your words are kept on this machine, to find this page by.",
        e.WordsForgotten: "Your words find no page any longer.",
        e.CycleBetter: "Then one fault is mended and another is left. I look for that.",
        e.CycleNotClean: "Then it was not that, or not only. The search goes on.",
        e.CameBack: "Then it was not that, or not only. The job is open again.",
        e.CardLeft: "Then not that card. What you found stays known.",
        e.FaultHid: "Not showing now is no finding. What needs it to show waits.",
        e.FaultShows: "Good: now it can be caught.",
        e.Paused: "Paused here. It goes on from this step.",
        e.HelpCalled: CALLING,
        e.ProofEnded: "Now write down how it ended.",
    }
)


def _taken_back(before: View) -> str:
    """The answer that is taken back, if it is one, with advice on a reading."""
    now, then = before.job.answers, before.job.earlier
    if then is None or len(then.answers) >= len(now) or not before.case:
        return ""
    card = before.case.card(now[-1].card)
    finding = finding_of(card, now[-1].check, now[-1].answer) if card else None
    if finding is None or finding.limit is None:
        return f": {now[-1].answer}"
    return f": {finding.answer}. Go against a reading only if it was taken wrong"


LONG_CYCLE_MIN = 30.0
"""So long a trial is easily told before it was made. Our choice."""


def _counted(before: View) -> tuple[Message, ...]:
    """A word on a clean trial that takes long, for it is believed at once."""
    minutes = before.card.proof.needs.time.minutes if before.card else 0.0
    if minutes < LONG_CYCLE_MIN:
        return ()
    made = f"One takes {span(minutes)}: if this was not made yet, < takes it back"
    return (Say(f"Counted as clean. {made}."),)


def _noted_finding(event: e.Found, before: View) -> tuple[Message, ...]:
    said = f"Noted: {event.answer}."
    card = before.card
    finding = finding_of(card, event.check, event.answer) if card else None
    if finding and finding.drive and finding.drive is not Drive.NO_LIMIT:
        said += f" That holds it: {finding.drive.value}."
    if finding and finding.go_to:
        said += (
            f" It points to another card: {finding.go_to.label}. Type + to go there."
        )
    return (Say(said),)
