"""What the person typed, made ready to be looked up: slots, parts, what was understood.

A slot is one thing said: the first of its terms is the word itself, the others are what
it may have meant. For each card only the best of a slot counts, never the sum.
"""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from bot.language.compare import is_part
from bot.language.lexicon import Lexicon
from bot.language.line import Clause, Line, listen
from bot.language.reading import Item
from bot.language.text import Word

if TYPE_CHECKING:
    from bot.match.records import Index

SMALL = 0.85
"""What a small word ("the", "my", "when") counts. Source: our choice."""


class Slot(NamedTuple):
    """One thing said: its alternative terms with weights, and the part it stands in.

    `trade`: whether it is a word of the trade, by the lexicon; `small` and `little`:
    whether it says little by itself, or nothing as a reason. `stem` is its own.
    """

    said: str
    terms: tuple[tuple[str, float], ...]
    part: int
    trade: bool = False
    small: bool = False
    little: bool = False
    stem: str = ""


class Query(NamedTuple):
    """A text ready to be looked up.

    `parts`: the words of each clause; `understood`: readings that were guessed;
    `absent`: faults said not to be there; `cut`: whether the text was too long;
    `words`: every word, spelling cured.
    """

    slots: tuple[Slot, ...]
    parts: tuple[str, ...]
    understood: tuple[str, ...]
    absent: tuple[str, ...]
    cut: bool
    words: tuple[str, ...] = ()


def ask(words: Line | str, index: "Index") -> Query:
    """A typed line made ready; a text is read first."""
    if isinstance(words, str):
        words = listen(words, index.lexicon, index)
    reading = words.terms(index.lexicon)
    out = _ruled_out(words, index.lexicon)
    items = [item for item in reading.items if item.at not in out]
    slots = _slots(items, index.lexicon)
    texts = _parts(items)
    notes = (*words.notes, *_abbreviations(words.words, index.lexicon))
    kept = tuple(dict.fromkeys(notes))
    spoken = enumerate(words.words)
    said = tuple(word.said for at, word in spoken if at not in out)
    return Query(slots, texts, kept, reading.absent, words.cut, said)


def _ruled_out(line: Line, lexicon: Lexicon) -> frozenset[int]:
    """The numbers of words that only say which part it is not, or that one is sound.

    "Not the hub", "the tyres are fine": nobody is looking for a page about that.
    """
    out = frozenset(
        at
        for clause in line.clauses
        if clause.mentions
        if _is_other(clause, line, lexicon) or _is_sound(clause, lexicon)
        for at in range(clause.first, clause.last)
    )
    return out if len(out) < len(line.words) else frozenset()


def _is_other(clause: Clause, line: Line, lexicon: Lexicon) -> bool:
    """Whether a clause only says which part it is not."""
    words = line.words[clause.first : clause.last]
    denied = all(m.denied and is_part(m, lexicon) for m in clause.mentions)
    return denied and any(word.said == "not" for word in words)


SOUND = "good as it should be"
"""The sense of it, as the words file names it."""


def _is_sound(clause: Clause, lexicon: Lexicon) -> bool:
    """Whether a clause only says of a part that it is as it should be."""
    well = "_".join(lexicon.meant(lexicon.stem(word)) for word in SOUND.split())
    sound = [m for m in clause.mentions if m.has(well) and not m.denied]
    parts = [m for m in clause.mentions if is_part(m, lexicon) and not m.denied]
    return bool(sound and parts) and len(sound) + len(parts) == len(clause.mentions)


def _abbreviations(words: Sequence[Word], lexicon: Lexicon) -> Iterable[str]:
    """What short forms were read as."""
    for word in words:
        for stems, terms, kind, _ in lexicon.phrases.get(word.stem):
            if kind == "short" and len(stems) == 1:
                yield f"{word.said} read as {' '.join(terms[:-1] or terms)}"


def _slots(items: Sequence[Item], lexicon: Lexicon) -> tuple[Slot, ...]:
    """One slot for each different thing said; said twice counts once."""
    slots: dict[str, Slot] = {}
    for item in items:
        terms = _weighed(item, lexicon)
        if terms:
            key = f"{item.part} {terms[0][0]}"
            small = item.said in lexicon.listed("small")
            trade = not small and _of_trade(item, lexicon)
            little = item.said in lexicon.listed("little")
            marks = (trade, small, little, lexicon.stem(item.said))
            slots.setdefault(key, Slot(item.said, terms, item.part, *marks))
    return tuple(slots.values())


def _of_trade(item: Item, lexicon: Lexicon) -> bool:
    """Whether the lexicon knows the words, or what they mean."""
    if item.wide or " " in item.said:
        return True
    return lexicon.deals_in(item.said) or lexicon.deals_in(item.term)


def _weighed(item: Item, lexicon: Lexicon) -> tuple[tuple[str, float], ...]:
    """The terms of an item with what each counts, the best first."""
    table = dict(item.wide)
    if item.term:
        own = SMALL if item.said in lexicon.listed("small") else item.weight
        table[item.term] = own * table.get(item.term, 1.0)
    ranked = sorted(table.items(), key=lambda entry: (-entry[1], entry[0]))
    return tuple(ranked)


def _parts(items: Sequence[Item]) -> tuple[str, ...]:
    """The words of each part of the text."""
    parts: dict[int, dict[int, str]] = {}
    for item in items:
        parts.setdefault(item.part, {}).setdefault(item.at, item.said)
    return tuple(" ".join(part.values()) for part in parts.values())
