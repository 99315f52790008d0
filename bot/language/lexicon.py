"""The lexicon made ready for use: forms to stems, phrases to terms, senses to senses.

Words that mean the same become one term, on cards and in what is typed. Terms are
stems; a term of several words stands as each word and as all joined by `_`, so that
"park brake" meets "brake" and meets "park brake" better. A term that begins with
"not" joins as `no:`, like a lost function (see `bot.language.negation`). A sense is
a term with opposites and broader terms, which answers and dangers are compared by.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from bot.language.text import cut

VERSION = 8
"""Raise it when the same words would be made ready differently: stores look at it."""

NOT = "not"

WORD_LISTS = (
    "small",
    "amounts",
    "negators",
    "ends",
    "quitting",
    "ceasing",
    "skipped",
    "splitters",
    "courtesies",
    "asking",
    "past",
    "every",
    "some",
)
"""Lists of single words, several to a line; every lexicon has them, if only empty."""


MOST_SKIPPED = 2
"""So many small words may stand inside a phrase, as in "turn (it) over"."""


class Phrase(NamedTuple):
    """One way to say a term: its stems, the terms it stands for, and how strictly.

    `kind` is also, loose, short, units, or self for the term of an entry; said or maybe
    for a sense, act for what is said to the program, mark for a turn of speech.
    `cluster` stands for everything an entry with loose wordings may mean, and is ""
    without.
    """

    stems: tuple[str, ...]
    terms: tuple[str, ...]
    kind: str
    cluster: str = ""


def _packed(phrase: Phrase) -> str:
    stems, terms = " ".join(phrase.stems), " ".join(phrase.terms)
    return f"{stems}|{terms}|{phrase.kind}|{phrase.cluster}"


def _unpacked(line: str) -> Phrase:
    stems, terms, kind, cluster = line.split("|")
    return Phrase(tuple(stems.split()), tuple(terms.split()), kind, cluster)


def _longest_first(found: Sequence[Phrase]) -> tuple[Phrase, ...]:
    if len(found) < 2:
        return tuple(found)
    return tuple(sorted(found, key=lambda p: (-len(p.stems), p.stems, p.kind, p.terms)))


class Phrases:
    """Phrases by their first stem, or first two: held, or fetched when needed.

    `fetch` gives the lines that `packed` made of those under a key, "" for none.
    """

    def __init__(
        self,
        held: Mapping[str, Sequence[Phrase]] | None = None,
        fetch: Callable[[str], str] | None = None,
    ) -> None:
        self._held = {key: _longest_first(found) for key, found in (held or {}).items()}
        self._seconds: dict[str, set[str]] = {}
        for key in self._held:
            first, _, second = key.partition(" ")
            if second:
                self._seconds.setdefault(first, set()).add(second)
        self._fetch = fetch

    def begun(self, first: str, seconds: Sequence[str]) -> tuple[Phrase, ...]:
        """The phrases that may begin with that stem and one of those, longest first."""
        alone = self.get(first)
        known = self._seconds.get(first)
        if not known:
            return alone
        longer = [
            self.get(f"{first} {second}")
            for second in dict.fromkeys(seconds)
            if second in known
        ]
        if not longer:
            return alone
        if len(longer) == 1:
            return longer[0] + alone
        return _longest_first([p for found in longer for p in found]) + alone

    def get(self, key: str) -> tuple[Phrase, ...]:
        """The phrases of that stem alone, or that begin with those two."""
        found = self._held.get(key)
        if found is None:
            if self._fetch is None:
                return ()
            lines = self._fetch(key).split("\n")
            if lines[0].startswith(_SECONDS):
                self._seconds[key] = set(lines.pop(0)[1:].split())
            found = _longest_first([_unpacked(line) for line in lines if line])
            self._held[key] = found
        return found

    def packed(self) -> dict[str, str]:
        """Those that are held, as lines of text.

        Under a first stem the first line tells which second ones there are.
        """
        lines: dict[str, list[str]] = {
            first: [_SECONDS + " ".join(sorted(seconds))]
            for first, seconds in self._seconds.items()
        }
        for key, found in self._held.items():
            lines.setdefault(key, []).extend(map(_packed, found))
        return {key: "\n".join(told) for key, told in lines.items() if told}


_SECONDS = ">"
"""How the line of second stems begins; no stem does."""


class Sense(NamedTuple):
    """What cannot hold beside a sense, and the broader senses that follow from it."""

    against: frozenset[str]
    so: frozenset[str]


class Lexicon(NamedTuple):
    """Words with one meaning, phrases by first stem, senses, and the word lists.

    `single`: stem to stem. `phrases`: by the first stem or, of longer ones, the first
    two with a blank between (many begin with "not"). `never`: phrases in which a
    stem is left alone. `forms`: a form to its stem. `numbers`: a word to its worth.
    `lists`: by name; `deny` and `harmless` hold phrases of stems, the others words.
    `faults` and `functions` are terms, `parts` senses. The last three are words with
    blanks between and around them, ready to be kept and quick to be searched: `known`
    words are not "corrected"; a misspelt word may have meant a `trade` word; `stems`
    are those of all known words.
    """

    single: Mapping[str, str]
    phrases: Phrases
    never: Mapping[str, Sequence[tuple[str, ...]]]
    forms: Mapping[str, str]
    numbers: Mapping[str, float]
    senses: "Senses"
    lists: Mapping[str, frozenset[str]]
    faults: frozenset[str]
    functions: frozenset[str]
    parts: frozenset[str]
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

    def stem(self, word: str) -> str:
        """The word without its endings, irregular forms by the list."""
        return self.forms.get(word) or cut(word)

    def meant(self, stem: str) -> str:
        """The one stem that all words with that meaning stand for."""
        return self.single.get(stem, stem)

    def starting(self, level: Sequence[str], at: int) -> tuple[Phrase, ...]:
        """The phrases that may begin at a stem of a text, the longest first."""
        return self.beginning(level[at], level, at)

    def beginning(self, stem: str, level: Sequence[str], at: int) -> tuple[Phrase, ...]:
        """The phrases that may begin there with that stem instead of the text's own."""
        return self.phrases.begun(stem, level[at + 1 : at + 2 + MOST_SKIPPED])

    def listed(self, name: str) -> frozenset[str]:
        """The words of a list."""
        return self.lists.get(name, frozenset())


class _Blocks(dict[str, str]):
    """Blocking phrases as lines of text."""

    def get(self, stem: str, default: object = ()) -> Sequence[tuple[str, ...]]:  # type: ignore[override]
        """The phrases in which that stem is left alone."""
        return [tuple(b.split()) for b in super().get(stem, "").split("\n") if b]


class Senses(dict[str, "Sense | str"]):
    """Senses, some as lines of text that are taken apart when first asked for.

    `met` keeps how two mentions bear on each other, which is asked again and again.
    """

    def __init__(self, held: "Mapping[str, Sense | str]") -> None:
        super().__init__(held)
        self.met: dict[object, float] = {}

    def get(self, sense: str, default: object = None) -> Sense | None:  # type: ignore[override]
        """The sense, when it has opposites or broader ones."""
        held = super().get(sense)
        if isinstance(held, str):
            against, so = held.split("|")
            held = self[sense] = Sense(
                frozenset(against.split()), frozenset(so.split())
            )
        return held


EMPTY = Lexicon(
    {},
    Phrases(),
    {},
    {},
    {},
    Senses({}),
    {},
    frozenset(),
    frozenset(),
    frozenset(),
    "  ",
    "  ",
    "  ",
)


def plain(lexicon: Lexicon) -> tuple[str, ...]:
    """All but the phrases as texts, in the order of the fields."""
    blocks = {
        stem: "\n".join(map(" ".join, found)) for stem, found in lexicon.never.items()
    }
    numbers = {word: f"{worth:g}" for word, worth in lexicon.numbers.items()}
    senses = {
        name: f"{' '.join(sorted(s.against))}|{' '.join(sorted(s.so))}"
        for name in lexicon.senses
        if (s := lexicon.senses.get(name))
    }
    lists = {name: "\n".join(sorted(found)) for name, found in lexicon.lists.items()}
    tables = (lexicon.single, blocks, lexicon.forms, numbers, senses, lists)
    terms = (lexicon.faults, lexicon.functions, lexicon.parts)
    listed = (" ".join(sorted(found)) for found in terms)
    return (*map(_table, tables), *listed, *lexicon[10:])


def from_plain(kept: Sequence[str], phrases: Phrases) -> Lexicon:
    """The lexicon back from what `plain` gave, with its phrases."""
    single, never, forms, numbers, senses, lists = map(_pairs, kept[:6])
    return Lexicon(
        single,
        phrases,
        _Blocks(never),  # type: ignore[arg-type]
        forms,
        {word: float(worth) for word, worth in numbers.items()},
        Senses(senses),
        {name: frozenset(text.split("\n")) for name, text in lists.items()},
        frozenset(kept[6].split()),
        frozenset(kept[7].split()),
        frozenset(kept[8].split()),
        *kept[9:],
    )


_BREAK = "\t"


def _table(pairs: Mapping[str, str]) -> str:
    """Keys and values in turn, in one text."""
    return _BREAK.join(part for key in sorted(pairs) for part in (key, pairs[key]))


def _pairs(text: str) -> dict[str, str]:
    """What `_table` made one text of."""
    parts = text.split(_BREAK)
    return dict(zip(parts[::2], parts[1::2], strict=False))
