"""How two mentions bear on each other: the same, narrower, broader, opposite."""

from bot.language.lexicon import Lexicon, Sense
from bot.language.line import Line
from bot.language.mentions import Mention

SAME, NARROWER, BROADER, OPPOSITE = 1.0, 0.8, 0.5, -1.0
"""What it counts that a mention says the same, something narrower ("fizz" where
"bubbles" stand), something broader, or the opposite. Source: our choice."""

NOT_THE_OTHER = 0.6
"""What a denial counts for the opposite: "not wet" is nearly dry, "not hot" hardly
cold. Source: our choice."""

BOTH_NOT = 0.25
"""What it counts against each other that two opposites are both denied."""

MOST_KEPT = 100_000
"""So many pairs of mentions are remembered before all are forgotten."""


def relation(one: str, other: str, lexicon: Lexicon) -> float:
    """How a sense bears on another: 1 the same, -1 the opposite, 0 nothing."""
    senses = lexicon.senses
    return _relation(one, senses.get(one), other, senses.get(other))


def _relation(one: str, mine: Sense | None, other: str, theirs: Sense | None) -> float:
    if one == other:
        return SAME
    if mine is None:
        return 0.0 if theirs is None else _by_theirs(one, theirs)
    if other in mine.against or (theirs and mine.against & theirs.so):
        return OPPOSITE
    if theirs and one in theirs.against:
        return OPPOSITE
    if other in mine.so:
        return NARROWER
    return BROADER if theirs and one in theirs.so else 0.0


def _by_theirs(one: str, theirs: Sense) -> float:
    """How a sense that has no relations of its own bears on one that has."""
    if one in theirs.against:
        return OPPOSITE
    return BROADER if one in theirs.so else 0.0


def bearing(typed: Mention, written: Mention, lexicon: Lexicon) -> float:
    """How what was typed bears on what is written, denials counted: from -1 to 1."""
    kept = lexicon.senses.met
    key = (typed.senses, written.senses)
    found = kept.get(key)
    if found is None:
        if len(kept) >= MOST_KEPT:
            kept.clear()
        found = kept[key] = _bearing(typed, written, lexicon)
    if typed.denied == written.denied:
        return found if found > 0.0 or not typed.denied else BOTH_NOT * found
    if found > 0.0 and BROADER > found >= 0.0:
        return -found
    return -found if found > 0.0 else -NOT_THE_OTHER * found


def _bearing(typed: Mention, written: Mention, lexicon: Lexicon) -> float:
    """The strongest relation of their senses, denials apart."""
    senses = lexicon.senses
    read = [(other, weight, senses.get(other)) for other, weight in written.senses]
    best = worst = 0.0
    for one, mine in typed.senses:
        own = senses.get(one)
        for other, theirs, its in read:
            found = _relation(one, own, other, its) * mine * theirs
            if found > best:
                best = found
            elif found < worst:
                worst = found
    return best if best >= -worst else worst


def bears_on(typed: Line, written: Line, lexicon: Lexicon) -> tuple[float, float]:
    """The most that a line says for what is written, and the most against it (below 0).

    A part that both name says neither: "the brakes are fine" is no "brakes are gone".
    """
    found = [
        bearing(mine, theirs, lexicon)
        for mine in typed.mentions
        for theirs in written.mentions
        if mine.denied or not is_part(mine, lexicon)
    ]
    return max(found, default=0.0), min(found, default=0.0)


def is_part(mention: Mention, lexicon: Lexicon) -> bool:
    """Whether it names a part and not a state."""
    return any(s in lexicon.parts for s, weight in mention.senses if weight >= 1.0)
