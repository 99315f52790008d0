"""What a "not" does. In this trade it is mostly the symptom: "won't start".

A lost function is kept and marked (`no:start`); a fault said to be absent ("no smoke")
is marked (`abs:smok`) and set aside as evidence; "won't stop hissing" is a hiss.
Which words are functions and which faults is for the lexicon to say.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING

from bot.language.lexicon import NOT, Lexicon
from bot.language.text import CLAUSE, Word

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from bot.language.reading import Item

SCOPE_WORDS = 3
SCOPE_REACH = 6
"""A "not" reaches three telling words, and at most six of any kind on. Source: the
four words of NegEx (Chapman et al. 2001), widened for small words (our choice)."""

_DOUBLED = re.compile(r"(.)\1+")

LONGEST = 4
"""Words of the longest phrase that denies, or denies nothing, together."""


def folded(words: Sequence[Word], lexicon: Lexicon) -> tuple[Word, ...]:
    """The words with every kind of "not" as one stem, and harmless ones gone."""
    negators = lexicon.listed("negators")
    last_words = _last_words(lexicon.listed("deny"), lexicon.listed("harmless"))
    out: list[Word] = []
    for word in words:
        if not word.gap and [w.said for w in out[-2:]] == ["no", "no"]:
            word = word._replace(gap=CLAUSE)  # "no no the brakes are fine"
        if _is_negator(word.said, negators) or _too(out, word):
            word = word._replace(stem=NOT)
        out.append(word)
        if _asks(out):
            out[-2] = out[-2]._replace(stem="")
        if word.stem in last_words:
            _squeeze(out, lexicon)
    return tuple(out)


@lru_cache(maxsize=4)
def _last_words(*phrases: frozenset[str]) -> frozenset[str]:
    """The stems that phrases end with."""
    return frozenset(p.rpartition(" ")[2] for listed in phrases for p in listed)


@lru_cache(maxsize=8192)
def _is_negator(said: str, negators: frozenset[str]) -> bool:
    """Whether a word, however its letters are doubled, is a "not"."""
    return not negators.isdisjoint(_undoubled(said))


def _undoubled(said: str) -> tuple[str, ...]:
    """A word, and the same without doubled letters: "nott" is a "not" all the same."""
    last = said[:-1] if said[-2:-1] == said[-1:] else said
    return said, last, _DOUBLED.sub(r"\1", said)


def spoken(words: Sequence[Word], lexicon: Lexicon) -> list[str]:
    """The stems of words said to the program itself, to which no "not" is harmless.

    "Not sure" tells as little of the truck as "sure"; as an answer it is the opposite.
    """
    negators = lexicon.listed("negators")
    return [
        _which_not(word.said)
        if word.stem == NOT or (not word.stem and negators & set(word.said.split()))
        else word.stem
        for word in words
    ]


_AUXILIARIES = (
    ("ca", "co", "cu", "un"),
    ("ha",),
    ("do", "di"),
    ("is", "ar", "wa", "ai"),
)
"""How the auxiliary verbs begin: can, have, do, be."""


_OF_ALL = ("none", "neither")
"""A "not" that chooses among things, which "no" does not."""


def _which_not(said: str) -> str:
    """A "not" with its auxiliary: "can't do it" is not "haven't done it"; or "none"."""
    if said in _OF_ALL:
        return f"{NOT}-{said}"
    for beginnings in _AUXILIARIES:
        if said.startswith(beginnings):
            return f"{NOT}-{beginnings[0]}"
    return NOT


def _asks(out: Sequence[Word]) -> bool:
    """Whether it is the "can't I" of a question, which denies nothing."""
    if out[-1].said not in {"i", "we"} or len(out) < 2 or out[-1].gap:
        return False
    why = len(out) > 2 and out[-3].said in {"why", "how"}
    return out[-2].stem == NOT and out[-2].said.endswith("t") and not why


def _too(before: Sequence[Word], word: Word) -> bool:
    """Whether it is the "to" of "too hot to touch", which is a "not"."""
    return word.said == "to" and [w.said for w in before[-2:-1]] == ["too"]


def _squeeze(out: list[Word], lexicon: Lexicon) -> None:
    """Join the last words when together they mean "not", or nothing is denied."""
    for length in range(2, min(len(out), LONGEST) + 1):
        tail = out[-length:]
        if tail[1].gap or any(word.gap for word in tail[2:]):
            return
        phrase = " ".join(word.stem for word in tail)
        if phrase in lexicon.listed("deny"):
            said = " ".join(word.said for word in tail)
            out[-length:] = [Word(said, NOT, tail[0].gap, tail[0].start)]
            return
        if phrase in lexicon.listed("harmless"):
            at = len(out) - length + [word.stem for word in tail].index(NOT)
            out[at] = out[at]._replace(stem="")
            return


def scope(items: Sequence[Item], start: int, lexicon: Lexicon) -> list[int]:
    """The numbers of the items that the "not" at `start` reaches."""
    reached: list[int] = []
    told = 0
    first = items[start]
    for j in range(start + 1, len(items)):
        item = items[j]
        ends = item.term in lexicon.listed("ends")
        if item.part != first.part or ends or told >= SCOPE_WORDS:
            break
        if item.at - first.at > SCOPE_REACH:
            break
        reached.append(j)
        told += item.term not in lexicon.listed("small")
    return reached


def marked(
    items: Sequence[Item], lexicon: Lexicon
) -> tuple[tuple[Item, ...], tuple[str, ...]]:
    """The items with what a "not" does marked; and the words of absent faults."""
    functions = lexicon.functions
    quitting = lexicon.listed("quitting")
    extra: dict[int, Item] = {}
    absent: set[int] = set()
    for i, item in enumerate(items):
        if item.term == NOT:
            reached = scope(items, i, lexicon)
            gone = _absent(items, reached, lexicon)
            absent.update(gone)
            if not gone and not _goes_on(items, reached, lexicon):
                _lose(items, (i, *reached), functions, extra)
        elif item.term in quitting and not _denied(items, i):
            _quit(items, i, functions, extra)
    out: list[Item] = []
    for i, item in enumerate(items):
        gone_term = "abs:" + item.term
        out.append(item._replace(term=gone_term, wide=()) if i in absent else item)
        if i in extra:
            out.append(extra[i])
    return tuple(out), tuple(dict.fromkeys(items[i].said for i in sorted(absent)))


def _goes_on(items: Sequence[Item], reached: Sequence[int], lexicon: Lexicon) -> bool:
    """Whether it is "won't stop hissing": the fault is there, and lasts."""
    quits = any(items[j].term in lexicon.listed("quitting") for j in reached[:3])
    return quits and any(items[j].term in lexicon.faults for j in reached)


def _absent(
    items: Sequence[Item], reached: Sequence[int], lexicon: Lexicon
) -> tuple[int, ...]:
    """The faults that a "not" denies: those it reaches, unless a stop comes first."""
    if _goes_on(items, reached, lexicon):
        return ()
    return tuple(j for j in reached if items[j].term in lexicon.faults)


def _lose(
    items: Sequence[Item],
    reached: Sequence[int],
    functions: Collection[str],
    extra: dict[int, Item],
) -> None:
    """Enter the first function that a "not" reaches as lost, in all its terms."""
    first = next((j for j in reached if items[j].term in functions), None)
    if first is None:
        return
    for j in reached:
        item = items[j]
        if item.at == items[first].at and item.term in functions:
            said = f"{items[reached[0]].said} {item.said}"
            extra[j] = item._replace(said=said, term="no:" + item.term, wide=())


def _quit(
    items: Sequence[Item],
    start: int,
    functions: Collection[str],
    extra: dict[int, Item],
) -> None:
    """Enter the function in "stopped charging", "quit working"."""
    if start + 1 >= len(items):
        return
    after = items[start + 1]
    whole = after.term in functions and after.said.endswith("ing")
    if whole and after.part == items[start].part:
        said = f"{items[start].said} {after.said}"
        extra[start + 1] = after._replace(said=said, term="no:" + after.term, wide=())


def _denied(items: Sequence[Item], at: int) -> bool:
    """Whether a "not" stands close before."""
    return any(item.term == NOT for item in items[max(0, at - 2) : at])
