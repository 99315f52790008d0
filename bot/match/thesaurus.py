"""The thesaurus made ready for use: phrases to terms.

Words that mean the same become one term, on cards and in what is typed. Terms are
stems; a term of several words stands as each word and as all joined by `_`, so that
"park brake" meets "brake" and meets "park brake" better. A term that begins with
"not" joins as `no:`, like a lost function (see `bot.match.negation`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from bot.match.negation import NOT, folded
from bot.match.text import GRAMMAR, clean, words_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from bot.model import Wording, Words

VERSION = 1
"""Raise it when the same words would be made ready differently: stores look at it."""


class Phrase(NamedTuple):
    """One way to say a term: its stems, the terms it stands for, and how strictly.

    `kind` is also, loose, short, units, or self for the term of an entry; `cluster`
    stands for everything an entry with loose wordings may mean, and is "" without.
    """

    stems: tuple[str, ...]
    terms: tuple[str, ...]
    kind: str
    cluster: str = ""


class Thesaurus(NamedTuple):
    """Words with one meaning, phrases by first stem, and the word lists.

    `single`: stem to stem. `phrases`: longest first. `never`: phrases in which a
    stem is left alone. `known` words are not "corrected"; a misspelt word may have
    meant a `trade` word. `faults` and `functions` are terms.
    """

    single: Mapping[str, str]
    phrases: Mapping[str, Sequence[Phrase]]
    never: Mapping[str, Sequence[tuple[str, ...]]]
    faults: frozenset[str]
    functions: frozenset[str]
    known: frozenset[str]
    trade: frozenset[str]


EMPTY = Thesaurus({}, {}, {}, *(frozenset[str](),) * 4)


def stems_of(phrase: str) -> tuple[str, ...]:
    """The stems of one wording, negatives folded to "not"."""
    return tuple(word.stem for word in folded(words_of(clean(phrase)[0])))


def terms_of(stems: Sequence[str]) -> tuple[str, ...]:
    """The words of a term, and all of them joined when there are several.

    >>> terms_of(("park", "brak")), terms_of(("not", "work"))
    (('park', 'brak', 'park_brak'), ('not', 'work', 'no:work'))
    """
    if len(stems) < 2:
        return tuple(stems)
    if stems[0] == "not":
        return (*stems, "no:" + "_".join(stems[1:]))
    return (*stems, "_".join(stems))


def compiled(words: Words) -> Thesaurus:
    """The thesaurus made ready; the same words always give the same."""
    single = _single(words.wordings)
    phrases: dict[str, list[Phrase]] = {}
    for wording in words.wordings:
        for phrase in _phrases(wording, single):
            phrases.setdefault(phrase.stems[0], []).append(phrase)
    for found in phrases.values():
        found.sort(key=lambda p: (-len(p.stems), p.stems, p.kind, p.terms))
    trade = frozenset(_surface(_everything(words.wordings)))
    return Thesaurus(
        single=single,
        phrases=phrases,
        never=_never(words.wordings),
        faults=frozenset(_joined(words.faults, single)),
        functions=frozenset(_joined(words.functions, single)),
        known=trade | frozenset(_surface(words.common)) | GRAMMAR,
        trade=trade,
    )


class _Packed(dict[str, str]):
    """Phrases as lines of text, taken apart only when their first word is said."""

    def get(self, stem: str, default: object = ()) -> Sequence[Phrase]:  # type: ignore[override]
        """The phrases that begin with that stem, longest first."""
        return [_unpacked(line) for line in super().get(stem, "").split("\n") if line]


def _unpacked(line: str) -> Phrase:
    stems, terms, kind, cluster = line.split("|")
    return Phrase(tuple(stems.split()), tuple(terms.split()), kind, cluster)


def plain(thesaurus: Thesaurus) -> dict[str, object]:
    """The same as texts and mappings of texts, which any text format can keep."""
    packed = {
        stem: "\n".join(
            f"{' '.join(p.stems)}|{' '.join(p.terms)}|{p.kind}|{p.cluster}"
            for p in thesaurus.phrases.get(stem, ())
        )
        for stem in thesaurus.phrases
    }
    lists = {name: " ".join(sorted(getattr(thesaurus, name))) for name in _LISTS}
    return {
        "single": thesaurus.single,
        "phrases": packed,
        "never": thesaurus.never,
        **lists,
    }


def from_plain(kept: dict[str, Any]) -> Thesaurus:
    """The thesaurus back from what `plain` gave."""
    lists = {name: frozenset(kept[name].split()) for name in _LISTS}
    packed: Any = _Packed(kept["phrases"])
    return Thesaurus(kept["single"], packed, kept["never"], **lists)


_LISTS = ("faults", "functions", "known", "trade")


def _single(wordings: Iterable[Wording]) -> dict[str, str]:
    """One-word wordings that mean exactly their one-word term."""
    table: dict[str, str] = {}
    for wording in wordings:
        term = stems_of(wording.term)
        for stems in map(stems_of, wording.also):
            if len(term) == len(stems) == 1 and stems != term:
                table.setdefault(stems[0], term[0])
    return table


def _level(phrase: str, single: Mapping[str, str]) -> tuple[str, ...]:
    """The stems of a phrase, each read as its term."""
    return tuple(single.get(stem, stem) for stem in stems_of(phrase))


def _phrases(wording: Wording, single: Mapping[str, str]) -> Iterator[Phrase]:
    """Every phrase of one entry, its words already read as their terms."""
    term = _level(wording.term, single)
    terms = terms_of(term)
    cluster = "~" + terms[-1] if wording.loose else ""
    if len(term) > 1:
        yield Phrase(term, terms, "also")
    if cluster:
        yield Phrase(term, terms, "self", cluster)
    for kind in ("also", "short", "loose", "units"):
        for text in getattr(wording, kind):
            stems = _level(text, single)
            if stems in ((), (NOT,)):
                continue
            one_word = kind == "also" and len(stems) == len(term) == 1
            if stems != term and not one_word:
                yield Phrase(stems, terms, kind, cluster if kind == "loose" else "")
            if stems != term and kind == "also" and cluster and not one_word:
                yield Phrase(stems, terms, "self", cluster)


def _never(wordings: Iterable[Wording]) -> dict[str, list[tuple[str, ...]]]:
    """The blocking phrases of every entry, by each stem of its wordings in them."""
    table: dict[str, list[tuple[str, ...]]] = {}
    for wording in wordings:
        own = {s for text in _everything((wording,)) for s in stems_of(text)}
        for block in map(stems_of, wording.never):
            for stem in own.intersection(block):
                table.setdefault(stem, []).append(block)
    return table


def _joined(phrases: Iterable[str], single: Mapping[str, str]) -> Iterator[str]:
    """Every one-word phrase as its term, longer ones joined."""
    return ("_".join(_level(phrase, single)) for phrase in phrases)


def _everything(wordings: Iterable[Wording]) -> Iterator[str]:
    """Every wording of the entries but units."""
    for wording in wordings:
        yield from (wording.term, *wording.also, *wording.loose, *wording.short)


def _surface(phrases: Iterable[str]) -> Iterator[str]:
    """Every word as written."""
    return (w.said for phrase in phrases for w in words_of(clean(phrase)[0]))
