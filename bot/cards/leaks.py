"""Proofs and limits held by sums: what they pass must not be flat by the morning.

A fall that looks like nothing in ten minutes empties tanks overnight. What a proof or
an answer lets pass is carried on through a night, at the rate that it allows.
"""

from collections.abc import Iterator
from itertools import zip_longest
from typing import TypeGuard

from bot import units
from bot.model.card import Card, Check, Finding, Strength, Sum
from bot.model.place import Fault

NIGHT_MIN = 600.0
"""Ten hours from parking up to starting. Our choice."""

MOST_FALL_BAR = 2.5
"""From 8 bar tanks come down to about where the low-air mark is. Our choice."""

MOST_TYRE_FALL_BAR = 0.5
"""A tyre that loses this every night is the complaint. Our choice."""

TYRES = ("tyre-inflation", "tyres-wheels")

_BAR, _MIN, _BAR_MIN = (units.SYMBOLS[name] for name in ("bar", "min", "bar/min"))
PEDAL = "pedal"
"""Where a text speaks of it the brakes are held on, and no truck stands a night so."""


def lint_leaks(card: Card) -> Iterator[Fault]:
    """A proof, or an answer that rules a cause out, by which a leak would pass."""
    most = MOST_TYRE_FALL_BAR if card.system in TYRES else MOST_FALL_BAR
    for rate in _rates(card.proof.clean):
        if rate * NIGHT_MIN >= most:
            yield Fault(card.proof.place, f"the proof passes {_told(rate)}; ask less")
    for check in card.checks:
        for finding in check.findings if _is_parked(check) else ():
            rate = _passed(finding)
            if rate * NIGHT_MIN >= most:
                says = f"'{finding.answer}' clears a cause and passes {_told(rate)}"
                yield Fault(finding.place, f"{says}; write 'hardly', or a lower limit")


def _told(rate: float) -> str:
    return f"a leak that takes {rate * NIGHT_MIN:.1f} bar by the morning"


def _rates(text: str) -> Iterator[float]:
    """The falls that a text names, in bar/min: a rate, or a pressure and its time."""
    if PEDAL in text:
        return
    found = units.amounts(text.replace(" a ", " 1 ").replace(" an ", " 1 "))
    for one, after in zip_longest(found, found[1:]):
        if one.unit and one.unit.kind == _BAR_MIN.kind:
            yield units.convert(one.value, one.unit, _BAR_MIN)
        elif one.unit and one.unit.kind == _BAR.kind and _is_time(after):
            minutes = units.convert(after.value, after.unit or _MIN, _MIN)
            yield units.convert(one.value, one.unit, _BAR) / max(minutes, 1.0)


def _is_time(amount: units.Amount | None) -> TypeGuard[units.Amount]:
    unit = amount.unit if amount else None
    return unit is not None and unit.kind == _MIN.kind


def _is_parked(check: Check) -> bool:
    """Whether a check reads how fast pressure falls with nobody on the pedal."""
    readings = check.readings
    if readings is None:
        return False
    leak = readings.sheet == "leak-rate" and ("brakes", "applied") not in readings.fixed
    return readings.sum is Sum.FALL_PER_MINUTE or leak


def _passed(finding: Finding) -> float:
    """The fastest fall, in bar/min, for which an answer strikes out a cause; else 0."""
    clears = any(b.strength is Strength.NOT for b in finding.bearings)
    limit = finding.limit
    if not clears or limit is None or limit.low is not None or limit.high is None:
        return 0.0
    return units.convert(limit.high, units.SYMBOLS[limit.unit], _BAR_MIN)
