"""What a figure with its unit tells of danger, and what a bare "nothing" tells.

A tyre that is spent, brake air at its warning, a hub that burns.
"""

from collections.abc import Iterable, Sequence

from bot.language.lexicon import NOT
from bot.language.reading import Item
from bot.language.text import SENTENCE, Word


def words_set(text: str) -> frozenset[str]:
    """The different words of a text written in small letters."""
    return frozenset(text.split())


PRESSURES = {
    "psi": 1.0,
    "lbs": 1.0,
    "lb": 1.0,
    "pound": 1.0,
    "pounds": 1.0,
    "bar": 14.5,
    "bars": 14.5,
    "kpa": 0.145,
}
"""Units of pressure in psi."""
SPENT = 12.0
"""Up to so many psi there is next to nothing in a tyre. Source: common practice."""
WARNED = 65.0
"""Up to so many psi brake air is at its warning; the warning itself stands at 60 psi
(US FMVSS 121, from memory), or a little higher on European trucks."""
HEATS = {
    "c": 120.0,
    "degc": 120.0,
    "celsius": 120.0,
    "centigrade": 120.0,
    "deg": 120.0,
    "degree": 120.0,
    "degrees": 120.0,
    "f": 250.0,
    "degf": 250.0,
    "fahrenheit": 250.0,
}
"""From so many degrees on a hub is far too hot. Source: common practice."""
NOTHING = words_set("nothing nowt nada zero none zilch")
DOES = words_set("do does did doing done")
NUMBERS = {
    "zero": 0.0,
    "one": 1.0,
    "two": 2.0,
    "three": 3.0,
    "four": 4.0,
    "five": 5.0,
    "six": 6.0,
    "seven": 7.0,
    "eight": 8.0,
}
NOT_BRAKE_AIR = words_set(
    """
    tyre tyres tire tires wheel wheels rim cti ctis tread valve fuel oil boost coolant
    diesel injector sand spare overnight night days week water
    """
)
"""In a sentence with one of these a figure is not taken for brake air."""

THERMOMETERS = words_set("thermometer infrared laser pyrometer gun degrees celsius")
"""In a sentence with one of these a figure without a unit is one of degrees."""

_LETTERS = 'abcdefghijklmnopqrstuvwxyz%"'


def figures(words: Sequence[Word]) -> Iterable[Item]:
    """What figures with a unit say, as terms with a "#"; and what "nothing" says."""
    sentence = 0
    for i, word in enumerate(words):
        sentence += word.gap == SENTENCE
        if word.stem == NOT and _nothing_at_all(words, i):
            yield Item(word.said, "no:work", i, 0, sentence)
        number = word.said.rstrip(_LETTERS) if word.said[0].isdigit() else ""
        if not number and word.said not in NUMBERS:
            continue
        after = words[i + 1].said if i + 1 < len(words) else ""
        unit = (word.said[len(number) :] if number else "") or after
        if unit not in HEATS and unit not in PRESSURES and _measures_heat(words, i):
            unit = "degrees"
        term = _class_of(number or word.said, unit)
        if term == "#warned" and _elsewhere(words, i):
            continue
        if term:
            told = word.said.endswith(unit) or unit not in {after, ""}
            said = word.said if told else f"{word.said} {unit}"
            yield Item(said, term, i, 0, sentence)
            if term == "#spent" and not _elsewhere(words, i):
                yield Item(said, "#warned", i, 0, sentence)


def _nothing_at_all(words: Sequence[Word], at: int) -> bool:
    """Whether it is "does nothing"; or "nothing" by itself, as an answer."""
    said = words[at].said
    if said.split()[-1] not in NOTHING:
        return False
    alone = words[at].gap and (at + 1 == len(words) or words[at + 1].gap)
    return bool(alone) or said.split()[0] in DOES


def _class_of(number: str, unit: str) -> str:
    """The term for a figure; "" when it says nothing here."""
    plain = number.replace(",", ".")
    if unit not in PRESSURES and unit not in HEATS:
        return ""
    if "/" in plain or plain.count(".") > 1:
        return ""
    value = NUMBERS[plain] if plain in NUMBERS else float(plain)
    if unit in HEATS:
        return "#burns" if value >= HEATS[unit] else ""
    psi = value * PRESSURES[unit]
    return "#spent" if psi <= SPENT else "#warned" if psi <= WARNED else ""


def _elsewhere(words: Sequence[Word], at: int) -> bool:
    """Whether the sentence of that word speaks of other things than brake air."""
    return any(word.said in NOT_BRAKE_AIR for word in _sentence(words, at))


def _measures_heat(words: Sequence[Word], at: int) -> bool:
    """Whether the sentence of that word speaks of a thermometer."""
    return any(word.said in THERMOMETERS for word in _sentence(words, at))


def _sentence(words: Sequence[Word], at: int) -> Sequence[Word]:
    """The words of the sentence that the word at that place stands in."""
    first = last = at
    while first and words[first].gap < SENTENCE:
        first -= 1
    while last + 1 < len(words) and words[last + 1].gap < SENTENCE:
        last += 1
    return words[first : last + 1]
