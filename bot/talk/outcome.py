"""How a job ends: the likeliest cause, the outcome to write down, typed corrections."""

from bot.diagnose.proof import cured_chance
from bot.job.events import Recorded
from bot.job.job import Outcome
from bot.language.line import Line
from bot.talk.library import View
from bot.talk.wording import percent
from bot.units import SYMBOLS


def likely_cause(view: View) -> str:
    """The likeliest cause, of those that the repair made is for if there is one."""
    if view.card is None or view.belief is None:
        return ""
    repair = view.job.repair
    cured = [cause.id for cause in view.card.causes if cause.cured_by(repair)]
    own = [cause.id for cause in view.card.causes]
    return max(cured or own, key=view.belief.of, default="")


def outcome_of(
    view: View, minutes: float | None = None, money: float = 0.0
) -> Recorded:
    """The outcome to write down; the minutes are the card's own unless typed."""
    job = view.job
    sure = 0.0
    if job.repair and job.showed:
        sure = cured_chance(view.cure_chance(), job.showed, job.clean)
    return Recorded(
        cause=job.named or "",
        repair=job.repair,
        proved=view.is_proved and sure > 0,
        helped=job.helped,
        minutes=_minutes(view) if minutes is None else minutes,
        money=money,
        sure=sure if job.clean else 0.0,
    )


PROBABLY = 0.8
"""From so sure on a cure that is not proved is called probable. Our choice."""


def how_sure(outcome: Outcome) -> str:
    """How a cure is called."""
    if outcome.proved:
        return "proved"
    if outcome.sure >= PROBABLY:
        return f"probably cured ({percent(outcome.sure)})"
    return "not yet proved"


def typed_outcome(view: View, line: Line) -> Recorded | None:
    """The outcome with typed minutes and money, such as ``90 min, 40 money``."""
    minutes = _told(line, "min")
    money = _told(line, "money")
    bare = [found.value for found in line.quantities if found.unit is None]
    if minutes is not None and money is None and len(bare) == 1:
        money = bare[0]  # "3 h, 90"
    if minutes is None and money is None:
        return None
    return outcome_of(view, minutes, money or 0.0)


WORKING_DAY = 8 / 24
"""A day of work, beside one of the clock. Source: common practice, no source."""


def _told(line: Line, symbol: str) -> float | None:
    """What a line tells in units like that one, all together; None for nothing."""
    wanted, day = SYMBOLS[symbol], SYMBOLS["day"]
    told = [
        value * (WORKING_DAY if found.unit == day else 1.0)
        for found in line.quantities
        if found.unit and (value := found.value_in(wanted)) is not None
    ]
    return sum(told) if told else None


def _minutes(view: View) -> float:
    """The cards' minutes for every check answered and every repair made."""
    job, case = view.job, view.case
    if not case:
        return 0.0
    checks = [(case.card(a.card), a.check) for a in job.answers]
    repairs = [(case.card(t.card), t.repair) for t in (*job.failed, *job.mended)]
    repairs.append((view.card, job.repair))
    done = [card.check(check) for card, check in checks if card]
    made = [card.repair(repair) for card, repair in repairs if card]
    return sum(step.needs.time.minutes for step in (*done, *made) if step)
