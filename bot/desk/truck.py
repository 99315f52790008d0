"""The keeper's note of the truck: one plain file in the person's own store."""

from pathlib import Path

from bot.cards.truck import read_truck, write_truck
from bot.model.place import BotError, Fault
from bot.model.truck import Truck
from bot.store.files import write_whole

NOTE = "truck.yaml"


class NoteError(BotError):
    """The note cannot be read or written."""


def note(home: str) -> Truck | tuple[Fault, ...] | None:
    """The truck, its faults, or None when there is no note."""
    path = Path(home, NOTE)
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise NoteError(f"cannot read '{path}' ({error}); mend or move it") from error
    return read_truck(text, str(path))


def keep(home: str, truck: Truck) -> Path:
    """Write the note anew, all of it or nothing; where it is."""
    path = Path(home, NOTE)
    try:
        write_whole(path, write_truck(truck))
    except OSError as error:
        raise NoteError(f"cannot write '{path}' ({error})") from error
    return path
