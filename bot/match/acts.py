"""What a step of a page bids that can hurt somebody: a trained ear for acts.

Not words but what is bidden: "get its weight off that corner" lifts, "wipe the jack"
does not, and what is forbidden is not bidden. A linear model weighs what a sentence
says against what hobby mechanics wrote of each class (`kb/acts.wordings.txt`, weighed
by `tools/acts.py`). Only the linter asks it.
"""

from collections.abc import Mapping
from math import exp, sqrt
from typing import TYPE_CHECKING, NamedTuple

from bot.language.lexicon import NOT
from bot.language.mentions import Mention, mentions
from bot.language.negation import folded
from bot.language.text import Word, clean, words_of

if TYPE_CHECKING:
    from bot.language.lexicon import Lexicon

HARMLESS, REFUSED = "none", "refused"
"""The class of what hurts nobody, and that of what no page may bid."""

BOUND = 0.5
"""From so sure on an act is taken for dangerous. Fitted: `tools/acts.py`."""

REFUSED_BOUND = 0.28
"""So sure, and a sentence is refused, whatever else it may be. Chosen on sentences kept
apart (tests/acts): of 33 such 28 found, of 217 that are permitted 3 refused as well, of
235 harmless ones 1."""

FIRST, PAIR, APART, LETTERS, RUN = 1.0, 0.7, 0.5, 0.35, 4
"""What a first word, neighbours, words with one between and runs of letters count."""

FORBIDS = 2
"""A "not" among so many first words forbids what comes after. Our choice."""

Weights = Mapping[str, Mapping[str, float]]
"""By feature, by class, the weight; what each class starts with under ""."""


class Heard(NamedTuple):
    """A sentence of an author, read no farther than the ear looks."""

    words: tuple[Word, ...]
    mentions: tuple[Mention, ...]


def hear(sentence: str, lexicon: "Lexicon") -> Heard:
    """The words of a sentence, and what they mean."""
    words = folded(words_of(clean(sentence)[0], lexicon.forms), lexicon)
    return Heard(words, mentions(words, lexicon, {}))


class Act(NamedTuple):
    """A class of act, and how surely it is that one."""

    name: str
    sureness: float


def features(heard: Heard) -> dict[str, float]:
    """What the ear looks at, scaled to length 1: words, neighbours, senses, letters."""
    words = [word.stem or word.said for word in heard.words]
    found: dict[str, float] = {f"w:{word}": 1.0 for word in words}
    found |= {f"f:{word}": FIRST for word in words[:1]}
    for apart, mark, value in ((1, "b", PAIR), (2, "s", APART)):
        for at in range(apart, len(words)):
            found[f"{mark}:{words[at - apart]} {words[at]}"] = value
    for mention in heard.mentions:
        for sense, weight in mention.senses:
            found[f"m:{sense}"] = max(found.get(f"m:{sense}", 0.0), weight)
    for word in heard.words:
        framed = f"<{word.said}>"
        for start in range(len(framed) - RUN + 1):
            found[f"c:{framed[start : start + RUN]}"] = LETTERS
    length = sqrt(sum(value * value for value in found.values())) or 1.0
    return {name: value / length for name, value in found.items()}


def acts(sentence: str, lexicon: "Lexicon", ear: Weights) -> tuple[Act, ...]:
    """The dangerous acts that a sentence may bid, likeliest first; () for none."""
    heard = hear(sentence, lexicon)
    if any(word.stem == NOT for word in heard.words[:FORBIDS]):
        return ()
    scores: dict[str, float] = dict(ear.get("", {}))
    for name, value in features(heard).items():
        for act, weight in ear.get(name, {}).items():
            scores[act] = scores.get(act, 0.0) + weight * value
    if HARMLESS not in scores:
        return ()
    top = max(scores.values())
    raw = {act: exp(score - top) for act, score in scores.items()}
    whole = sum(raw.values())
    if 1.0 - raw.pop(HARMLESS) / whole < BOUND:
        return ()
    ranked = sorted(raw, key=lambda act: -raw[act])
    return tuple(Act(act, raw[act] / whole) for act in ranked)


MOST_RINGING, LEAST_RINGING = 2, 4
"""So many words are told of a sentence, and so many letters they have at least."""
JOINING = frozenset(
    ("until", "with", "from", "that", "this", "then", "when", "into", "over", "while")
)
"""Words that mean nothing to an author, though the ear may weigh them."""


def rings(sentence: str, lexicon: "Lexicon", ear: Weights, act: str) -> tuple[str, ...]:
    """The words of a sentence that speak most for an act, in their order."""
    heard = hear(sentence, lexicon)
    told = [w for w in heard.words if len(w.said) >= LEAST_RINGING]
    told = [word for word in told if word.said not in JOINING]
    speaks = dict.fromkeys((w.said for w in told), 0.0)
    for name, value in features(heard).items():
        weights = ear.get(name, {})
        gain = value * (weights.get(act, 0.0) - weights.get(HARMLESS, 0.0))
        kind, _, of = name.partition(":")
        parts = of.split(" ") if kind in "wfbs" else ()
        for word in told:
            hits = (word.stem or word.said) in parts or (
                kind == "c" and of in f"<{word.said}>"
            )
            speaks[word.said] += gain / max(1, len(parts)) if hits else 0.0
    most = sorted(speaks, key=lambda word: -speaks[word])[:MOST_RINGING]
    return tuple(word for word in speaks if word in most)
