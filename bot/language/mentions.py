"""Which senses the words of a line have, and where: one mention a thing said.

A phrase is taken whole, the longest first: "not a peep" is silence, and no "not". What
a phrase means for certain stands above what it may mean; a word that may mean many
things tells little of each. Words that no entry knows stand for themselves.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from bot.language.lexicon import MOST_SKIPPED, NOT, Lexicon, Phrase
from bot.language.text import CLAUSE, Word

LIKELY = 0.6
"""What a sense counts that a phrase may have. Source: our choice."""

MANY = 3
"""With more possible senses than this, each counts less."""

INSIDE = 0.3
"""What a word counts inside a phrase that is taken whole."""

STRICT = frozenset({"also", "short", "said", "self"})
KINDS = STRICT | {"loose", "maybe"}

Others = Mapping[int, Sequence[tuple[str, float]]]
"""Further readings of misspelt words, with what each counts, by the word's number."""


class Mention(NamedTuple):
    """One thing said: its words, where they stand, the senses it may have.

    `last` is the number of the word after. `senses` are (sense, weight), weights up to
    1. `denied`: it is said not to be.
    """

    said: str
    first: int
    last: int
    senses: tuple[tuple[str, float], ...]
    denied: bool = False

    def has(self, sense: str) -> bool:
        """Whether it has that sense for certain."""
        return (sense, 1.0) in self.senses


def mentions(
    words: Sequence[Word], lexicon: Lexicon, others: Others
) -> tuple[Mention, ...]:
    """Everything said in a line, in order; polarity is for `bot.language.polarity`."""
    level = [lexicon.meant(word.stem) if word.stem else "" for word in words]
    small = lexicon.listed("small") - lexicon.listed("amounts")
    found: list[Mention] = []
    at = 0
    while at < len(words):
        senses, end = _senses(words, level, at, lexicon)
        own = level[at] not in ("", NOT) and words[at].said not in small
        if own and not words[at].said[0].isdigit():
            if end == at + 1:
                senses[level[at]] = 1.0
            for sense, weight in others.get(at, ()):
                senses[sense] = max(senses.get(sense, 0.0), weight)
        for inside in range(at, end) if end > at + 1 else ():
            if level[inside] not in ("", NOT) and words[inside].said not in small:
                senses.setdefault(level[inside], INSIDE)
        if senses:
            said = " ".join(word.said for word in words[at:end])
            found.append(Mention(said, at, end, tuple(senses.items())))
        at = max(end, at + 1)
    return tuple(found)


def _senses(
    words: Sequence[Word], level: Sequence[str], at: int, lexicon: Lexicon
) -> tuple[dict[str, float], int]:
    """The senses of the longest phrase that begins at a word, and where it ends."""
    matched: list[tuple[Phrase, int]] = []
    for phrase in lexicon.starting(level, at) if level[at] else ():
        if phrase.kind in KINDS and phrase.stems != (NOT,):
            end = ends(words, level, (at, phrase.stems), lexicon)
            goes_on = end < len(words) and not words[end].gap
            if end and not (phrase.stems[-1] == NOT and goes_on):
                matched.append((phrase, end))
    last = max((end for _, end in matched), default=at + 1)
    longest = [phrase for phrase, end in matched if end == last]
    senses = {p.terms[-1]: 1.0 for p in longest if p.kind in STRICT}
    loose = {p.terms[-1] for p in longest if p.kind in ("loose", "maybe")} - set(senses)
    weight = LIKELY * min(1.0, (MANY / len(loose)) ** 0.5) if loose else 0.0
    senses.update(dict.fromkeys(sorted(loose), weight))
    return senses, last


def ends(
    words: Sequence[Word],
    level: Sequence[str],
    phrase: tuple[int, Sequence[str]],
    lexicon: Lexicon,
) -> int:
    """Where the phrase ends that begins at that word; 0 when it is not there."""
    at, stems = phrase
    skipped = lexicon.listed("skipped")
    i = at + 1
    for stem in stems[1:]:
        over = 0
        while i < len(level) and level[i] != stem and over < MOST_SKIPPED:
            if words[i].said not in skipped or words[i].gap:
                return 0
            over += 1
            i += 1
        if i >= len(level) or level[i] != stem or words[i].gap >= CLAUSE:
            return 0
        i += 1
    return i
