"""Where figures come from."""

from dataclasses import dataclass, field

from bot.model.place import NOWHERE, Place


@dataclass(frozen=True, slots=True)
class Citation:
    """A document by the key of its record, and where in it."""

    key: str
    where: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """Figures, and where they come from."""

    figures: str
    citations: tuple[Citation, ...]
    place: Place = field(default=NOWHERE, compare=False)
