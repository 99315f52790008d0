"""Values typed at a check that asks for readings: in any order and unit, timed.

Where a check has a wait, the first value starts it; the time that really passed counts,
also over a pause or a night. What lies too close to the card's bound for a common gauge
is read back, with the advice to test longer.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from bot.calc.chart import chart
from bot.calc.readings import ReadingError, measured
from bot.job import events as e
from bot.job.job import Taken
from bot.language.line import Line
from bot.model.card import Check, Readings, Sum
from bot.talk.figures import (
    HEDGED_SHARE,
    Change,
    Role,
    Typed,
    contradicts,
    corrects,
    figures,
    in_doubt,
    is_each,
    is_hedged,
    is_reading,
    is_two_gauges,
    is_vague,
    may_be_bar,
    tells_no_gauge,
)
from bot.talk.finding import Heard, found_events, say
from bot.talk.library import Library, View
from bot.talk.limits import doubtful, picked, strictest
from bot.talk.messages import Chart, Message, Say
from bot.talk.passed import between, later, passed_since
from bot.talk.wording import span
from bot.units import SYMBOLS, Amount

EARLY = 0.8
"""A value that comes after less of the wait is one on the way, not the last."""

MOST_WAITS, PLAIN_WAITS = 20.0, 2.0
"""After so many waits it is said that the long time may tell of something else; for a
plain fall or rise, which grows with the time, after fewer."""


@dataclass(frozen=True, slots=True)
class _Typing:
    """What was typed at a check that asks for readings."""

    view: View
    check: Check
    readings: Readings
    words: str
    line: Line
    library: Library


def by_reading(view: View, check: Check, words: str, library: Library) -> Heard | None:
    """The finding that typed values pick, with the working; None without values.

    A first value of a check with a wait starts the wait instead.
    """
    readings = check.readings
    if readings is None:
        return None
    line = library.line(words)
    if tells_no_gauge(readings, line):
        return None
    at = _Typing(view, check, readings, words, line, library)
    typed = figures(readings, line)
    refused = _refused(at, typed)
    if refused:
        return say(refused)
    if not typed.values:
        return None
    try:
        return _heard(at, typed)
    except ReadingError as error:
        return say(str(error))


def _refused(at: _Typing, typed: Typed) -> str:
    """What is wrong with the words themselves; "" for nothing."""
    if corrects(at.line):
        return "To put an answer right type < first; then type the value again."
    if is_vague(at.line):
        return "How long was that? Type the time in figures, such as 7.8 after 5 min."
    taken = at.view.job.taken(at.check.id)
    if taken and len(typed.values) > 1 and typed.role is Role.UNSAID:
        return "One value now: what it reads, and the time if you took it yourself."
    if is_each(at.line):
        return "This asks for one value, not one of each. Measure it as it is written."
    told = _at_odds(at, typed)
    if told:
        return told
    if typed.minutes is not None and not typed.values and is_reading(at.line):
        return "Type the value together with the time, such as 7.8 after 20 min."
    return ""


def _at_odds(at: _Typing, typed: Typed) -> str:
    """What speaks against the values: other gauges, another state, another unit."""
    first = at.readings.values[0]
    if at.readings.wait and is_two_gauges(at.line):
        return "Follow one gauge, the one that moves most: type its values alone."
    if len(at.readings.values) == 1 and is_two_gauges(at.line):
        return f"One value is asked for, {first.name}: type that one alone."
    states = [state.name for state in at.check.needs.truck]
    for asked in (*(value.name for value in at.readings.values), *states):
        if contradicts(asked, at.words):
            return f"This asks for {asked}. Measure it so, or pick."
    is_first = typed.change is Change.NONE and not at.view.job.taken(at.check.id)
    if is_first and may_be_bar(typed.values, first.unit):
        return f"{typed.values[0].value:g} of what? Type it with its unit, bar or psi."
    return ""


def _heard(at: _Typing, typed: Typed) -> Heard:
    """The values as a change told outright, one of a timed pair, or all at once."""
    alone = typed.values[0] if len(typed.values) == 1 else None
    if alone and typed.change is not Change.NONE and at.readings.sum_or_sheet:
        return _changed(at, alone, typed)
    if alone and _is_of_both(at):
        return _worked(at, [alone, alone], typed.minutes)
    if _is_of_both(at):
        return say(f"Give {_names(at)}, one figure each.")
    if alone and _is_half(at, alone):
        return say(f"Give both, {_names(at)}; or say that it is the difference.")
    if alone and at.readings.wait and not _is_result(at.readings, alone):
        return _timed(at, alone, typed)
    if typed.minutes is not None and _is_too_short(at, typed.minutes):
        return say(_asks_longer(at))
    return _worked(at, typed.values, typed.minutes)


def _is_result(readings: Readings, amount: Amount) -> bool:
    """Whether what was typed is the rate itself, worked out by the person.

    A fall in bar is a pressure like those that it is worked out from: no telling.
    """
    kind = SYMBOLS[readings.unit].kind
    own = SYMBOLS[readings.values[0].unit].kind
    return amount.unit is not None and amount.unit.kind == kind != own


_GAP = ("difference", "apart", "gap", "less", "more", "lower", "higher", "hotter")


def _is_half(at: _Typing, alone: Amount) -> bool:
    """Whether one of two values was typed that could be taken for their difference."""
    readings = at.readings
    if readings.wait or len(readings.values) != 2:
        return False
    same = SYMBOLS[readings.unit].kind == SYMBOLS[readings.values[0].unit].kind
    return same and not any(word in at.words.lower() for word in _GAP)


def _names(at: _Typing) -> str:
    return " and ".join(value.name for value in at.readings.values)


def _is_of_both(at: _Typing) -> bool:
    """Whether one figure is told of two gauges: "both say 4.5"."""
    two = len(at.readings.values) == 2 and not at.readings.wait
    return two and any(word.said == "both" for word in at.line.words)


def _is_rate(readings: Readings) -> bool:
    """Whether a shorter or longer time than the card's gives the same figure."""
    return SYMBOLS[readings.unit].kind == "pressure rate"


def _falls(readings: Readings) -> bool:
    """Whether a fall is asked for, by name or by a leak's worksheet."""
    return readings.sum not in (Sum.RISE, Sum.RISE_PER_MINUTE)


def _is_too_short(at: _Typing, minutes: float) -> bool:
    wait = at.readings.wait.minutes if at.readings.wait else 0.0
    return not _is_rate(at.readings) and minutes < EARLY * wait


def _asks_longer(at: _Typing) -> str:
    return f"The card asks for {at.readings.wait} between the two. Read again then."


def _changed(at: _Typing, value: Amount, typed: Typed) -> Heard:
    """A loss or gain told outright, such as 1 bar in 10 min."""
    readings = at.readings
    if readings.wait and (typed.change is Change.LOST) is not _falls(readings):
        return say(
            "It went the other way than this check asks. Read both values again."
        )
    unit = value.unit or SYMBOLS[readings.values[0].unit]
    if not readings.wait:
        return _worked(at, [Amount(value.value, unit)], None)
    if typed.minutes is None or typed.minutes <= 0:
        return say(f"In what time? Type it as {value.value:g} {unit.symbol} in 10 min.")
    if _is_too_short(at, typed.minutes):
        return say(_asks_longer(at))
    if not _is_rate(readings):
        return _worked(at, [Amount(value.value, unit)], typed.minutes)
    if unit.kind != "pressure":
        raise ReadingError(f"A loss of pressure is asked for; {unit.symbol} is none.")
    rate = value.value * unit.scale / typed.minutes
    return _worked(at, [Amount(rate, SYMBOLS["kPa/min"])], None)


def _timed(at: _Typing, value: Amount, typed: Typed) -> Heard:
    """One value of a check with a wait: the first, one on the way, or the last."""
    taken, now = at.view.job.taken(at.check.id), at.library.now()
    asked = at.readings.values[0].unit
    first = Amount(taken[0].value, SYMBOLS[taken[0].unit]) if taken else None
    if first and in_doubt(value, first, asked):
        return say(f"{value.value:g} of what? Type it with its unit.")
    unit = value.unit or (first.unit if first else None) or SYMBOLS[asked]
    value = Amount(value.value, unit)
    _refuse_nonsense(at.readings, value, is_first=first is None)
    steady = at.library.steady()
    event = e.ReadingTaken(at.check.id, value.value, unit.symbol, now, steady=steady)
    if first is None and (typed.role is Role.LAST or typed.minutes is not None):
        name = at.readings.values[0].name
        return say(f"Which was {name}? Type both, such as {_both(at.readings)}.")
    if first is None or typed.role is Role.FIRST:
        again = replace(event, again=first is not None)
        return Heard((again,), (Say(_started(at.readings, value)),))
    if typed.minutes is not None:
        return _second(at, (first, value), typed.minutes, event, stated=True)
    passed = passed_since(taken[0], at.library)
    if passed.asks:
        return say(passed.says)
    heard = _second(at, (first, value), passed.minutes, event, stated=False)
    told = (Say(passed.says),) if passed.says else ()
    return Heard(heard.events, (*told, *heard.says))


def _both(readings: Readings) -> str:
    first, last = readings.values[0], readings.values[-1]
    pair = _EXAMPLES.get(first.unit, ("8.2", "7.8"))
    low, high = pair if _falls(readings) else pair[::-1]
    return f"{first.name} {low}, {last.name} {high} {last.unit} after {readings.wait}"


_EXAMPLES = MappingProxyType({"psi": ("120", "114"), "kPa": ("820", "780")})


def _second(
    at: _Typing,
    pair: tuple[Amount, Amount],
    passed: float,
    event: e.ReadingTaken,
    *,
    stated: bool,
) -> Heard:
    """A value after the first: the last one, or one on the way."""
    wait = at.readings.wait.minutes if at.readings.wait else 0.0
    soon = passed < EARLY * wait and not (stated and _is_rate(at.readings))
    if soon and not _is_decided(at, pair, wait):
        here = f"Noted on the way, after {span(passed)}."
        typed = f"{pair[1].value:g} after {at.readings.wait}"
        own = f"If you timed it yourself, type it so: {typed}."
        fast = JUST_NOW if _is_fast(at, pair) else ""
        told = Say(f"{here} {own} {fast}".rstrip())
        return Heard((event,), (*_so_far(at, event, passed), told))
    heard = _worked(at, pair, wait if soon else passed)
    return Heard(heard.events, (*_so_far(at, event, passed), *heard.says))


def _so_far(at: _Typing, event: e.ReadingTaken, passed: float) -> tuple[Chart, ...]:
    """The values up to this one, drawn."""
    taken = at.view.job.taken(at.check.id)
    here = replace(taken[0], value=event.value, unit=event.unit, steady="")
    return _drawn((*taken, replace(here, at=later(taken[0].at, passed))))


JUST_NOW = "If it moved so far just now, do not drive."


def _is_fast(at: _Typing, pair: tuple[Amount, Amount]) -> bool:
    """Whether the change so far, in a minute, would be the worst answer."""
    falls = _is_rate(at.readings) and _falls(at.readings)
    return falls and _is_decided(at, pair, 1.0)


def _is_decided(at: _Typing, pair: tuple[Amount, Amount], wait: float) -> bool:
    """Whether it has changed so much already that the rest of the wait adds nothing."""
    try:
        got = measured(at.readings, pair, wait)
    except ReadingError:
        return False
    finding = picked(at.check, got.value)
    limit = finding.limit if finding else None
    if limit is None or limit.high is not None:
        return False
    return not doubtful(at.check, got)


def _refuse_nonsense(readings: Readings, value: Amount, *, is_first: bool) -> None:
    """Raise a `ReadingError` for a value that cannot be true by itself."""
    first = readings.values[0]
    measured(Readings((first,), unit=first.unit), [value])
    if is_first and readings.sheet:  # which has bounds of its own for a start
        measured(readings, [value, value])


def _started(readings: Readings, value: Amount) -> str:
    first, last = readings.values[0].name, readings.values[-1].name
    told = f"{value.value:g} {value.unit.symbol if value.unit else ''}".rstrip()
    return (
        f"Noted: {first} {told}. I keep the time, also if you leave. Then "
        f"read {last}; values on the way may be typed too."
    )


def _worked(at: _Typing, values: Sequence[Amount], minutes: float | None) -> Heard:
    """The finding that all values pick, or a reading back where that is doubtful."""
    got = measured(at.readings, values, minutes)
    if is_hedged(at.line):
        rough = HEDGED_SHARE * abs(got.value)
        got = replace(got, error=max(got.error, rough))
    side = _side(at.line) if len(values) == 1 else 0
    finding = picked(at.check, got.value + side * HAIR * abs(got.value))
    if finding is not None and finding.limit is not None and side:
        open_ended = finding.limit.low if side < 0 else finding.limit.high
        if open_ended is not None:  # "under 1 V" may be either of two answers
            return say("That may be more than one of these. What does it read?")
        return Heard((e.Guessed(at.check.id, finding.answer, at.words),))
    if finding is None:
        return say(f"No answer of this check holds {got.value:.3g} {got.unit}: pick.")
    says: list[Message] = [Say(got.working)]
    wait = at.readings.wait.minutes if at.readings.wait else 0.0
    longest = MOST_WAITS if _is_rate(at.readings) else PLAIN_WAITS
    too_long = bool(minutes and wait and minutes > longest * wait)
    if too_long:
        says.append(Say("That is a long time: cooling alone lowers a pressure."))
    close = doubtful(at.check, got)
    if close:
        longer = "test longer" if wait else "read again"
        says.append(Say(f"That is too close to call with a common gauge: {longer}."))
    if close or (too_long and not _is_rate(at.readings)):
        guess = e.Guessed(at.check.id, strictest(at.check, got).answer, at.words)
        return Heard((guess,), tuple(says))
    event = e.Found(at.check.id, finding.answer, at.words)
    says.append(Say("Not so? Type < and pick the answer yourself."))
    return Heard(found_events(at.view, event, at.library), tuple(says))


HAIR = 1e-3
"""So far beside a value lies what is said to be less, or more, than it."""


def _side(line: Line) -> int:
    """-1 where all values are told as "less than", 1 as "more than", else 0."""
    sides = {found.side for found in line.quantities}
    return sides.pop() if len(sides) == 1 else 0


def _drawn(taken: Sequence[Taken]) -> tuple[Chart, ...]:
    """The values against time, where there are more than the first and the last."""
    if len(taken) < 3:
        return ()
    unit = SYMBOLS[taken[0].unit]
    points = [
        (between(taken[0], r), r.value * SYMBOLS[r.unit].scale / unit.scale)
        for r in taken
        if SYMBOLS[r.unit].kind == unit.kind
    ]
    return (Chart(chart(points, unit.symbol)),)


def due(check: Check, taken: Sequence[Taken], library: Library) -> str:
    """The moment at which the last value can be read; "" before the first.

    It is told by this machine's clock as it is set now.
    """
    left = minutes_left(check, taken, library)
    return "" if left is None else later(library.now(), left)


def minutes_left(
    check: Check, taken: Sequence[Taken], library: Library
) -> float | None:
    """Minutes until the last value can be read, below 0 when it can; None: no wait."""
    wait = check.readings.wait if check.readings else None
    if wait is None or not taken:
        return None
    return wait.minutes - passed_since(taken[0], library).minutes
