"""Frames of a stop rule: "hub, drum with smoke, glow" is met by one of each together.

A sign is one way of telling a danger; a frame is hundreds. So a wording in a frame is
taken at its word, in that order and with at most two small words between: a word's
loose meanings, which serve a single sign well, would meet far too much here. Endings,
spelling and exact synonyms do not matter, and a wording that is denied is not met.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from bot.language.lexicon import NOT, Lexicon
from bot.language.negation import folded
from bot.language.reading import Others
from bot.language.text import CLAUSE, Word, clean, words_of
from bot.match.gauge import figures, words_set

REACH = 14
"""Words over which what a frame puts together may be spread. Source: our choice."""

DENIED_BY = 3
"""So many words before a wording, small ones not counted, a "not" denies it."""

MOST_SKIPPED = 2
"""Words that may stand between those of a wording."""

SURE_SPELLING = 0.75
"""Readings of a misspelt word that count less are not taken at their word."""

SMALL = words_set(
    "a an the my his our their your is are was were be been very quite so"
)
"""Words of a wording that need not be said."""

CHANGED = words_set("gone going went drove driven ran run lost stood trod rode")
"""Forms that a frame takes for themselves alone, not for all forms of the word."""

WELL = words_set("fine ok okay normal perfect cool cold")
"""Said of a thing right after its name, nothing is wrong with it."""

QUIT = frozenset({"stop", "quit", "ceas"})


class Heard(NamedTuple):
    """A word as it is compared: what it may be taken for, and its clause's number."""

    said: str
    forms: frozenset[str]
    small: bool
    part: int


def compiled(frame: Sequence[Sequence[str]], lexicon: Lexicon) -> str:
    """A frame as one text: ";" between groups, "/" between wordings, stems with blanks.

    A wording of small words only is left out.
    """
    groups = (
        "/".join(dict.fromkeys(filter(None, (_stems(w, lexicon) for w in group))))
        for group in frame
    )
    return ";".join(groups)


def _stems(wording: str, lexicon: Lexicon) -> str:
    """The stems of a wording that must be said; of a figure its class."""
    words = folded(words_of(clean(wording)[0], lexicon.forms), lexicon)
    all_ = heard(words, lexicon, {})
    kept = [_form(h) for h in all_ if not h.small]
    return "" if kept == [NOT] else " ".join(kept)


def _form(word: Heard) -> str:
    """What stands for a word: of "gone" itself, since "going" says something else."""
    return (
        word.said
        if word.said in CHANGED
        else min(word.forms - {word.said} or word.forms)
    )


def heard(words: Sequence[Word], lexicon: Lexicon, others: Others) -> tuple[Heard, ...]:
    """A text's words, negatives folded, as frames compare them.

    A figure with its unit is taken for its class alone.
    """
    told = {item.at: item.term for item in reversed(list(figures(words)))}
    units = {at + 1 for at in told if words[at].said.isdigit()}
    out = []
    part = 0
    for at, word in enumerate(words):
        part += word.gap >= CLAUSE
        forms = {lexicon.single.get(word.stem, word.stem)}
        forms |= {word.said} & CHANGED
        forms |= {t for t, weight in others.get(at, ()) if weight >= SURE_SPELLING}
        if told.get(at, "").startswith("#"):
            forms = {told[at]}
        small = word.said in SMALL or at in units
        out.append(Heard(word.said, frozenset(forms), small, part))
    return tuple(out)


def met(groups: str, words: Sequence[Heard], first: int) -> dict[int, str]:
    """The words, by place, that meet a wording of every group closest together.

    Args:
        groups: a frame as `compiled` gave it.
        words: the stretch of talk that is looked at.
        first: the place in the whole text of its first word.

    Returns:
        Place in the whole text -> word; empty when a group is not met.
    """
    combined: list[tuple[int, ...]] = [()]
    for group in groups.split(";"):
        places = [at for w in group.split("/") for at in _places(w.split(), words)]
        combined = [
            (*before, *at)
            for before in combined
            for at in places
            if not set(before).intersection(at)
            and max((*before, *at)) - min((*before, *at)) <= REACH
        ]
    best = min(combined, key=lambda c: (max(c) - min(c), c), default=())
    return {first + at: words[at].said for at in sorted(best)}


def said(wording: str, words: Sequence[Heard]) -> list[tuple[int, ...]]:
    """Where a wording, as `compiled` gave it, is said: the places of its words."""
    return list(_places(wording.split(), words))


def _places(
    wording: Sequence[str], words: Sequence[Heard]
) -> Iterator[tuple[int, ...]]:
    """Where a wording is said and not denied: the places of its words."""
    if not wording:
        return
    for start, word in enumerate(words):
        if wording[0] in word.forms:
            found = _from(wording, words, start)
            denied = wording[0] != NOT and _denied(words, start)
            if found and not denied and not _is_well(words, found[-1]):
                yield found


def _is_well(words: Sequence[Heard], last: int) -> bool:
    """Whether a thing is said to be well: "the wheel is fine"."""
    after = words[last + 1 : last + 3]
    return any(word.said in WELL and word.part == words[last].part for word in after)


def _from(
    wording: Sequence[str], words: Sequence[Heard], start: int
) -> tuple[int, ...]:
    """The places of a wording's words from its first on; empty when it breaks off."""
    found = [start]
    at = start + 1
    for stem in wording[1:]:
        skipped = 0
        while at < len(words) and stem not in words[at].forms:
            skipped += 1
            if skipped > MOST_SKIPPED:
                return ()
            at += 1
        if at >= len(words) or words[at].part != words[start].part:
            return ()
        found.append(at)
        at += 1
    return tuple(found)


def _denied(words: Sequence[Heard], start: int) -> bool:
    """Whether a "not" reaches the word; "won't stop smoking" denies nothing."""
    counted = 0
    for at in range(start - 1, -1, -1):
        if words[at].part != words[start].part or counted >= DENIED_BY:
            return False
        if NOT in words[at].forms:
            between = words[at + 1 : start]
            return not any(QUIT & word.forms for word in between)
        counted += not words[at].small
    return False
