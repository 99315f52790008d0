"""Words at a check or a repair: a reading, a finding, a missing tool, work done."""

import re

from bot.job import events as e
from bot.job.job import Skip, Stage, StepKind
from bot.match.answers import Verdict, verdict
from bot.model.card import Card, Check, Repair
from bot.talk.aside import is_blind, lacks, tells_of_work
from bot.talk.finding import (
    OUTRIGHT,
    Heard,
    by_name,
    elsewhere,
    in_words,
    is_verbatim,
    lost,
    not_understood,
    plainly,
    say,
    where,
)
from bot.talk.library import Library, View, sayable
from bot.talk.messages import Say
from bot.talk.owed import not_yet
from bot.talk.reading import by_reading


def at_check(view: View, words: str, library: Library) -> Heard:
    """A finding of the check on the table, or of another one."""
    if view.card is None:
        return not_understood()
    words = _before_the_question(words, library)
    if view.job.step and view.job.step.kind is StepKind.HELP:
        named = _named_repair(view.card, words, library)
        if named:
            return Heard((e.RepairProposed(named),))
    heard = _at_open_check(view, view.check, words, library) if view.check else None
    heard = heard or _found_elsewhere(view, view.card, words, library)
    if heard:
        return heard
    made = _told_as_made(view, words, library)
    if made:
        return made
    if library.line(words).is_question:
        return lost(_wants_to_know(view))
    asked = view.check and view.check.readings
    return lost(FIGURES) if asked else not_understood()


def _before_the_question(words: str, library: Library) -> str:
    """What is told before a question at the end: "all alike, should we worry?"."""
    line = library.line(words)
    if not line.is_question or len(line.clauses) < 2:
        return words
    told = line.but({len(line.clauses) - 1})
    tells = library.line(told)
    return words if tells.is_question or tells.is_spoken else told


def _wants_to_know(view: View) -> str:
    """What is said to a question that is none of the moves."""
    wanted = "; ".join(_wanted(view)) if view.repair and view.job.step else ""
    needs = f" For this it names: {wanted}." if wanted else ""
    return f"I know no more of that than the page says.{needs} {ASK_SO}"


ASK_SO = "Type ? for why this step, keys for what else can be said."


def _told_as_made(view: View, words: str, library: Library) -> Heard | None:
    """A repair that is told as made at a check: it is put on the table."""
    card = view.card
    if card is None or not tells_of_work(library.line(words)):
        return None
    chosen = library.choose(words, [repair.title for repair in card.repairs])
    if verdict(chosen) is Verdict.NONE:
        return None
    named = e.RepairProposed(card.repairs[chosen[0].number].id)
    return Heard((named,), (Say(IF_MADE),))


def at_repair(view: View, words: str, library: Library) -> Heard:
    """A repair that is told as made, another one asked for, or a finding of a check."""
    line = library.line(words)
    missing = lacks(line, _wanted(view)) if view.job.step else ""
    if view.job.step and missing:
        return Heard((e.ToolMissing(view.job.step.id, missing),))
    other = _other_repair(view, words, library)
    if view.job.step and view.repair and tells_of_work(line):
        if other:
            return Heard(other.events, (Say(IF_MADE),))
        return Heard((e.Guessed("", view.repair.title, words),))
    return other or at_check(view, words, library)


IF_MADE = "If that is what you made, say done."


def _wanted(view: View) -> tuple[str, ...]:
    """The tools and parts of the repair on the table, by name."""
    needs = view.repair.needs if view.repair else None
    if needs is None:
        return ()
    parts = (choice.name for part in needs.parts for choice in part.choices)
    return (*needs.tools, *parts)


def _other_repair(view: View, words: str, library: Library) -> Heard | None:
    """Another repair of the card that words name."""
    step, card = view.job.step, view.card
    if step is None or card is None:
        return None
    named = _named_repair(card, words, library)
    if named in ("", step.id):
        return None
    skip = e.StepSkipped(step.id, Skip.PUT_OFF.value)
    return Heard((skip, e.RepairProposed(named)))


_NUMBERED = re.compile(r"(?:(?:go to|show|do) )?(check|repair) ([1-9][0-9]?)")


def asked_for_by_name(view: View, words: str, library: Library) -> Heard | None:
    """A check or a repair asked for by its number or its whole title."""
    card = view.card
    if card is None:
        return None
    step = _numbered(card, words) or _titled(card, words, library)
    here = view.job.step
    if step is None or (here and here.id == step.id):
        return None
    held = view.ledger.holding_back(step, card.id)
    if held:
        return Heard(says=(not_yet(held[0]),))
    if isinstance(step, Check):
        return Heard((e.CheckProposed(step.id),))
    if view.job.stage is Stage.CHECK:
        return Heard((e.RepairProposed(step.id),))
    off = (e.StepSkipped(here.id, Skip.PUT_OFF.value),) if here else ()
    return Heard((*off, e.RepairProposed(step.id)))


def _numbered(card: Card, words: str) -> Check | Repair | None:
    """The step that a reader of the paper calls by its number."""
    found = _NUMBERED.fullmatch(plainly(words))
    if found is None:
        return None
    checks: tuple[Check | Repair, ...] = card.checks
    steps = checks if found[1] == "check" else card.repairs
    return next(iter(steps[int(found[2]) - 1 :]), None)


def _titled(card: Card, words: str, library: Library) -> Check | Repair | None:
    """The step whose whole title was typed."""
    said = library.line(words).stems
    steps: tuple[Check | Repair, ...] = (*card.checks, *card.repairs)
    return next((s for s in steps if library.line(s.title).stems == said), None)


def _named_repair(card: Card, words: str, library: Library) -> str:
    """The repair of the card that words name, as a question or not; "" for none."""
    titles = [repair.title for repair in card.repairs]
    chosen = library.choose(words, titles)
    line = library.line(words)
    if verdict(chosen) is Verdict.TAKE and not line.is_question:
        return card.repairs[chosen[0].number].id
    number = by_name(line, [library.line(title) for title in titles])
    return "" if number is None else card.repairs[number].id


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
    """A finding of another check, where the words do not lean to one of this check."""
    found = elsewhere(view, card, words, library)
    if found and found[0] < OUTRIGHT and view.check:
        here = library.choose(words, sayable(view.check), where(view, view.check))
        if here and here[0].sureness >= LEANING:
            return None
    return found[1] if found else None


LEANING = 0.5
"""So likely an answer to the check on the table that it is rather that one."""


FIGURES = (
    "I cannot tell. Type figures, such as 8.2 bar; or pick an answer, or type keys."
)
