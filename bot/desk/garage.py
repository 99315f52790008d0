"""The notes of the trucks as a form has them: read, changed in one thing, another."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bot.desk.noting import CHANGES
from bot.desk.truck import NoteError, in_use, keep, note, trucks, use
from bot.match.danger import Band
from bot.model.place import slug
from bot.model.truck import Truck

if TYPE_CHECKING:
    from bot.desk.library import KbLibrary
    from bot.model.place import Fault


class Garage:
    """Every change is written at once, and holds for what is asked from then on."""

    def __init__(self, home: str, library: KbLibrary) -> None:
        self._home = home
        self._library = library

    def note(self) -> Truck | tuple[Fault, ...] | None:
        """The truck in use, or the faults of its note; None while there is none."""
        return note(self._home)

    def others(self) -> tuple[str, ...]:
        """The ids of the other trucks."""
        meant = in_use(self._home)
        return tuple(known for known in trucks(self._home) if known != meant)

    def warns(self, words: str) -> bool:
        """Whether words typed into the form surely tell of a danger."""
        return any(hit.band is Band.SURE for hit in self._library.danger(words))

    def means(self, words: str) -> bool:
        """Whether words mean something that can be said of any truck."""
        mentions = self._library.line(words).mentions
        return any(len(mention.senses) > 1 for mention in mentions)

    def change(self, what: str, words: str) -> None:
        """Change one thing about the truck in use, by `noting.CHANGES`.

        Raises:
            NoteError: it cannot be so, or cannot be kept; in one sentence.
        """
        found = self.note()
        if not isinstance(found, Truck):
            raise NoteError("there is no note of a truck that can be read")
        keep(self._home, in_use(self._home), CHANGES[what](found, words))
        self._library.look_at_trucks()

    def begin(self, name: str) -> None:
        """A note of another truck, which is meant from now on.

        Raises:
            NoteError: there is one of that name, or it cannot be kept.
        """
        truck_id = slug(name) or "truck"
        if truck_id in trucks(self._home):
            raise NoteError(f"there is a note of '{truck_id}' already; pick it")
        keep(self._home, truck_id, Truck(name))
        self.mean(truck_id)

    def mean(self, truck_id: str) -> None:
        """Mean another truck from now on.

        Raises:
            NoteError: it cannot be kept.
        """
        use(self._home, truck_id)
        self._library.look_at_trucks()
