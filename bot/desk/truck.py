"""The keeper's notes of the trucks: a plain file each in the person's own store."""

from pathlib import Path

from bot.cards.truck import read_truck, write_truck
from bot.model.place import BotError, Fault, Place, slug
from bot.model.truck import Truck
from bot.store.files import read_whole, write_whole

TRUCKS = "trucks"
IN_USE = "in-use"
"""The file beside the notes that names the truck that is meant where none is named."""

ONLY_NOTE = "truck.yaml"
"""Where the note of the only truck stood before there could be several."""


class NoteError(BotError):
    """A note cannot be written, or there is no such truck."""


def trucks(home: str) -> dict[str, Path]:
    """The notes there are: a truck's id -> its file, in the order of the ids."""
    alone = Path(home, ONLY_NOTE)
    if alone.is_file():
        try:
            _move_in(home, alone)
        except OSError:  # a read-only store: it is read where it is
            return {"truck": alone}
    found = sorted(Path(home, TRUCKS).glob("*.yaml"))
    return {path.stem: path for path in found}


def _move_in(home: str, alone: Path) -> None:
    """Put the only note where several have room; one that is there already stays."""
    told = _read(alone)
    name = slug(told.name) if isinstance(told, Truck) else ""
    path = _path(home, name or "truck")
    path.parent.mkdir(0o700, exist_ok=True)
    if not path.exists():
        alone.replace(path)


def in_use(home: str) -> str:
    """The id of the truck that is meant where none is named; "" while nobody said.

    The only one is always meant.
    """
    known = trucks(home)
    try:
        said = read_whole(Path(home, TRUCKS, IN_USE)).decode("utf-8").strip()
    except (OSError, UnicodeDecodeError):
        said = ""
    if said in known:
        return said
    return next(iter(known)) if len(known) == 1 else ""


def use(home: str, truck_id: str) -> None:
    """From now on that truck is meant where none is named."""
    _write(Path(home, TRUCKS, IN_USE), f"{truck_id}\n")


def named(home: str, said: str) -> str:
    """The id of the truck that is called so.

    Raises:
        NoteError: there is none, with those that there are.
    """
    known = trucks(home)
    if slug(said) in known:
        return slug(said)
    there = ", ".join(known) or "none yet; begin with: chock truck name Heron"
    raise NoteError(f"there is no note of a truck '{said}'; there is: {there}")


def of_jobs(home: str, truck_id: str) -> tuple[str, ...]:
    """Under which ids a truck's jobs stand; those of none are of the only truck."""
    return (truck_id,) if len(trucks(home)) > 1 or not truck_id else (truck_id, "")


def note(home: str, truck_id: str = "") -> Truck | tuple[Fault, ...] | None:
    """A truck, or its note's faults; None when there is no such note.

    Args:
        home: the store.
        truck_id: which; "" for the one in use.
    """
    path = trucks(home).get(truck_id or in_use(home))
    return _read(path) if path else None


def _read(path: Path) -> Truck | tuple[Fault, ...]:
    try:
        text = read_whole(path).decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError:
        return (Fault(Place(str(path), 1), "is no UTF-8 text; save it as UTF-8"),)
    except OSError as error:
        says = f"cannot be read ({error.strerror or error}); mend or move it"
        return (Fault(Place(str(path), 1), says),)
    return read_truck(text, str(path))


def keep(home: str, truck_id: str, truck: Truck) -> Path:
    """Write a note anew, all of it or nothing; where it is."""
    path = _path(home, truck_id)
    _write(path, write_truck(truck))
    return path


def _path(home: str, truck_id: str) -> Path:
    return Path(home, TRUCKS, f"{truck_id}.yaml")


def _write(path: Path, text: str) -> None:
    try:
        path.parent.mkdir(0o700, parents=True, exist_ok=True)
        write_whole(path, text)
    except OSError as error:
        raise NoteError(f"cannot write '{path}' ({error})") from error
