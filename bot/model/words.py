"""The nouns of the thesaurus."""

from dataclasses import dataclass, field

from bot.model.place import NOWHERE, Place


@dataclass(frozen=True, slots=True)
class Wording:
    """One entry of the thesaurus: a canonical term and other ways to say it.

    `also` means the same on cards and in what is typed. `loose`, `short` and `units`
    only widen what is typed. `never` are phrases in which the entry does not apply.
    """

    term: str
    also: tuple[str, ...] = ()
    loose: tuple[str, ...] = ()
    short: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Words:
    """The thesaurus. `faults` and `functions` steer what a "not" does to a word."""

    wordings: tuple[Wording, ...] = ()
    faults: tuple[str, ...] = ()
    functions: tuple[str, ...] = ()
    common: tuple[str, ...] = ()
