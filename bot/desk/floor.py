"""The built-in stop rules as a floor: a page may add to one, and takes nothing away."""

from dataclasses import replace
from functools import cache
from pathlib import Path

from bot.cards.rules import read_rule
from bot.model.card import stricter
from bot.model.rule import StopRule
from bot.store.scan import least


def floored(rule: StopRule) -> StopRule:
    """A rule heard no worse, and no milder, than the built-in one of its id."""
    own = _built_in(rule.id)
    if own is None:
        return rule
    signs = tuple(dict.fromkeys((*rule.signs, *own.signs)))
    return replace(rule, signs=signs, drive=stricter(rule.drive, own.drive))


@cache
def _built_in(rule_id: str) -> StopRule | None:
    path = least().get(rule_id)
    found = read_rule(Path(path).read_text(encoding="utf-8"), path) if path else None
    return found if isinstance(found, StopRule) else None
