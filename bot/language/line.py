"""A typed line, read once: words, what they may mean, clauses, figures.

Everything that listens to a person (danger, moves, answers, cards) is handed a `Line`;
nothing else takes words apart.
"""

from collections.abc import Collection, Sequence
from itertools import groupby
from typing import NamedTuple

from bot.language.lexicon import NOT, Lexicon
from bot.language.mentions import Mention, ends, mentions
from bot.language.negation import folded, spoken
from bot.language.numbers import in_figures
from bot.language.polarity import Scene, denied
from bot.language.quantities import Quantity, quantities
from bot.language.reading import Others, Reading, read
from bot.language.scope import OVER, Mark, excepted, over, without_amounts
from bot.language.spelling import Vocabulary, respelt
from bot.language.text import CLAUSE, Word, clean, words_of

NOT_SO = "not_so"
"""The mark of what is only thought of: "expecting", "instead of"."""


class Begun(NamedTuple):
    """An act that a clause begins with, courtesies passed over, and where it stands.

    `last` is the number of the word after it.
    """

    act: str
    first: int
    last: int


class Clause(NamedTuple):
    """What a line says of one thing.

    `first` and `last` number its words (`last` the word after); `marks` are the turns
    of speech in it that say when, of whom or how surely, by name (`kb/speech.yaml`);
    `says` what it says to the program itself, taken as a whole but for courtesies;
    `begins` such acts that it only begins with.
    """

    first: int
    last: int
    mentions: tuple[Mention, ...]
    marks: frozenset[str]
    says: frozenset[str] = frozenset()
    begins: tuple[Begun, ...] = ()


class Line(NamedTuple):
    """A text as it was read.

    `plain` is the text cleaned, `figures` the same with spoken numbers in figures,
    `notes` how odd spellings were taken, `cut` whether it was too long. `acts` are what
    the whole line says to the program itself ("yes", "go back"); `opens` those that it
    begins with.
    """

    text: str
    plain: str
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

    def amounts(self, lexicon: Lexicon) -> tuple[tuple[Quantity, ...], ...]:
        """The amounts by clause, each where its number stands."""
        starts = [self.words[clause.first].start for clause in self.clauses]
        ends_ = [*starts, len(self.plain)][1:]
        left = list(self.quantities)
        found = []
        for start, end in zip(starts, ends_, strict=True):
            told = quantities(in_figures(self.plain[start:end], lexicon.numbers))
            found.append(tuple(left[: len(told)]))
            left = left[len(told) :]
        return tuple(found)

    @property
    def stems(self) -> frozenset[str]:
        """The stems of all that is said, every kind of "not" as one."""
        return frozenset(
            word.stem
            for mention in self.mentions
            for word in self.words[mention.first : mention.last]
            if word.stem
        )

    @property
    def marks(self) -> frozenset[str]:
        """The turns of speech in any clause."""
        return frozenset(mark for clause in self.clauses for mark in clause.marks)

    @property
    def replies(self) -> dict[int, frozenset[str]]:
        """What clauses say to the program, by their numbers.

        A mere "right" or "ok" before something else says nothing.
        """
        more = any(clause.mentions and not clause.says for clause in self.clauses)
        return {
            number: clause.says - {COURTESY}
            for number, clause in enumerate(self.clauses)
            if clause.says - {COURTESY} and not (more and _is_mere(clause))
        }

    @property
    def told(self) -> frozenset[str]:
        """All that clauses say to the program, together."""
        return frozenset(act for acts in self.replies.values() for act in acts)

    @property
    def is_spoken(self) -> bool:
        """Whether every clause is said to the program, and nothing of the truck."""
        return all(clause.says for clause in self.clauses)

    @property
    def courtesies(self) -> frozenset[int]:
        """The numbers of the clauses that are made of courtesies alone."""
        return frozenset(n for n, c in enumerate(self.clauses) if COURTESY in c.says)

    def has_not(self, mention: Mention) -> bool:
        """Whether a mention is a phrase with its own "not": "is not rolling"."""
        words = self.words[mention.first : mention.last]
        return any(word.stem == NOT for word in words)

    def but(self, clauses: Collection[int]) -> str:
        """The text without the clauses of those numbers."""
        cuts = [self.words[clause.first].start for clause in self.clauses]
        ends_ = [*cuts, len(self.plain)][1:]
        pieces = [
            self.plain[start:end].strip(" ,;:-")
            for n, (start, end) in enumerate(zip(cuts, ends_, strict=True))
            if n not in clauses
        ]
        return ", ".join(piece for piece in pieces if piece)

    def terms(self, lexicon: Lexicon) -> Reading:
        """The terms that cards are found by."""
        return read(self.words, lexicon, self.others)


class Nothing:
    """A vocabulary without words: for texts of authors, which are spelt as meant."""

    def holds(self, stems: object) -> tuple[str, ...]:
        """None of them."""
        return ()

    def english(self, words: object) -> tuple[str, ...]:
        """None of them."""
        return ()

    def near(self, word: str) -> tuple[str, ...]:
        """None."""
        return ()


def listen(text: str, lexicon: Lexicon, vocabulary: Vocabulary | None = None) -> Line:
    """The line that a person typed; without a vocabulary one that an author wrote."""
    short, cut = clean(text)
    typed = words_of(short, lexicon.forms)
    spelt: Others = {}
    notes: list[str] = []
    if vocabulary is not None:
        typed, spelt, notes = respelt(typed, lexicon, vocabulary)
    words = folded(typed, lexicon)
    others = _moved(spelt, typed, words)
    figures = in_figures(short, lexicon.numbers)
    marks = _marks(words, lexicon)
    parts = _parts(words, marks, lexicon)
    found = _polar(mentions(words, lexicon, others), words, parts, marks, lexicon)
    acts, opens = _acts(words, lexicon)
    asks = short.endswith("?") or bool(
        words and words[0].said in lexicon.listed("asking")
    )
    return Line(
        text,
        short,
        figures,
        words,
        others,
        tuple(notes),
        _clauses(
            parts,
            found,
            [*marks, *_over(words, parts, marks, lexicon)],
            _Acts(words, lexicon),
        ),
        quantities(figures),
        acts,
        opens,
        asks,
        cut,
    )


def _moved(others: Others, typed: Sequence[Word], words: Sequence[Word]) -> Others:
    """Other readings by the numbers that words have once every "not" is one word."""
    at = {word.start: number for number, word in enumerate(words)}
    return {
        at[typed[number].start]: readings
        for number, readings in others.items()
        if typed[number].start in at
    }


class Wording(NamedTuple):
    """One way to say an answer, read no farther than answers are compared by."""

    text: str
    figures: str
    mentions: tuple[Mention, ...]


def wording(text: str, lexicon: Lexicon) -> Wording:
    """A wording of an author, read."""
    short, _ = clean(text)
    words = folded(words_of(short, lexicon.forms), lexicon)
    marks = _marks(words, lexicon)
    parts = _parts(words, marks, lexicon)
    found = _polar(mentions(words, lexicon, {}), words, parts, marks, lexicon)
    return Wording(text, in_figures(short, lexicon.numbers), found)


def _polar(
    found: tuple[Mention, ...],
    words: Sequence[Word],
    parts: Sequence[int],
    marks: Sequence[Mark],
    lexicon: Lexicon,
) -> tuple[Mention, ...]:
    """The mentions, each denied or not."""
    unreal = frozenset(mark.last for mark in marks if mark.name == NOT_SO)
    not_all = excepted(words, parts, marks, lexicon)
    no = denied(Scene(words, parts, found, lexicon, unreal, not_all))
    return tuple(m._replace(denied=n in no) for n, m in enumerate(found))


def _parts(words: Sequence[Word], marks: Sequence[Mark], lexicon: Lexicon) -> list[int]:
    """The number of the clause that each word stands in; "since then" is not parted."""
    splitters = lexicon.listed("splitters")
    within = {at for mark in marks for at in range(mark.first + 1, mark.last)}
    part = 0
    parts = []
    for at, word in enumerate(words):
        splits = word.said in splitters and at not in within
        part += bool(at) and (word.gap >= CLAUSE or splits)
        parts.append(part)
    return parts


def _marks(words: Sequence[Word], lexicon: Lexicon) -> list[Mark]:
    """The turns of speech, each with its place."""
    level = [lexicon.meant(word.stem) for word in words]
    found = (
        Mark(phrase.terms[0], at, end)
        for at in range(len(level))
        for phrase in (lexicon.starting(level, at) if level[at] else ())
        if phrase.kind == "mark"
        and (end := ends(words, level, (at, phrase.stems), lexicon))
    )
    return without_amounts(words, list(dict.fromkeys(found)), lexicon)


def _over(
    words: Sequence[Word],
    parts: Sequence[int],
    marks: Sequence[Mark],
    lexicon: Lexicon,
) -> list[Mark]:
    """A mark for each clause that is over by now."""
    begin = [parts.index(part) for part in over(words, parts, marks, lexicon)]
    return [Mark(OVER, at, at + 1) for at in begin]


def _is_mere(clause: Clause) -> bool:
    """Whether a clause is one word that is said for courtesy as well."""
    return COURTESY in clause.says and clause.last - clause.first == 1


class _Acts:
    """What words say to the program itself, "oh", "can we", "please" passed over."""

    def __init__(self, words: Sequence[Word], lexicon: Lexicon) -> None:
        self.words, self.lexicon = words, lexicon
        self._said: dict[tuple[int, int], frozenset[str]] = {}
        stems = spoken(words, lexicon)
        self.level = [lexicon.meant(stem) if stem else "" for stem in stems]
        courtesies = lexicon.listed("courtesies")
        self.polite = [
            not stem or word.said in courtesies
            for stem, word in zip(stems, words, strict=True)
        ]

    def whole(self, first: int, last: int) -> frozenset[str]:
        """What the words from one number up to another say, taken together."""
        if (first, last) not in self._said:  # an act said a hundred times is met anew
            self._said[first, last] = self._whole(first, last)
        return self._said[first, last]

    def _whole(self, first: int, last: int) -> frozenset[str]:
        found: set[str] = set()
        begin = first
        while begin < last and not found:
            acts = _acts_from(self.words, self.level, begin, self.lexicon)
            found |= {act for act, end in acts if all(self.polite[end:last])}
            for act, end in acts if not found else ():
                rest = self.whole(end, last) - {COURTESY} if end < last else frozenset()
                particle = rest == {PARTICLE} and all(self.polite[end : last - 1])
                denies = (
                    self.words[begin].stem == NOT and self.words[begin].said != "no"
                )
                # "fitted it back" asks for no step back, "nothing new" for no new job
                if rest and not particle and not denies:
                    found |= {act, *rest}
            if not self.polite[begin]:
                break
            begin += 1
        mere = {COURTESY} if all(self.polite[first:last]) else set()
        return frozenset(found | mere)

    def begin(self, first: int, last: int) -> tuple[Begun, ...]:
        """The acts that they begin with, each with all words that may say it."""
        begin = first
        while begin < last:
            acts = _acts_from(self.words, self.level, begin, self.lexicon)
            if acts or not self.polite[begin]:
                return tuple(Begun(act, begin, end) for act, end in acts)
            begin += 1
        return ()


def _acts_from(
    words: Sequence[Word], level: Sequence[str], at: int, lexicon: Lexicon
) -> list[tuple[str, int]]:
    """The acts that may begin at a word, each with the number of the word after it."""
    return [
        (phrase.terms[-1], end)
        for phrase in (lexicon.starting(level, at) if level[at] else ())
        if phrase.kind == "act"
        and (end := ends(words, level, (at, phrase.stems), lexicon))
    ]


PARTICLE = "back"
"""An act whose one word only belongs to the word before, where it comes last."""

COURTESY = "courtesy"
"""What a clause says that is made of courtesies alone; "ok" may be a yes as well."""


def _clauses(
    parts: Sequence[int],
    found: Sequence[Mention],
    marks: Sequence[Mark],
    acts: _Acts,
) -> tuple[Clause, ...]:
    """The clauses in order, each with its mentions."""
    clauses = []
    for part, numbers in groupby(range(len(parts)), key=lambda n: parts[n]):
        inside = list(numbers)
        own = tuple(m for m in found if parts[m.first] == part)
        here = frozenset(m.name for m in marks if parts[m.last - 1] == part)
        first, last = inside[0], inside[-1] + 1
        said = acts.whole(first, last), acts.begin(first, last)
        clauses.append(Clause(first, last, own, here, *said))
    return tuple(clauses)


def _acts(
    words: Sequence[Word], lexicon: Lexicon
) -> tuple[frozenset[str], frozenset[str]]:
    """What the whole line says to the program, and what its first words say."""
    level = [lexicon.meant(stem) for stem in spoken(words, lexicon) if stem]
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
