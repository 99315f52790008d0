"""What an unknown word may have meant: near words, split words, joined words.

Expand, do not correct: every nearest word is kept as a weighted reading, and a word
that is known (on cards, in the lexicon, to English) is left alone. rapidfuzz is loaded
when the first unknown word is met: that takes longer than two bare starts of Python.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, Protocol

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from bot.language.lexicon import Lexicon
    from bot.language.text import Word

MOST_READINGS = 4
WEIGHTS = (0.8, 0.7, 0.6, 0.5)
PAIR = (0.8, 0.8)
"""What the nearest, the next, ... and what both halves of a word count. Source: our
choice, falling from 0.8."""

SHORTEST_HALF = 3

OF_TRADE = 0.04
"""How much likelier, in Jaro-Winkler likeness, a word of the trade was meant than a
common word at the same distance. Source: our choice."""

SAME_LENGTH = 0.02
"""The same for a word as long as what was typed. Source: our choice."""

SILENT = 0.1
"""The same for a word that sounds the same but for an "h" nobody hears: "wen" is
"when". Source: our choice."""

SWAPPED = 0.5
"""The same for a word of the same letters in another order, the first in its place:
"teh" is "the". Source: our choice; above what likeness can make up for."""

MOST_SPELT = 40
"""Unknown words that are looked at; a text with more is not in English."""

Others = dict[int, tuple[tuple[str, float], ...]]
"""Further readings of a word, each with what it counts, by the word's number."""


class Vocabulary(Protocol):
    """Words that stand on cards or rules."""

    def holds(self, stems: Collection[str]) -> Collection[str]:
        """Those of the stems that are known."""

    def english(self, words: Collection[str]) -> Collection[str]:
        """Those of the words that are plain English, spelt as they were meant."""

    def near(self, word: str) -> Iterable[str]:
        """Words that begin or end alike and are about as long."""


def respelt(
    words: Sequence[Word], lexicon: Lexicon, vocabulary: Vocabulary
) -> tuple[tuple[Word, ...], Others, list[str]]:
    """The words with unknown ones read as the nearest known, and the other readings.

    Last come notes for the person, such as "guage read as gauge".
    """
    out = list(words)
    others: Others = {}
    notes: list[str] = []
    unknown = _unknown(words, lexicon, vocabulary)
    plain = vocabulary.english({words[i].said for i in unknown}) if unknown else ()
    pool = Pool.of(lexicon.known.split(), lexicon.trade.split()) if unknown else NO_POOL
    looked_up: dict[str, tuple[str, ...]] = {}
    for i in unknown:
        word = words[i].said
        if word in plain:
            others[i] = _rather_trade(word, pool.trade, lexicon)
            continue
        if word not in looked_up:
            wide = pool.with_trade(vocabulary.near(word))
            looked_up[word] = _likely(word, wide, lexicon)
        near = looked_up[word]
        pair = () if near else halves(word, lexicon)
        if near:
            said = near[0] if _is_small(near[0], lexicon) else word
            out[i] = words[i]._replace(said=said, stem=lexicon.stem(near[0]))
        if near or pair:
            weighed = zip(near or pair, WEIGHTS if near else PAIR, strict=False)
            single = lexicon.single
            found = ((lexicon.stem(other), weight) for other, weight in weighed)
            others[i] = tuple((single.get(s, s), weight) for s, weight in found)
            notes.append(f"{word} read as {near[0] if near else ' '.join(pair)}")
    return tuple(out), others, notes


def _likely(word: str, pool: Pool, lexicon: Lexicon) -> tuple[str, ...]:
    """What an unknown word may have been meant for, likeliest first."""
    near = nearest(word, pool)
    near = tuple(other for other in near if not _is_opposite(word, other))
    return _nots_first(word, near, lexicon)


def _rather_trade(
    word: str, trade: Collection[str], lexicon: Lexicon
) -> tuple[tuple[str, float], ...]:
    """Words of the trade that a plain word of no use here may stand for: "canvass".

    The word itself is left alone.
    """
    near = nearest(word, Pool.of(trade)) if len(word) >= SHORTEST_RATHER else ()
    if not near:
        return ()
    from rapidfuzz.distance import OSA

    return tuple(
        (lexicon.meant(lexicon.stem(other)), RATHER)
        for other in near
        if other[0] == word[0] and OSA.distance(word, other) == 1
    )


SHORTEST_RATHER, RATHER = 6, 0.8
"""Plain words so long may stand for one of the trade, and what that counts. Our
choice."""


def _is_small(word: str, lexicon: Lexicon) -> bool:
    """Whether a word does its work by itself and not by what it means, as "not"."""
    return any(word in lexicon.listed(kind) for kind in _SMALL)


_SMALL = ("negators", "ends", "splitters", "every", "some", "past", "asking", "small")


def _nots_first(word: str, near: tuple[str, ...], lexicon: Lexicon) -> tuple[str, ...]:
    """The nearest words, one that denies first where it is spelt like one.

    "Wernt" is rather "werent" than "went": a "not" that is not heard turns all round.
    """
    negators = lexicon.listed("negators").intersection(near)
    ends = word.endswith(("n", "t")) and len(word) > SHORTEST_HALF
    nots = tuple(
        other
        for other in near
        if other in negators
        and ((ends and other.endswith("nt")) or word[0] == other[0] == "n")
    )
    return (*nots, *(other for other in near if other not in nots))


_NOT = ("un", "in", "im", "dis", "non")


def _is_opposite(word: str, other: str) -> bool:
    """Whether one is the other with a "not" in front: "unconscious" is not misspelt."""
    return any(word == n + other or other == n + word for n in _NOT)


def _unknown(
    words: Sequence[Word], lexicon: Lexicon, vocabulary: Vocabulary
) -> list[int]:
    """The numbers of the words that stand nowhere: not on cards, not in the lists."""
    maybe = [
        i
        for i, word in enumerate(words)
        if word.said.isalpha()
        and len(word.said) > 2
        and word.stem
        and not lexicon.knows(word.stem)
        and not any(lexicon.knows(root) for root in roots(word.said, lexicon))
    ]
    stems = vocabulary.holds({words[i].stem for i in maybe}) if maybe else ()
    return [i for i in maybe if words[i].stem not in stems][:MOST_SPELT]


_ENDINGS = ("est", "ness", "ful", "less", "able", "ish")
"""Not "er", "or", "y" and "ment": "beter", "slowy", "movment" are slips; the good words
that end so are in the list of plain English."""


def roots(word: str, lexicon: Lexicon) -> tuple[str, ...]:
    """The stems that a word is made of by an ending that `stem` leaves alone.

    >>> from bot.language.lexicon import EMPTY
    >>> roots("greenish", EMPTY), roots("quietness", EMPTY)
    (('green',), ('quiet',))
    """
    found = []
    for ending in _ENDINGS:
        rest = word.removesuffix(ending)
        if rest != word and len(rest) > 2:
            found.append(lexicon.stem(rest))
            found.append(lexicon.stem(rest[:-1] + "y") if rest[-1] == "i" else rest)
    return tuple(sorted(set(found)))


def near_in(words: Iterable[str], word: str) -> list[str]:
    """Words that begin or end alike and are about as long: seen from afar, the same."""
    head, tail, shortest, longest = word[0], word[-2:], len(word) - 2, len(word) + 2
    return [
        other
        for other in words
        if (other[0] == head or other[-2:] == tail)
        and shortest <= len(other) <= longest
    ]


def reach(word: str) -> int:
    """How many slips of the finger a word of that length may hold.

    Source: lengths 0-2 none, 3-5 one, 6 and over two, as search engines document.
    """
    return 0 if len(word) < 3 else 1 if len(word) < 6 else 2


class Pool(NamedTuple):
    """Known words that a slip may have been meant for; `trade` are likelier."""

    words: frozenset[str]
    trade: frozenset[str]

    @classmethod
    def of(cls, common: Iterable[str], trade: Iterable[str] = ()) -> Pool:
        """A pool of common words and words of the trade."""
        liked = frozenset(trade)
        return cls(liked.union(common), liked)

    def with_trade(self, words: Iterable[str]) -> Pool:
        """The pool with further words of the trade."""
        more = frozenset(words)
        return Pool(self.words | more, self.trade | more)


NO_POOL = Pool.of(())


def nearest(word: str, pool: Pool) -> tuple[str, ...]:
    """The known words at the least distance within reach, likeliest first.

    A slip is a letter changed, dropped, added or swapped with its neighbour.
    """
    if not pool.words:
        return ()
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    found = process.extract(
        word, pool.words, scorer=OSA.distance, score_cutoff=reach(word), limit=None
    )
    if not found or len(word) < 3:
        return ()
    least = min(far for _, far, _ in found)
    ranked = sorted(
        (-_likeness(word, other) - OF_TRADE * (other in pool.trade), other)
        for other, far, _ in found
        if far == least
    )
    return tuple(other for _, other in ranked[:MOST_READINGS])


def _likeness(word: str, other: str) -> float:
    """How alike two words look; letters are rather changed or swapped than lost."""
    from rapidfuzz.distance import JaroWinkler

    swapped = SWAPPED * (word[0] == other[0] and sorted(word) == sorted(other))
    same = SAME_LENGTH * (len(word) == len(other))
    silent = SILENT * (word.replace("wh", "w") == other.replace("wh", "w"))
    return JaroWinkler.similarity(word, other) + same + swapped + silent


def halves(word: str, lexicon: Lexicon) -> tuple[str, ...]:
    """Two known words that were run together, or none; the longer first half wins."""
    for cut in range(len(word) - SHORTEST_HALF, SHORTEST_HALF - 1, -1):
        one, other = word[:cut], word[cut:]
        if lexicon.spells(one) and lexicon.spells(other):
            return one, other
    return ()
