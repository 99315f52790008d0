"""Words read through the lexicon: the terms that a text says, and where."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from bot.language.lexicon import NOT, Lexicon, Phrase
from bot.language.mentions import ends
from bot.language.negation import folded, marked
from bot.language.text import CLAUSE, SENTENCE, Word, clean, words_of

Others = Mapping[int, tuple[tuple[str, float], ...]]
"""Further readings of a word, each with what it counts, by the word\'s number."""

WEIGHT = {"self": 0.0, "short": 0.9, "loose": 0.6, "units": 0.3}
"""What a meaning counts beside the word itself. Source: our choice."""

CLUSTER = {"self": 0.5, "loose": 0.4}
"""What it counts that typed and written words are loosely the same: one of them is the
term, or neither. Source: our choice."""

SENSES = ("said", "maybe", "act", "mark")
"""Kinds of phrases that cards are not found by."""

INSIDE = 0.5
"""What a word counts inside a phrase that stands for another term."""

_LETTERS = 'abcdefghijklmnopqrstuvwxyz%"'
_FIGURES = "0123456789.,/"
_VOLTS = {str(n): "12v" for n in range(9, 16)} | {str(n): "24v" for n in range(18, 33)}
"""A truck's two systems, discharged to charging. Source: common practice."""

_LITTLE = {
    "psi": 30.0,
    "lbs": 30.0,
    "lb": 30.0,
    "pounds": 30.0,
    "bar": 2.0,
    "kpa": 200.0,
}
"""So little pressure is low, for a tyre on the road as for a brake. Source: common
practice."""
SOFT = (("soft", 0.6), ("low", 0.6))
FLAT = (*SOFT, ("flat", 0.6))
FLAT_SHARE = 1 / 3
"""And so much of that is flat."""


class Item(NamedTuple):
    """One term of a text and the words it was said in.

    `at` counts words, `part` clauses, `sentence` sentences; `wide` are further
    meanings of the same words with their weights.
    """

    said: str
    term: str
    at: int
    part: int = 0
    sentence: int = 0
    wide: tuple[tuple[str, float], ...] = ()
    weight: float = 1.0


class Reading(NamedTuple):
    """A text as terms; `absent` are the faults it says are not there."""

    items: tuple[Item, ...]
    absent: tuple[str, ...] = ()


def read(
    words: Sequence[Word],
    lexicon: Lexicon,
    others: Others | None = None,
) -> Reading:
    """The terms of a text in order; `others` are further readings by word number."""
    level = [_term(words, i, lexicon) for i in range(len(words))]
    items: list[Item] = []
    covered, meant = 0, frozenset[str]()
    for i, place in enumerate(_places(words, lexicon)):
        wide = dict((others or {}).get(i, ()) or _amount(words, i))
        found = _matches(words, level, i, lexicon)
        same = next((m for m in found if _holds(m, level, lexicon)), None)
        if same and i >= covered:
            covered, meant = same[1], frozenset(same[0].terms)
            items.extend(_said_as(same, words, i, place))
        for phrase, end in found:
            if phrase.kind != "also" and end == i + 1:
                _widen(wide, phrase)
            elif phrase.kind != "also":
                items.append(_loosely((phrase, end), words, i, place))
        if level[i] and not (i < covered and level[i] in meant):
            weight = INSIDE if i < covered else 1.0
            further = tuple(wide.items())
            items.append(Item(words[i].said, level[i], i, *place, further, weight))
        elif wide:
            items.append(Item(words[i].said, "", i, *place, tuple(wide.items())))
    return Reading(*marked(items, lexicon))


def terms(text: str, lexicon: Lexicon) -> tuple[str, ...]:
    """The terms of an author's text, as they stand in an index."""
    words = folded(words_of(clean(text)[0], lexicon.forms), lexicon)
    found: list[str] = []
    for item in read(words, lexicon).items:
        found.extend((item.term,) if item.term else ())
        found.extend(term for term, _ in item.wide if term.startswith("~"))
    return tuple(found)


def _holds(match: tuple[Phrase, int], level: Sequence[str], lexicon: Lexicon) -> bool:
    """Whether the words mean exactly the phrase's term; "not stop hissing" does not."""
    phrase, end = match
    goes_on = phrase.stems[0] == NOT and level[end : end + 1]
    return phrase.kind == "also" and not (goes_on and level[end] in lexicon.faults)


def _said_as(
    match: tuple[Phrase, int], words: Sequence[Word], at: int, place: tuple[int, int]
) -> list[Item]:
    """An item for every term of a phrase, the joined one first."""
    phrase, end = match
    said = " ".join(word.said for word in words[at:end])
    return [Item(said, term, at, *place) for term in reversed(phrase.terms)]


def _loosely(
    match: tuple[Phrase, int], words: Sequence[Word], at: int, place: tuple[int, int]
) -> Item:
    """An item without a term of its own for a phrase that only widens a question."""
    phrase, end = match
    wide: dict[str, float] = {}
    _widen(wide, phrase)
    said = " ".join(word.said for word in words[at:end])
    return Item(said, "", at, *place, tuple(wide.items()))


def _places(words: Sequence[Word], lexicon: Lexicon) -> list[tuple[int, int]]:
    """The number of the clause and of the sentence that each word stands in."""
    part = sentence = 0
    places = []
    splitters = lexicon.listed("splitters")
    for word in words:
        sentence += word.gap == SENTENCE
        part += word.gap >= CLAUSE or word.said in splitters
        places.append((part, sentence))
    return places


def _term(words: Sequence[Word], at: int, lexicon: Lexicon) -> str:
    """What the word means by itself, unless it stands where that entry never holds."""
    stem = words[at].stem
    if stem[:1].isdigit():
        return _number_term(words, at)
    meant = lexicon.single.get(stem)
    if meant is None or _blocked(words, at, lexicon):
        return stem
    return meant


def _amount(words: Sequence[Word], at: int) -> tuple[tuple[str, float], ...]:
    """What a number with its unit says: that little pressure is left, or nothing."""
    said = words[at].said
    if not said[0].isdigit():
        return ()
    number = said.rstrip(_LETTERS)
    unit = said[len(number) :] or (words[at + 1].said if at + 1 < len(words) else "")
    value = number.replace(",", ".")
    if unit not in _LITTLE or not value.replace(".", "", 1).isdecimal():
        return ()
    share = float(value) / _LITTLE[unit]
    return FLAT if share <= FLAT_SHARE else SOFT if share <= 1.0 else ()


def _number_term(words: Sequence[Word], at: int) -> str:
    """The class of a voltage; "" for another number, so that no two pass for one.

    A code such as a tyre size is a word of its own.
    """
    said = words[at].said
    after = words[at + 1].said if at + 1 < len(words) else ""
    number = said.rstrip(_LETTERS)
    unit = said[len(number) :] or after
    if unit in {"v", "volt", "volts"}:
        return _VOLTS.get(number.partition(".")[0].partition(",")[0], "")
    return said if any(c.isdigit() for c in said.lstrip(_FIGURES)) else ""


def _blocked(words: Sequence[Word], at: int, lexicon: Lexicon) -> bool:
    """Whether the word stands in a phrase in which its entry does not apply."""
    stem = words[at].stem
    if stem not in lexicon.never:
        return False
    for block in lexicon.never.get(stem, ()):
        for offset, part in enumerate(block):
            start = at - offset
            if part == stem and start >= 0:
                there = [word.stem for word in words[start : start + len(block)]]
                if there == list(block):
                    return True
    return False


def _matches(
    words: Sequence[Word], level: Sequence[str], at: int, lexicon: Lexicon
) -> list[tuple[Phrase, int]]:
    """The phrases that begin at that word, each with the number of the word after."""
    found = []
    stem = level[at] or words[at].stem.lstrip(_FIGURES)
    for phrase in lexicon.beginning(stem, level, at) if stem else ():
        if phrase.kind in SENSES:
            continue
        end = ends(words, level, (at, phrase.stems), lexicon)
        if end:
            found.append((phrase, end))
    return [] if found and _blocked(words, at, lexicon) else found


def _widen(wide: dict[str, float], phrase: Phrase) -> None:
    """Add what one word loosely means; the best weight of a meaning counts."""
    weight = WEIGHT[phrase.kind]
    said = phrase.terms if phrase.kind == "short" else phrase.terms[-1:]
    for term in said if weight else ():
        wide[term] = max(wide.get(term, 0.0), weight)
    if phrase.cluster:
        loosely = CLUSTER[phrase.kind]
        wide[phrase.cluster] = max(wide.get(phrase.cluster, 0.0), loosely)
