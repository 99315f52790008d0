"""The thesaurus made ready for use: phrases to terms.

Words that mean the same become one term, on cards and in what is typed. Terms are
stems; a term of several words stands as each word and as all joined by `_`, so that
"park brake" meets "brake" and meets "park brake" better. A term that begins with
"not" joins as `no:`, like a lost function (see `bot.language.negation`).
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from bot.language.negation import NOT, folded
from bot.language.text import GRAMMAR, clean, stem, words_of

if TYPE_CHECKING:
    from bot.model.words import Wording, Words

VERSION = 2
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
    stem is left alone. `faults` and `functions` are terms. The last three are words
    with blanks between and around them, ready to be kept and quick to be searched:
    `known` words are not "corrected"; a misspelt word may have meant a `trade` word;
    `stems` are those of all known words.
    """

    single: Mapping[str, str]
    phrases: Mapping[str, Sequence[Phrase]]
    never: Mapping[str, Sequence[tuple[str, ...]]]
    faults: frozenset[str]
    functions: frozenset[str]
    known: str
    trade: str
    stems: str

    def knows(self, stem: str) -> bool:
        """Whether that is the stem of a known word."""
        return f" {stem} " in self.stems

    def spells(self, word: str) -> bool:
        """Whether that is a known word, letter for letter."""
        return f" {word} " in self.known

    def deals_in(self, word: str) -> bool:
        """Whether that is a word of the trade."""
        return f" {word} " in self.trade


EMPTY = Thesaurus({}, {}, {}, frozenset(), frozenset(), "", "", "")


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


def compiled(words: "Words") -> Thesaurus:
    """The thesaurus made ready; the same words always give the same."""
    single = _single(words.wordings)
    phrases: dict[str, list[Phrase]] = {}
    for wording in words.wordings:
        for phrase in _phrases(wording, single):
            phrases.setdefault(phrase.stems[0], []).append(phrase)
    for found in phrases.values():
        found.sort(key=lambda p: (-len(p.stems), p.stems, p.kind, p.terms))
    trade = frozenset(_surface(_everything(words.wordings)))
    known = trade | frozenset(_surface(words.common)) | GRAMMAR
    return Thesaurus(
        single=single,
        phrases=phrases,
        never=_never(words.wordings),
        faults=frozenset(_joined(words.faults, single)),
        functions=frozenset(_joined(words.functions, single)),
        known=_list(known),
        trade=_list(trade),
        stems=_list(map(stem, known)),
    )


def _list(words: Iterable[str]) -> str:
    """The different words in order, with blanks between and around them."""
    return f" {' '.join(sorted(set(words)))} "


class _Phrases(dict[str, str]):
    """Phrases as lines of text, taken apart only when their first word is said."""

    def get(self, stem: str, default: object = ()) -> Sequence[Phrase]:  # type: ignore[override]
        """The phrases that begin with that stem, longest first."""
        return [_unpacked(line) for line in super().get(stem, "").split("\n") if line]


def _unpacked(line: str) -> Phrase:
    stems, terms, kind, cluster = line.split("|")
    return Phrase(tuple(stems.split()), tuple(terms.split()), kind, cluster)


class _Blocks(dict[str, str]):
    """Blocking phrases as lines of text."""

    def get(self, stem: str, default: object = ()) -> Sequence[tuple[str, ...]]:  # type: ignore[override]
        """The phrases in which that stem is left alone."""
        return [tuple(b.split()) for b in super().get(stem, "").split("\n") if b]


def plain(thesaurus: Thesaurus) -> tuple[str, ...]:
    """The same as texts, in the order of the fields."""
    phrases = {
        stem: "\n".join(
            f"{' '.join(p.stems)}|{' '.join(p.terms)}|{p.kind}|{p.cluster}"
            for p in thesaurus.phrases.get(stem, ())
        )
        for stem in thesaurus.phrases
    }
    blocks = {
        stem: "\n".join(" ".join(block) for block in thesaurus.never.get(stem, ()))
        for stem in thesaurus.never
    }
    tables = (thesaurus.single, phrases, blocks)
    lists = (thesaurus.faults, thesaurus.functions)
    return (*map(_table, tables), *map(_list, lists), *thesaurus[5:])


def from_plain(kept: Sequence[str]) -> Thesaurus:
    """The thesaurus back from what `plain` gave."""
    single, phrases, never = map(_pairs, kept[:3])
    lists = (frozenset(text.split()) for text in kept[3:5])
    return Thesaurus(single, _Phrases(phrases), _Blocks(never), *lists, *kept[5:])  # type: ignore[arg-type]


_BREAK = "\t"


def _table(pairs: Mapping[str, str]) -> str:
    """Keys and values in turn, in one text."""
    return _BREAK.join(part for key in sorted(pairs) for part in (key, pairs[key]))


def _pairs(text: str) -> dict[str, str]:
    """What `_table` made one text of."""
    parts = text.split(_BREAK)
    return dict(zip(parts[::2], parts[1::2], strict=False))


def _single(wordings: Iterable["Wording"]) -> dict[str, str]:
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


def _phrases(wording: "Wording", single: Mapping[str, str]) -> Iterator[Phrase]:
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


def _never(wordings: Iterable["Wording"]) -> dict[str, list[tuple[str, ...]]]:
    """The blocking phrases of every entry, by each stem of its wordings in them."""
    table: dict[str, list[tuple[str, ...]]] = {}
    for wording in wordings:
        own = {s for text in _everything((wording,)) for s in stems_of(text)}
        for block in map(stems_of, wording.never):
            for part in own.intersection(block):
                table.setdefault(part, []).append(block)
    return table


def _joined(phrases: Iterable[str], single: Mapping[str, str]) -> Iterator[str]:
    """Every one-word phrase as its term, longer ones joined."""
    return ("_".join(_level(phrase, single)) for phrase in phrases)


def _everything(wordings: Iterable["Wording"]) -> Iterator[str]:
    """Every wording of the entries but units."""
    for wording in wordings:
        yield from (wording.term, *wording.also, *wording.loose, *wording.short)


def _surface(phrases: Iterable[str]) -> Iterator[str]:
    """Every word as written."""
    return (w.said for phrase in phrases for w in words_of(clean(phrase)[0]))
