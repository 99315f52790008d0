"""What a "not" does. In this trade it is mostly the symptom: "won't start".

A lost function is kept and marked (`no:start`); a fault said to be absent ("no smoke")
is marked (`abs:smok`) and set aside as evidence; "won't stop hissing" is a hiss.
Which words are functions and which faults is for the thesaurus to say.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bot.language.text import GRAMMAR, Word, stem, words_set

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from bot.language.reading import Item

NOT = "not"

_NEGATIVES = words_set(
    """
    not no never without nor neither none nothing nae nowt nada zero cant cannot wont
    dont doesnt didnt isnt arent wasnt werent hasnt havent hadnt couldnt wouldnt
    shouldnt aint dosent doesent dosnt didn doesn couldn wouldn isn wasn hasn
    cudnt wudnt nobody nowhere hardly barely scarcely
    """
)

_FOLDS = tuple(
    tuple(map(stem, phrase.split()))
    for phrase in (
        "not longer",
        "fails to",
        "refuses to",
        "unable to",
        "lack of",
        "will not",
        "do not",
        "is not",
        "has not",
        "can not",
        "not able to",
        "not want to",
        "not seem to",
        "not any",
        "not even",
    )
)
"""Stems that say "not" together."""

_HARMLESS = tuple(
    tuple(map(stem, phrase.split()))
    for phrase in (
        "not only",
        "not just",
        "not sure",
        "not certain",
        "not long",
        "not idea",
        "not clue",
        "not wonder",
        "not doubt",
        "not matter",
        "not know",
        "not think",
        "not warning",
        "not problem",
        "not trouble",
        "not bother",
        "not expert",
        "not notice",
        "not realise",
        "not realize",
        "not surprise",
        "not remember",
        "not but",
        "why not",
    )
)
"""Stems with a "not" that denies nothing about the truck."""

_ENDS = words_set(
    "but though except when while until till and because if after unless since so as"
)

SCOPE_WORDS = 3
SCOPE_REACH = 6
"""A "not" reaches three telling words, and at most six of any kind on. Source: the
four words of NegEx (Chapman et al. 2001), widened for small words (our choice)."""

_QUITTING = frozenset({"stop", "quit", "ceas"})


def folded(words: Sequence[Word]) -> tuple[Word, ...]:
    """The words with every kind of "not" as one stem, and harmless ones gone."""
    out: list[Word] = []
    for word in words:
        denies = word.said in _NEGATIVES or _too(out, word)
        out.append(word._replace(stem=NOT) if denies else word)
        _squeeze(out)
    return tuple(out)


def _asks(out: Sequence[Word]) -> bool:
    """Whether it is the "can't I" of a question, which denies nothing."""
    if len(out) < 2 or out[-1].said not in {"i", "we"} or out[-1].gap:
        return False
    why = len(out) > 2 and out[-3].said in {"why", "how"}
    return out[-2].stem == NOT and out[-2].said.endswith("t") and not why


def _too(before: Sequence[Word], word: Word) -> bool:
    """Whether it is the "to" of "too hot to touch", which is a "not"."""
    return word.said == "to" and [w.said for w in before[-2:-1]] == ["too"]


_LAST = {
    last: tuple(p for p in (*_FOLDS, *_HARMLESS) if p[-1] == last)
    for last in {pattern[-1] for pattern in (*_FOLDS, *_HARMLESS)}
}


def _squeeze(out: list[Word]) -> None:
    """Join the last words when together they mean "not", or nothing is denied."""
    if _asks(out):
        out[-2] = out[-2]._replace(stem="")
    for pattern in _LAST.get(out[-1].stem, ()):
        if not _ends_with(out, pattern):
            continue
        if pattern in _FOLDS:
            said = " ".join(word.said for word in out[-len(pattern) :])
            out[-len(pattern) :] = [Word(said, NOT, out[-len(pattern)].gap)]
        else:
            at = len(out) - len(pattern) + pattern.index(NOT)
            out[at] = out[at]._replace(stem="")
        return


def _ends_with(out: Sequence[Word], pattern: Sequence[str]) -> bool:
    """Whether the last words are those stems with no break between them."""
    if len(out) < len(pattern):
        return False
    tail = out[-len(pattern) :]
    if any(word.gap for word in tail[1:]):
        return False
    return all(word.stem == want for word, want in zip(tail, pattern, strict=True))


def scope(items: Sequence[Item], start: int) -> list[int]:
    """The numbers of the items that the "not" at `start` reaches."""
    reached: list[int] = []
    told = 0
    first = items[start]
    for j in range(start + 1, len(items)):
        item = items[j]
        if item.part != first.part or item.term in _ENDS or told >= SCOPE_WORDS:
            break
        if item.at - first.at > SCOPE_REACH:
            break
        reached.append(j)
        told += item.term not in GRAMMAR
    return reached


def marked(
    items: Sequence[Item], faults: Collection[str], functions: Collection[str]
) -> tuple[tuple[Item, ...], tuple[str, ...]]:
    """The items with what a "not" does marked; and the words of absent faults."""
    extra: dict[int, Item] = {}
    absent: set[int] = set()
    for i, item in enumerate(items):
        if item.term == NOT:
            reached = scope(items, i)
            gone = _absent(items, reached, faults)
            absent.update(gone)
            if not gone and not _goes_on(items, reached, faults):
                _lose(items, (i, *reached), functions, extra)
        elif item.term in _QUITTING and not _denied(items, i):
            _quit(items, i, functions, extra)
    out: list[Item] = []
    for i, item in enumerate(items):
        gone_term = "abs:" + item.term
        out.append(item._replace(term=gone_term, wide=()) if i in absent else item)
        if i in extra:
            out.append(extra[i])
    return tuple(out), tuple(dict.fromkeys(items[i].said for i in sorted(absent)))


def _goes_on(
    items: Sequence[Item], reached: Sequence[int], faults: Collection[str]
) -> bool:
    """Whether it is "won't stop hissing": the fault is there, and lasts."""
    quits = any(items[j].term in _QUITTING for j in reached[:3])
    return quits and any(items[j].term in faults for j in reached)


def _absent(
    items: Sequence[Item], reached: Sequence[int], faults: Collection[str]
) -> tuple[int, ...]:
    """The faults that a "not" denies: those it reaches, unless a stop comes first."""
    if _goes_on(items, reached, faults):
        return ()
    return tuple(j for j in reached if items[j].term in faults)


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
