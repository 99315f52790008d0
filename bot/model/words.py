"""The nouns of the lexicon."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from bot.model.place import NOWHERE, Place


@dataclass(frozen=True, slots=True)
class Wording:
    """One entry of the lexicon: a canonical term and other ways to say it.

    `also` means the same on cards and in what is typed. `loose`, `short` and `units`
    only widen what is typed. `never` are phrases in which the entry does not apply.
    `against` names terms that cannot hold of one thing at one moment, `so` broader
    terms that follow.
    """

    term: str
    also: tuple[str, ...] = ()
    loose: tuple[str, ...] = ()
    short: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    against: tuple[str, ...] = ()
    so: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Words:
    """What the words files of a knowledge base say.

    `wordings` are terms of the trade, which cards are found by. `senses` are states,
    looks and times as people say them, `parts` those of a truck, `acts` what they say
    to the program itself, `marks` turns of speech that say when, of whom, or that it is
    not so. `lists` are the named lists, such as the words that deny.
    """

    wordings: tuple[Wording, ...] = ()
    senses: tuple[Wording, ...] = ()
    parts: tuple[Wording, ...] = ()
    acts: tuple[Wording, ...] = ()
    marks: tuple[Wording, ...] = ()
    lists: Mapping[str, tuple[str, ...]] = field(
        default_factory=lambda: MappingProxyType({})
    )

    def __add__(self, other: "Words") -> "Words":
        """Two files as one; a list that stands in both is the longer for it."""
        names = sorted({*self.lists, *other.lists})
        lists = {n: (*self.lists.get(n, ()), *other.lists.get(n, ())) for n in names}
        return Words(
            (*self.wordings, *other.wordings),
            (*self.senses, *other.senses),
            (*self.parts, *other.parts),
            (*self.acts, *other.acts),
            (*self.marks, *other.marks),
            lists,
        )
