"""Events as plain data for a journal, and back."""

from dataclasses import fields

from bot.job import events
from bot.job.events import Event
from bot.model.place import BotError

Plain = dict[str, object]

_KINDS: dict[str, type[Event]] = {
    kind.__name__: kind
    for kind in vars(events).values()
    if isinstance(kind, type) and issubclass(kind, Event)
}


class UnknownEventError(BotError):
    """A saved event that this version does not know."""


def pack(event: Event) -> tuple[str, Plain]:
    """The kind of an event and its fields, as JSON would keep them."""
    said = {field.name: getattr(event, field.name) for field in fields(event)}
    return type(event).__name__, said


def unpack(kind: str, said: Plain) -> Event:
    """The event that `pack` took apart; lists come back as tuples.

    Raises:
        UnknownEventError: the kind or a field is not known to this version.
    """
    known = _KINDS.get(kind)
    if known is None or set(said) - {field.name for field in fields(known)}:
        raise UnknownEventError(
            f"the journal holds '{kind}', which this version of chock does not know; "
            "open the job with the version that wrote it"
        )
    return known(**{name: _tuples(value) for name, value in said.items()})


def _tuples(value: object) -> object:
    if isinstance(value, list):
        return tuple(_tuples(item) for item in value)
    return value
