"""What a page that is begun is like, and what in it tells of people."""

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from typing import NamedTuple

from bot.club.leaving import finds
from bot.language.lexicon import Lexicon
from bot.language.line import listen, wording
from bot.match.features import clause_weights
from bot.match.likeness import by_wordings, gathered
from bot.match.rank import rank
from bot.model.card import Card
from bot.model.pages import Procedure
from bot.store.index import CardIndex

# What tells of people

_WORD = re.compile(r"(?<![\w'])[^\W\d_]{3,}(?!\w)")
_BEGINS = re.compile(r"(?:\A|[.!?:;\n\"(])[\s'\"(]*\Z")


def names_in(said: Iterable[str], index: CardIndex) -> tuple[str, ...]:
    """Words with a capital that may be names of people or places, each once.

    Within a sentence every such word; at its beginning one that is neither plain
    English nor on any page.
    """
    found: dict[str, None] = {}
    for words in said:
        for word in _WORD.finditer(words):
            begins = _BEGINS.search(words[: word.start()])
            if _has_a_capital(word[0]) and not (begins and _is_common(word[0], index)):
                found.setdefault(word[0])
    return tuple(found)


def _has_a_capital(word: str) -> bool:
    return word[0].isupper() and not word.isupper() and word.lower() not in _DAYS


_DAYS = frozenset(
    (
        "monday",
        "tuesday",
        "wednesday",
        "thursday",
        "friday",
        "saturday",
        "sunday",
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    )
)


def _is_common(word: str, index: CardIndex) -> bool:
    small = word.lower()
    return bool(index.english([small]) or index.holds([index.lexicon.stem(small)]))


def telling(
    text: str, said: Sequence[str], index: CardIndex
) -> Iterator[tuple[int, str]]:
    """What in a draft tells of somebody, or may not leave: its line, and what."""
    for found in finds(text):
        yield found.line, f"{found.what}: '{found.quote}'"
    names = [re.compile(rf"(?<!\w){re.escape(n)}(?!\w)") for n in names_in(said, index)]
    for number, line in enumerate(text.split("\n"), 1):
        met = [hit[0] for name in names if (hit := name.search(line))]
        if met:
            yield number, f"may be a name: {', '.join(met)}"


# What is like it


class Likened(NamedTuple):
    """The texts by which a page is compared: title and signs, and names of causes."""

    signs: tuple[str, ...]
    causes: tuple[str, ...] = ()


ALIKE_BY_WORDS = 0.5
"""From such a chance on, that its words mean a page, the page is told."""

ALIKE_AS_WRITTEN = 0.8
"""So alike, in the mean, its lines must be to those of a page, the signs together
counting as much as the causes. Both are our choice: of 120 labelled complaints they
tell the right page for 79 and a wrong one for 3, of 54 that no page is about, one for
10; and each of 40 pages for a copy of it."""

FEWEST_WORDS = 3
"""Shorter lines are like too much."""

MOST_ALIKE = 3


class Like(NamedTuple):
    """A page that another is much like, and how much, 0 to 1."""

    page: str
    how: float


def like(
    likened: Likened,
    index: CardIndex,
    page: Callable[[str], object],
    but: Collection[str] = (),
) -> tuple[Like, ...]:
    """The pages that another is much like, most first, at most three.

    By the chance that its words mean them, as for a complaint; and line by line by what
    is said and how it is spelt: title and signs beside theirs, causes beside theirs.

    Args:
        likened: the texts of the new page.
        index: the shelf.
        page: the page with an id.
        but: ids that are not told.
    """
    if not likened.signs:
        return ()
    ranked = rank(". ".join(likened.signs), index).cards
    found: list[Like] = []
    for candidate in ranked:
        held = page(candidate.card)
        if candidate.card in but or not isinstance(held, Card | Procedure):
            continue
        written = _as_written(likened, held, index)
        chance = candidate.probability
        how = max(
            chance if chance >= ALIKE_BY_WORDS else 0.0,
            written if written >= ALIKE_AS_WRITTEN else 0.0,
        )
        found += [Like(candidate.card, how)] if how else []
    return tuple(sorted(found, key=lambda one: -one.how)[:MOST_ALIKE])


def _as_written(likened: Likened, held: Card | Procedure, index: CardIndex) -> float:
    """How alike the lines of two pages are in the mean, 0 to 1."""
    names = tuple(c.name for c in held.causes) if isinstance(held, Card) else ()
    called = (held.title, held.id.replace("-", " "))
    pairs = ((likened.signs, (*called, *held.signs)), (likened.causes, names))
    scores = [_mean(mine, theirs, index.lexicon) for mine, theirs in pairs]
    told = [score for score in scores if score is not None]
    return sum(told) / len(told) if told else 0.0


def _mean(mine: Sequence[str], theirs: Sequence[str], lexicon: Lexicon) -> float | None:
    """How alike some lines are to the nearest of others; None where none can tell."""
    written = [wording(text, lexicon) for text in theirs]
    scores: list[float] = []
    for text in mine:
        line = listen(text, lexicon)
        if len(line.words) < FEWEST_WORDS:
            continue
        weights = clause_weights(line)
        said = [
            (mention, weight)
            for clause, weight in zip(line.clauses, weights, strict=True)
            for mention in clause.mentions
        ]
        scores.append(max(by_wordings(line, gathered(said), written, lexicon)))
    return sum(scores) / len(scores) if scores else None
