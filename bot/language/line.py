"""A typed line, read once: words, what they may mean, clauses, figures.

Everything that listens to a person (danger, moves, answers, cards) is handed a `Line`;
nothing else takes words apart.
"""

from collections.abc import Sequence
from itertools import groupby
from typing import NamedTuple

from bot.language.lexicon import Lexicon
from bot.language.mentions import Mention, ends, mentions
from bot.language.negation import folded
from bot.language.numbers import in_figures
from bot.language.polarity import Scene, denied
from bot.language.quantities import Quantity, quantities
from bot.language.reading import Others, Reading, read
from bot.language.spelling import Vocabulary, respelt
from bot.language.text import CLAUSE, Word, clean, words_of

NOT_SO = "not_so"
"""The mark of what is only thought of: "expecting", "instead of"."""


class Clause(NamedTuple):
    """What a line says of one thing.

    `first` and `last` number its words (`last` the word after); `marks` are the turns
    of speech in it that say when, of whom or how surely, by name (`kb/speech.yaml`).
    """

    first: int
    last: int
    mentions: tuple[Mention, ...]
    marks: frozenset[str]


class Line(NamedTuple):
    """A text as it was read.

    `figures` is the text with spoken numbers in figures, `notes` how odd spellings were
    taken, `cut` whether the text was too long. `acts` are what the whole line says to
    the program itself ("yes", "go back"); `opens` those that it begins with.
    """

    text: str
    figures: str
    words: tuple[Word, ...]
    others: Others
    notes: tuple[str, ...]
    clauses: tuple[Clause, ...]
    quantities: tuple[Quantity, ...]
    acts: frozenset[str]
    opens: frozenset[str]
    is_question: bool
    cut: bool

    @property
    def mentions(self) -> tuple[Mention, ...]:
        """Everything said, in order."""
        return tuple(m for clause in self.clauses for m in clause.mentions)

    @property
    def marks(self) -> frozenset[str]:
        """The turns of speech in any clause."""
        return frozenset(mark for clause in self.clauses for mark in clause.marks)

    def terms(self, lexicon: Lexicon) -> Reading:
        """The terms that cards are found by."""
        return read(self.words, lexicon, self.others)


class Nothing:
    """A vocabulary without words: for texts of authors, which are spelt as meant."""

    def holds(self, stems: object) -> tuple[str, ...]:
        """None of them."""
        return ()

    def near(self, word: str) -> tuple[str, ...]:
        """None."""
        return ()


def listen(text: str, lexicon: Lexicon, vocabulary: Vocabulary | None = None) -> Line:
    """The line that a person typed; without a vocabulary one that an author wrote."""
    short, cut = clean(text)
    words = folded(words_of(short, lexicon.forms), lexicon)
    others: Others = {}
    notes: list[str] = []
    if vocabulary is not None:
        words, others, notes = respelt(words, lexicon, vocabulary)
    figures = in_figures(short, lexicon.numbers)
    found = mentions(words, lexicon, others)
    parts = _parts(words, lexicon)
    marks = _marks(words, lexicon)
    unreal = frozenset(at for mark, at in marks if mark == NOT_SO)
    no = denied(Scene(words, parts, found, lexicon, unreal))
    found = tuple(m._replace(denied=n in no) for n, m in enumerate(found))
    acts, opens = _acts(words, lexicon)
    asks = short.endswith("?") or bool(
        words and words[0].said in lexicon.listed("asking")
    )
    return Line(
        text,
        figures,
        words,
        others,
        tuple(notes),
        _clauses(parts, found, marks),
        quantities(figures),
        acts,
        opens,
        asks,
        cut,
    )


def _parts(words: Sequence[Word], lexicon: Lexicon) -> list[int]:
    """The number of the clause that each word stands in."""
    splitters = lexicon.listed("splitters")
    part = 0
    parts = []
    for at, word in enumerate(words):
        part += bool(at) and (word.gap >= CLAUSE or word.said in splitters)
        parts.append(part)
    return parts


def _marks(words: Sequence[Word], lexicon: Lexicon) -> list[tuple[str, int]]:
    """The turns of speech, each with the number of the word after it."""
    level = [lexicon.meant(word.stem) for word in words]
    return [
        (phrase.terms[0], end)
        for at in range(len(level))
        for phrase in (lexicon.starting(level, at) if level[at] else ())
        if phrase.kind == "mark"
        and (end := ends(words, level, (at, phrase.stems), lexicon))
    ]


def _clauses(
    parts: Sequence[int], found: Sequence[Mention], marks: Sequence[tuple[str, int]]
) -> tuple[Clause, ...]:
    """The clauses in order, each with its mentions."""
    clauses = []
    for part, numbers in groupby(range(len(parts)), key=lambda n: parts[n]):
        inside = list(numbers)
        own = tuple(m for m in found if parts[m.first] == part)
        here = frozenset(mark for mark, end in marks if parts[end - 1] == part)
        clauses.append(Clause(inside[0], inside[-1] + 1, own, here))
    return tuple(clauses)


def _acts(
    words: Sequence[Word], lexicon: Lexicon
) -> tuple[frozenset[str], frozenset[str]]:
    """What the whole line says to the program, and what its first words say."""
    level = [lexicon.meant(word.stem) for word in words if word.stem]
    if not level:
        return frozenset(), frozenset()
    whole: set[str] = set()
    opens: set[str] = set()
    for phrase in lexicon.starting(level, 0):
        if phrase.kind == "act" and list(phrase.stems) == level[: len(phrase.stems)]:
            opens.add(phrase.terms[-1])
            if len(phrase.stems) == len(level):
                whole.add(phrase.terms[-1])
    return frozenset(whole), frozenset(opens)
