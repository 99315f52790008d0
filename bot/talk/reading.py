"""Values typed at a check that asks for readings: in any order and unit, timed.

Where a check has a wait, the first value starts it; the time that really passed counts,
also over a pause or a night. What lies too close to the card's bound for a common gauge
is read back, with the advice to test longer.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.calc.chart import chart
from bot.calc.readings import Measured, ReadingError, in_order, measured
from bot.job import events as e
from bot.job.job import Taken
from bot.model.card import Check, Finding, Readings
from bot.talk.finding import Heard, found_events, say
from bot.talk.library import Library, View
from bot.talk.messages import Chart, Message, Say
from bot.units import SYMBOLS, Amount, amounts
from bot.units import unit as unit_of

EARLY = 0.8
"""A value that comes after less of the wait is one on the way, not the last."""

MOST_WAITS = 20.0
"""After so many waits it is said that the long time may tell of something else."""


@dataclass(frozen=True, slots=True)
class _Typing:
    """What was typed at a check that asks for readings."""

    view: View
    check: Check
    readings: Readings
    words: str
    library: Library


def by_reading(view: View, check: Check, words: str, library: Library) -> Heard | None:
    """The finding that typed values pick, with the working; None without values.

    A first value of a check with a wait starts the wait instead.
    """
    readings = check.readings
    typed = in_order(readings, words) if readings else ()
    if readings is None or not typed:
        return None
    at = _Typing(view, check, readings, words, library)
    passed = next((a for a in typed if _is_time(a)), None) if readings.wait else None
    values = [a for a in typed if a is not passed] if readings.wait else list(typed)
    minutes = passed.value * passed.unit.scale if passed and passed.unit else None
    try:
        if readings.wait and len(values) == 1 and not _is_result(readings, values[0]):
            return _timed(at, values[0], minutes)
        return _worked(at, values, minutes)
    except ReadingError as error:
        return say(str(error))


MOST_BESIDE = 2
"""So many words beside a value leave it a bare reading, as in "start 6 bar"."""


def is_reading(words: str) -> bool:
    """Whether little more than measured values were typed.

    >>> is_reading("5,5"), is_reading("end 5.7 bar"), is_reading("28v"), is_reading("2")
    (True, True, True, False)
    >>> is_reading("it took 20 minutes to go down")
    False
    """
    typed = amounts(words)
    if not typed or words.strip().isdigit():
        return False
    bare = _VALUE.sub(" ", words)
    return len([w for w in bare.split() if unit_of(w) is None]) <= MOST_BESIDE


_VALUE = re.compile(r"[+-]?[0-9][0-9.,]*")


def _is_time(amount: Amount) -> bool:
    return amount.unit is not None and amount.unit.kind == "time"


def _is_result(readings: Readings, amount: Amount) -> bool:
    """Whether what was typed is the rate itself, worked out by the person."""
    return amount.unit is not None and amount.unit.kind == SYMBOLS[readings.unit].kind


def _timed(at: _Typing, value: Amount, stated: float | None) -> Heard:
    """One value of a check with a wait: the first, one on the way, or the last."""
    taken, now = at.view.job.taken(at.check.id), at.library.now()
    wait = at.readings.wait.minutes if at.readings.wait else 0.0
    usual = taken[0].unit if taken else at.readings.values[0].unit
    value = Amount(value.value, value.unit or SYMBOLS[usual])
    unit = value.unit.symbol if value.unit else usual
    _refuse_nonsense(at.readings, value)
    event = e.ReadingTaken(at.check.id, value.value, unit, now)
    if not taken:
        return Heard((event,), (Say(_started(at.readings, value.value, unit)),))
    passed = stated if stated is not None else _minutes(taken[0].at, now)
    if passed < 0:
        return say(CLOCK_WENT_BACK)
    if passed < EARLY * wait and stated is None:
        return Heard((event,), (Say(f"Noted on the way, after {passed:.0f} min."),))
    first = Amount(taken[0].value, SYMBOLS[taken[0].unit])
    heard = _worked(at, [first, value], passed)
    end = Taken(at.check.id, value.value, unit, _later(taken[0].at, passed))
    return Heard(heard.events, (*_drawn((*taken, end)), *heard.says))


def _refuse_nonsense(readings: Readings, value: Amount) -> None:
    """Raise a `ReadingError` for a value that cannot be true by itself."""
    first = readings.values[0]
    measured(Readings((first,), unit=first.unit), [value])


CLOCK_WENT_BACK = (
    "The clock of this machine went back since the first value. Type the value with "
    "the time that passed, such as 7.8 bar after 10 min."
)


def _started(readings: Readings, value: float, unit: str) -> str:
    first, last = readings.values[0].name, readings.values[-1].name
    return (
        f"Noted: {first} {value:g} {unit}. I keep the time, also if you leave. Then "
        f"read {last}; values on the way may be typed too."
    )


def _worked(at: _Typing, values: Sequence[Amount], minutes: float | None) -> Heard:
    """The finding that all values pick, or a reading back where that is doubtful."""
    got = measured(at.readings, values, minutes)
    finding = _picked(at.check, got.value)
    if finding is None:
        return say(f"No answer of this check holds {got.value:.3g} {got.unit}: pick.")
    says: list[Message] = [Say(got.working)]
    wait = at.readings.wait
    if minutes and wait and minutes > MOST_WAITS * wait.minutes:
        says.append(Say("That is a long time: cooling alone lowers a pressure."))
    if _doubtful(at.check, got):
        longer = "test longer" if wait else "read again"
        says.append(Say(f"That is too close to call with a common gauge: {longer}."))
        guess = e.Guessed(at.check.id, finding.answer, at.words)
        return Heard((guess,), tuple(says))
    event = e.Found(at.check.id, finding.answer, at.words)
    says.append(Say("Not so? Type < and pick the answer yourself."))
    return Heard(found_events(at.view, event, at.library), tuple(says))


def _picked(check: Check, value: float) -> Finding | None:
    held = (f for f in check.findings if f.limit is not None and f.limit.holds(value))
    return next(held, None)


def _doubtful(check: Check, got: Measured) -> bool:
    """Whether the error of the reading reaches into another answer."""
    sides = (got.value - got.error, got.value + got.error)
    return any(_picked(check, value) != _picked(check, got.value) for value in sides)


def _drawn(taken: Sequence[Taken]) -> tuple[Chart, ...]:
    """The values against time, where there are more than the first and the last."""
    if len(taken) < 3:
        return ()
    unit = SYMBOLS[taken[0].unit]
    points = [
        (_minutes(taken[0].at, r.at), r.value * SYMBOLS[r.unit].scale / unit.scale)
        for r in taken
        if SYMBOLS[r.unit].kind == unit.kind
    ]
    return (Chart(chart(points, unit.symbol)),)


def due(check: Check, taken: Sequence[Taken]) -> str:
    """The moment at which the last value can be read; "" before the first."""
    wait = check.readings.wait if check.readings else None
    return _later(taken[0].at, wait.minutes) if wait and taken else ""


def _minutes(first: str, last: str) -> float:
    passed = datetime.fromisoformat(last) - datetime.fromisoformat(first)
    return passed.total_seconds() / 60


def _later(moment: str, minutes: float) -> str:
    return (datetime.fromisoformat(moment) + timedelta(minutes=minutes)).isoformat()
