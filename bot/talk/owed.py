"""What holds the truck, in words: the open hazards, and what closes them."""

from collections.abc import Iterator
from dataclasses import replace

from bot.job import events as e
from bot.job.job import Job
from bot.job.ledger import Hazard, Ledger
from bot.model.card import Drive
from bot.talk import phrases
from bot.talk.choices import CALL, PAUSE, back
from bot.talk.library import Library, View, finding_of
from bot.talk.messages import Ask, Choice, Say
from bot.talk.table import PASSED


def sealed(event: e.Event, job: Job, library: Library) -> e.Event:
    """A finding with the verdict that its page gives it, for a page may change.

    Stop rules that are raised keep their words and verdict for the same reason.
    """
    if isinstance(event, e.StopRaised):
        rules = (library.rule(rule) for rule in event.rules)
        kept = ((r.id, r.title, r.drive.value, r.do_now) for r in rules if r)
        return replace(event, kept=(*event.kept, *kept))
    if not isinstance(event, e.Found) or event.drive:
        return event
    card = library.card(job.card)
    finding = finding_of(card, event.check, event.answer) if card else None
    drive = finding.drive if finding else None
    return replace(event, drive=drive.value) if drive else event


def open_hazards(ledger: Ledger) -> tuple[str, ...]:
    """What is open, one in a line, the strictest first."""
    order = list(Drive)
    ranked = sorted(ledger.hazards, key=lambda hazard: order.index(hazard.drive))
    return tuple(f"{hazard.says} ({hazard.drive.value})" for hazard in ranked)


def in_full(ledger: Ledger) -> Iterator[str]:
    """Each hazard with what closes it, and the repair that is not proved yet."""
    for hazard in ledger.hazards:
        yield f"Open: {hazard.says} ({hazard.drive.value}). {closing(hazard)}"
    if any(hazard.is_passed_by_word for hazard in ledger.hazards):
        yield f"Once they have looked, type: {PASSED.said}."
    if ledger.unproved:
        yield (
            f"Repaired, not proved: '{ledger.unproved}' counts once its trial is clean."
        )


def closing(hazard: Hazard) -> str:
    """What closes a hazard, as a sentence."""
    if hazard.made:
        return "Its repair is made; the trial must prove it."
    if hazard.is_passed_by_word:
        return f"Who decides: {' '.join(hazard.closes).rstrip('.')}."
    return f"It stays so until {' or '.join(hazard.closes)}."


def passing(view: View) -> Ask | None:
    """The question whether one who may decide has passed a hazard, or None."""
    key = view.job.passing[0] if view.job.passing else ""
    hazard = next((h for h in view.ledger.hazards if h.key == key), None)
    if hazard is None:
        return None
    text = f"{hazard.says}. {closing(hazard)} Have they looked, and passed it?"
    yes = Choice("1", "Yes, they have", e.HazardPassed(), phrases.YES)
    no = Choice("2", "No, or not yet", e.HazardStands(), (*phrases.NO, *phrases.UNSURE))
    return Ask(text, (yes, no), back(view.job))


def asked_to_pass(ledger: Ledger) -> e.HazardsAsked | None:
    """The question about each hazard that somebody's word closes; None for none."""
    keys = tuple(h.key for h in ledger.hazards if h.is_passed_by_word)
    return e.HazardsAsked(keys) if keys else None


NONE_TO_PASS = "Nothing is open that somebody's word would close."


def before_the_trial(view: View, hazard: Hazard) -> Ask:
    """What to do instead of a trial drive that an open hazard forbids."""
    if hazard.is_passed_by_word:
        passed = e.HazardsAsked((hazard.key,))
        first = Choice("1", "One who may decide has passed it", passed)
    else:
        label = f"First: {hazard.closes[0]}"
        first = Choice("1", label, e.ProofPutOff(hazard.key))
    leave = Choice("2", "Leave it at that", e.ProofEnded(), phrases.LEAVE_IT)
    return Ask("Before any trial:", (first, leave), (*back(view.job), PAUSE, CALL))


def not_yet(hazard: Hazard) -> Say:
    """Why a trial, or a step that an open hazard forbids, must wait."""
    return Say(f"Not yet. {waits_for(hazard)}")


def waits_for(hazard: Hazard) -> str:
    """What holds a step back, and what closes it."""
    return f"{hazard.says}: {hazard.drive.value}. {closing(hazard)}"
