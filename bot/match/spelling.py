"""What an unknown word may have meant: near words, split words, joined words.

Expand, do not correct: every nearest word is kept as a weighted reading, and a word
that is known (on cards, in the thesaurus, in the list of common words) is left alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from bot.match.text import stem

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from bot.match.text import Word
    from bot.match.thesaurus import Thesaurus

MOST_READINGS = 4
WEIGHTS = (0.8, 0.7, 0.6, 0.5)
PAIR = (0.8, 0.8)
"""What the nearest, the next, ... and what both halves of a word count. Source: our
choice, falling from 0.8."""

SHORTEST_HALF = 3

ALIKE = 0.7
"""Words less alike gain nothing by a common beginning. Source: Winkler 1990 (from
memory)."""

MOST_SPELT = 40
"""Unknown words that are looked at; a text with more is not in English."""

Others = dict[int, tuple[tuple[str, float], ...]]
"""Further readings of a word, each with what it counts, by the word's number."""


class Vocabulary(Protocol):
    """Words that stand on cards or rules."""

    def holds(self, stems: Collection[str]) -> Collection[str]:
        """Those of the stems that are known."""

    def near(self, word: str) -> Iterable[str]:
        """Words that begin or end alike and are about as long."""


def respelt(
    words: Sequence[Word], thesaurus: Thesaurus, vocabulary: Vocabulary
) -> tuple[tuple[Word, ...], Others, list[str]]:
    """The words with unknown ones read as the nearest known, and the other readings.

    Last come notes for the person, such as "guage read as gauge".
    """
    out = list(words)
    others: Others = {}
    notes: list[str] = []
    for i in _unknown(words, thesaurus, vocabulary):
        word = words[i].said
        near = nearest(word, (*near_in(thesaurus.known, word), *vocabulary.near(word)))
        pair = () if near else halves(word, thesaurus.known)
        if near:
            out[i] = words[i]._replace(stem=stem(near[0]))
        if near or pair:
            weighed = zip(near or pair, WEIGHTS if near else PAIR, strict=False)
            single = thesaurus.single
            found = ((stem(other), weight) for other, weight in weighed)
            others[i] = tuple((single.get(s, s), weight) for s, weight in found)
            notes.append(f"{word} read as {near[0] if near else ' '.join(pair)}")
    return tuple(out), others, notes


def _unknown(
    words: Sequence[Word], thesaurus: Thesaurus, vocabulary: Vocabulary
) -> list[int]:
    """The numbers of the words that stand nowhere: not on cards, not in the lists."""
    known = thesaurus.known
    maybe = [
        i
        for i, word in enumerate(words)
        if word.said.isalpha()
        and len(word.said) > 2
        and word.said not in known
        and word.stem not in known
    ]
    stems = vocabulary.holds({words[i].stem for i in maybe})
    return [i for i in maybe if words[i].stem not in stems][:MOST_SPELT]


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


def distance(one: str, other: str, limit: int) -> int:
    """Letters changed, dropped, added or swapped with a neighbour; above `limit`: more.

    Optimal string alignment: no part of a word is edited twice.

    >>> distance("guage", "gauge", 2), distance("brakes", "breaks", 2)
    (1, 2)
    """
    if abs(len(one) - len(other)) > limit:
        return limit + 1
    before: list[int] = []
    last = list(range(len(other) + 1))
    for i, a in enumerate(one):
        row = [i + 1]
        for j, b in enumerate(other):
            cost = min(last[j] + (a != b), last[j + 1] + 1, row[j] + 1)
            if i and j and a == other[j - 1] and b == one[i - 1]:
                cost = min(cost, before[j - 1] + 1)
            row.append(cost)
        if min(row) > limit and min(last) > limit:
            return limit + 1
        before, last = last, row
    return last[-1]


def nearest(word: str, candidates: Iterable[str]) -> tuple[str, ...]:
    """The known words at the least distance within reach, likeliest first."""
    limit = reach(word)
    letters = set(word)
    found: dict[str, int] = {}
    for other in candidates:
        if abs(len(other) - len(word)) > limit or other == word:
            continue
        if len(letters.symmetric_difference(other)) > 2 * limit:
            continue
        far = distance(word, other, limit)
        if far <= limit:
            limit = far
            found[other] = far
    least = (other for other, far in found.items() if far == limit)
    ranked = sorted(least, key=lambda other: (-likeness(word, other), other))
    return tuple(ranked[:MOST_READINGS])


def likeness(one: str, other: str) -> float:
    """How alike two words look, from 0 to 1: Jaro's share, more for a common beginning.

    Source: Winkler 1990 (from memory); 0.1 for each of the first four letters.
    """
    reach_of = max(0, max(len(one), len(other)) // 2 - 1)
    free = list(other)
    mine = []
    for i, letter in enumerate(one):
        low, high = max(0, i - reach_of), i + reach_of + 1
        if letter in free[low:high]:
            free[free.index(letter, low, high)] = ""
            mine.append(letter)
    if not mine:
        return 0.0
    theirs = [a for a, b in zip(other, free, strict=True) if not b]
    swaps = sum(a != b for a, b in zip(mine, theirs, strict=True)) // 2
    same = len(mine)
    jaro = (same / len(one) + same / len(other) + (same - swaps) / same) / 3
    start = _shared(one[:4], other[:4]) if jaro > ALIKE else 0
    return jaro + 0.1 * start * (1 - jaro)


def _shared(one: str, other: str) -> int:
    """How many first letters two words share."""
    count = 0
    for a, b in zip(one, other, strict=False):
        if a != b:
            break
        count += 1
    return count


def halves(word: str, known: Collection[str]) -> tuple[str, ...]:
    """Two known words that were run together, or none; the longer first half wins.

    >>> halves("airleak", {"air", "leak"})
    ('air', 'leak')
    """
    for cut in range(len(word) - SHORTEST_HALF, SHORTEST_HALF - 1, -1):
        if word[:cut] in known and word[cut:] in known:
            return word[:cut], word[cut:]
    return ()
