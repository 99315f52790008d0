"""Pages that hold no fault: procedures, and field notes about one."""

from dataclasses import dataclass, field
from datetime import date

from bot.model.card import Block, Drive, Needs, Share
from bot.model.fitted import Only
from bot.model.place import NOWHERE, Place, slug
from bot.model.sources import Source


@dataclass(frozen=True, slots=True)
class ProcedureStep:
    """One numbered part of a procedure."""

    title: str
    needs: Needs
    body: tuple[Block, ...]
    place: Place = field(default=NOWHERE, compare=False)

    @property
    def id(self) -> str:
        """The anchor of its heading."""
        return slug(self.title)


@dataclass(frozen=True, slots=True)
class Procedure:
    """A job that is done the same way whatever the fault.

    `drive` holds while it is being done; `signs` are how people ask for it; `done`
    says what shows that it is done right.
    """

    id: str
    title: str
    system: str
    signs: tuple[str, ...]
    fits: Only
    drive: Drive
    share: Share
    check_by: date
    authors: tuple[str, ...]
    opening: tuple[Block, ...]
    steps: tuple[ProcedureStep, ...]
    done: tuple[Block, ...]
    sources: tuple[Source, ...]
    place: Place = field(default=NOWHERE, compare=False)
    sign_places: tuple[Place, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Note:
    """What one member saw: hearsay about a page, shown with its authors' names.

    `about` is the id of the page it belongs to; `seen` the day.
    """

    id: str
    title: str
    about: str
    seen: date
    share: Share
    authors: tuple[str, ...]
    body: tuple[Block, ...]
    place: Place = field(default=NOWHERE, compare=False)
