"""Events as plain data for a journal, and back."""

from dataclasses import fields
from functools import cache
from typing import get_args, get_type_hints

from bot.job import events
from bot.job.events import Event
from bot.model.place import BotError

Plain = dict[str, object]

MOST = 1e15
"""No figure of a job comes near it; what does, or is none, nobody reckons with."""

_KINDS: dict[str, type[Event]] = {
    kind.__name__: kind
    for kind in vars(events).values()
    if isinstance(kind, type) and issubclass(kind, Event)
}


class UnknownEventError(BotError):
    """A saved event that this version does not know."""


class MalformedEventError(BotError):
    """A saved event that no version of chock has written so."""


def pack(event: Event) -> tuple[str, Plain]:
    """The kind of an event and its fields, as JSON would keep them."""
    said = {field.name: getattr(event, field.name) for field in fields(event)}
    return type(event).__name__, said


def unpack(kind: str, said: Plain) -> Event:
    """The event that `pack` took apart; lists come back as tuples.

    Raises:
        UnknownEventError: the kind or a field is not known to this version.
        MalformedEventError: a field is missing, or holds what it cannot.
    """
    known = _KINDS.get(kind)
    if known is None or set(said) - {field.name for field in fields(known)}:
        raise UnknownEventError(
            f"the journal holds '{kind}', which this version of chock does not know; "
            "open the job with the version that wrote it"
        )
    hints = _hints(kind)
    held = {name: _tuples(value) for name, value in said.items()}
    if not all(_is_of(value, hints[name]) for name, value in held.items()):
        raise MalformedEventError(f"'{kind}' is not as chock writes it")
    try:
        return known(**held)
    except TypeError as error:
        raise MalformedEventError(f"'{kind}' is not whole") from error


@cache
def _hints(kind: str) -> dict[str, object]:
    return get_type_hints(_KINDS[kind])


def _is_of(value: object, hint: object) -> bool:
    """Whether a value is what an event's field takes."""
    parts = get_args(hint)
    if not parts:
        if hint not in (int, float):
            return type(value) is hint
        if not isinstance(value, int | float) or type(value) not in (int, hint):
            return False
        return abs(value) < MOST
    if not isinstance(value, tuple):
        return False
    if parts[-1] is ...:
        return all(_is_of(each, parts[0]) for each in value)
    return len(value) == len(parts) and all(map(_is_of, value, parts))


def _tuples(value: object) -> object:
    if isinstance(value, list):
        return tuple(_tuples(item) for item in value)
    return value
