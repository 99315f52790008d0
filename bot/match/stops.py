"""Which stop rules the words raise: before any ranking, and whatever its score.

A rule is raised when what one of its signs tells stands close together in one sentence.
Spelling, synonyms and "not" are understood as everywhere in this room: "no smoke"
raises nothing, "no brakes" does. A missed rule is the worst mistake, so a long sign
may lack a word; a false one costs a sentence.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from bot.match.negation import NOT, folded
from bot.match.reading import Item, read
from bot.match.spelling import near_in, respelt
from bot.match.text import GRAMMAR, clean, stem, words_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from bot.match.thesaurus import Thesaurus
    from bot.model import StopRule

WINDOW = 7
"""Words that may stand between and around what a sign tells. Source: our choice."""

LEAST_WEIGHT = 0.45
"""A meaning that counts less does not raise a rule."""

NEEDED = {1: 1.0, 2: 1.5, 3: 2.1, 4: 2.6, 5: 3.2}
NEEDED_SHARE = 0.65
"""How much of what a sign of that many telling words says must be met; a word by itself
counts 1, a loose meaning less. So two words may hold one loose one, and only from four
on may one be missing. Source: our choice, by leaving single signs out of the rules and
asking for them, against the signs of ordinary cards."""


class Told(NamedTuple):
    """A phrase of a rule: its text, and the terms that say each thing it tells."""

    text: str
    slots: tuple[tuple[str, ...], ...]


class StopRecord(NamedTuple):
    """A stop rule as the matcher keeps it."""

    id: str
    title: str
    signs: tuple[Told, ...]
    unless: tuple[Told, ...]
    words: tuple[str, ...]
    stems: tuple[str, ...]


class StopHit(NamedTuple):
    """A rule that was raised, and why in plain English."""

    rule: str
    title: str
    why: str


def stop_record(rule: StopRule, thesaurus: Thesaurus) -> StopRecord:
    """What the matcher keeps of a stop rule."""
    texts = (*rule.signs, *rule.unless)
    found = {w.said for text in texts for w in words_of(clean(text)[0])}
    words = sorted(w for w in found if w.isalpha() and len(w) > 2)
    return StopRecord(
        rule.id,
        rule.title,
        tuple(told(text, thesaurus) for text in rule.signs),
        tuple(told(text, thesaurus) for text in rule.unless),
        tuple(words),
        tuple(sorted({stem(w) for w in words})),
    )


def told(text: str, thesaurus: Thesaurus) -> Told:
    """What a phrase tells: a slot for each telling word, with the terms that say it."""
    items = read(folded(words_of(clean(text)[0])), thesaurus).items
    lost = {item.at for item in items if item.term.startswith("no:")}
    used = lost or any(item.term.startswith("abs:") for item in items)
    slots: dict[int, set[str]] = {}
    for item in items:
        if item.weight < 1.0 or item.said in GRAMMAR or (item.term == NOT and used):
            continue
        if item.at in lost and not item.term.startswith("no:"):
            continue
        if item.term:
            slots.setdefault(item.at, set()).update(_accepted(item, items))
    return Told(text, tuple(tuple(sorted(s)) for s in slots.values() if s))


def _accepted(item: Item, items: Sequence[Item]) -> Iterable[str]:
    """The terms that say the same as this item; of a joined term only the whole."""
    joined = any("_" in other.term for other in items if other.at == item.at)
    if joined and "_" not in item.term:
        return ()
    return (item.term, *(t for t, _ in item.wide if t.startswith("~")))


class _Words:
    """The words of the rules, for misspelt ones to be compared with."""

    def __init__(self, rules: Sequence[StopRecord]) -> None:
        self._rules = rules

    def holds(self, stems: Collection[str]) -> Collection[str]:
        """Those of the stems that stand in a rule."""
        return {s for s in stems if any(s in rule.stems for rule in self._rules)}

    def near(self, word: str) -> Iterable[str]:
        """Words of the rules that begin or end alike and are about as long."""
        return near_in({w for rule in self._rules for w in rule.words}, word)


def raised(
    words: str, rules: Sequence[StopRecord], thesaurus: Thesaurus
) -> tuple[StopHit, ...]:
    """The rules that the words raise, in the order of the rules."""
    plain = folded(words_of(clean(words)[0]))
    spelt, others, _ = respelt(plain, thesaurus, _Words(rules))
    sentences: dict[int, Said] = {}
    for item in read(spelt, thesaurus, others).items:
        said = sentences.setdefault(item.sentence, {})
        for term, weight in (*item.wide, (item.term, item.weight)):
            if weight >= LEAST_WEIGHT:
                said.setdefault(term, []).append((item.at, weight, item.said))
    hits = (_hit(rule, list(sentences.values())) for rule in rules)
    return tuple(hit for hit in hits if hit is not None)


Place = tuple[int, float, str]
"""Where a term stands in a text, what it counts there, and the words it was said in."""

Said = dict[str, list[Place]]
"""A sentence: the places of each of its terms."""


def _hit(rule: StopRecord, sentences: Iterable[Said]) -> StopHit | None:
    """Why the rule is raised, or None."""
    for said in sentences:
        if any(_found(phrase, said, exactly=True) for phrase in rule.unless):
            continue
        for sign in rule.signs:
            words = _found(sign, said)
            if words:
                quoted = ", ".join(f'"{word}"' for word in words)
                why = f'{quoted} met the sign "{sign.text}"'
                return StopHit(rule.id, rule.title, why)
    return None


def _found(sign: Told, said: Said, *, exactly: bool = False) -> tuple[str, ...]:
    """The words that tell what the sign tells, close together; () when they do not."""
    wanted = len(sign.slots)
    needed = float(wanted) if exactly else _needed(wanted)
    places: list[list[Place]] = []
    missing = 0
    for slot in sign.slots:
        found = [place for term in slot if term in said for place in said[term]]
        missing += not found
        if wanted - missing < needed:
            return ()
        places.append(found)
    return _together(places, needed) if wanted else ()


def _needed(wanted: int) -> float:
    """How much must be met of a sign that tells so many things."""
    return NEEDED.get(wanted, NEEDED_SHARE * wanted)


def _together(places: Sequence[Sequence[Place]], needed: float) -> tuple[str, ...]:
    """The words that meet enough of the places close together, none used twice."""
    reach = len(places) + WINDOW
    for start in sorted({at for found in places for at, _, _ in found}):
        used: dict[int, str] = {}
        total = 0.0
        for found in sorted(places, key=len):
            inside = [p for p in found if start <= p[0] < start + reach]
            best = max(
                (p for p in inside if p[0] not in used), default=None, key=_worth
            )
            if best:
                used[best[0]] = best[2]
                total += best[1]
        if total >= needed:
            return tuple(dict.fromkeys(used[at] for at in sorted(used)))
    return ()


def _worth(place: Place) -> tuple[float, int]:
    """What a place counts; of two alike the earlier."""
    return place[1], -place[0]
