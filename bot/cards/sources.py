"""The line that says where figures come from, and the records that its keys name."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from bot.cards import strict_yaml
from bot.cards.front import Front
from bot.model.kinds import Standing
from bot.model.place import Fault, Place
from bot.model.sources import Citation, Source

NO_DOCUMENT = MappingProxyType(
    {
        "common-practice": "common practice, no source",
        "memory": "from memory, not looked up",
        "worked-out": "worked out",
        "our-choice": "our choice",
    }
)
"""Keys that name no document, and how a reader is told."""

MOST_LETTERS = 200_000
"""A library of some thousand documents."""

_CITATION = re.compile(r"([a-z0-9]+(?:-[a-z0-9]+)*)(?:, (\S.*))?")


@dataclass(frozen=True, slots=True)
class Record:
    """One document: who issued it, what it is called, how well it is known."""

    key: str
    by: str
    title: str
    edition: str
    standing: Standing
    place: Place

    def __str__(self) -> str:
        edition = f", {self.edition}" if self.edition else ""
        return f"{self.title}{edition}, {self.by} ({self.standing.value})"


def read_source(text: str, place: Place) -> Source | Fault:
    """A source, such as ``4 psi: driver-manual, section 5.3; common-practice.``."""
    figures, colon, said = text.partition(": ")
    found = [_CITATION.fullmatch(one) for one in said.removesuffix(".").split("; ")]
    if not colon or not figures or not all(found):
        return Fault(
            place,
            "not a source; write 'the figures: key, where in it.' with the key of a "
            f"record in sources.yaml, or one of {', '.join(NO_DOCUMENT)}",
        )
    citations = tuple(Citation(one[1], one[2] or "") for one in found if one)
    return Source(figures, citations, place)


def write_source(source: Source) -> str:
    """The line that `read_source` takes."""
    said = (f"{c.key}, {c.where}" if c.where else c.key for c in source.citations)
    return f"{source.figures}: {'; '.join(said)}."


def told(source: Source, records: Mapping[str, Record]) -> str:
    """A source as a reader is told it, its documents by name.

    Args:
        source: the figures and the keys.
        records: the documents by key; a key that is not there stays as it is.
    """
    cited = (_cited(citation, records) for citation in source.citations)
    return f"{source.figures}: {'; '.join(cited)}."


def _cited(citation: Citation, records: Mapping[str, Record]) -> str:
    record = records.get(citation.key)
    name = str(record) if record else NO_DOCUMENT.get(citation.key, citation.key)
    return f"{name}, {citation.where}" if citation.where else name


def read_sources(text: str, path: str) -> tuple[Record, ...] | tuple[Fault, ...]:
    """The records that a text holds, or every fault by its line."""
    tree = strict_yaml.parse(text, path, most=MOST_LETTERS)
    if isinstance(tree, Fault):
        return (tree,)
    if not isinstance(tree, strict_yaml.Mapping):
        return (Fault(tree.place, "write a key, and under it 'by', 'title' and so on"),)
    records: list[Record] = []
    faults: list[Fault] = []
    for key, value in tree.pairs:
        if isinstance(value, strict_yaml.Mapping) and _CITATION.fullmatch(key.value):
            front = Front(value)
            records.append(_record(key.value, front, key.place))
            faults += front.faults
        else:
            says = f"'{key.value}' is no record; write 'key-with-hyphens:' and under it"
            faults.append(Fault(key.place, f"{says} 'by', 'title', 'standing'"))
    return tuple(sorted(set(faults))) or tuple(records)


def _record(key: str, front: Front, place: Place) -> Record:
    record = Record(
        key,
        front.text("by"),
        front.text("title"),
        front.optional("edition"),
        front.choice("standing", Standing) or Standing.FROM_MEMORY,
        place,
    )
    front.finish()
    return record
