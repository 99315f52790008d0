"""Which of a check's findings the person means by their own words.

Two things are weighed: the words that an answer and the typed text share, each with its
"not", a word that stands in every answer telling nothing; and whether both say yes or
both say no. An answer that all others are denied for gains by it.
"""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING, NamedTuple

from bot.match.negation import NOT, folded, scope
from bot.match.reading import Item, read
from bot.match.score import idf
from bot.match.spelling import near_in, respelt
from bot.match.text import GRAMMAR, clean, stem, words_of, words_set

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from bot.match.spelling import Others
    from bot.match.text import Word
    from bot.match.thesaurus import Thesaurus

YES = words_set(
    "yes yep yeah yea yup aye ya ja correct affirmative true indeed definitely sure ok"
    " okay y certainly absolutely yess positive"
)
NO = words_set(
    "no nope nah nay negative never none nothing n neither nowt nada zip nae nil noo"
    " false not"
)
"""First words that answer by themselves."""

SMALL = GRAMMAR - words_set(
    "all one other others more less same both each once still some much either every"
)
"""Words that tell nothing; in an answer, how many and which of them tell a lot."""

SHARED, TONE, LEFT = 7.0, 3.5, 3.0
"""What sharing all telling words, the same yes or no, and being the only answer that is
not denied count. Source: our choice, on our own cases."""

WEAK_NO = -0.5
"""What a "not" later in the text says: "the rear one does not move" is hardly a no."""

NEEDED = 1.5
"""Points at which an answer is as likely as that none is meant."""

UNKNOWN = 0.3
"""What a typed word weighs, against a shared one, that stands in no answer."""


class Choice(NamedTuple):
    """One of the options, by its number from 0, and how surely it is meant (0 to 1)."""

    number: int
    text: str
    sureness: float


class _Said(NamedTuple):
    """A short text: its telling terms, those it denies, its yes (1) or no (-1)."""

    terms: dict[str, float]
    denied: frozenset[str]
    tone: float


def choose(
    words: str, options: Sequence[str], thesaurus: Thesaurus
) -> tuple[Choice, ...]:
    """The options with how surely each is meant, the surest first.

    Together they come to 1 at most; what is missing says that none is meant.
    """
    answers = _toned([_said(folded_words(text), thesaurus) for text in options])
    spelt, others, _ = respelt(folded_words(words), thesaurus, _Vocabulary(options))
    typed = _said(spelt, thesaurus, others)
    points = _points(_settled(typed, answers), answers)
    raw = [exp(p) if p > 0.0 else 0.0 for p in points]
    whole = exp(NEEDED) + sum(raw)
    chosen = [Choice(n, text, raw[n] / whole) for n, text in enumerate(options)]
    return tuple(sorted(chosen, key=lambda c: (-c.sureness, c.number)))


def folded_words(text: str) -> tuple[Word, ...]:
    """The words of a text with every kind of "not" folded."""
    return folded(words_of(clean(text)[0]))


class _Vocabulary:
    """The words of the options, for misspelt ones to be compared with."""

    def __init__(self, options: Iterable[str]) -> None:
        texts = (words_of(clean(text)[0]) for text in options)
        self._words = {word.said for words in texts for word in words}

    def holds(self, stems: Collection[str]) -> Collection[str]:
        """Those of the stems that stand in an option."""
        return {stem(word) for word in self._words}.intersection(stems)

    def near(self, word: str) -> Iterable[str]:
        """Words of the options that begin or end alike and are about as long."""
        return near_in(self._words, word)


def _said(
    words: Sequence[Word], thesaurus: Thesaurus, others: Others | None = None
) -> _Said:
    """What a text says and denies; the answering first word is its tone."""
    items = read(words, thesaurus, others).items
    plain = tuple(_plain(item) for item in items)
    denied_at = {
        plain[j].at
        for i, item in enumerate(plain)
        if item.term == NOT
        for j in scope(plain, i)
    }
    terms: dict[str, float] = {}
    denied: set[str] = set()
    for item in plain:
        if item.term == NOT or item.said in SMALL or item.said in YES:
            continue
        for term, weight in ((item.term, 1.0), *item.wide):
            if term:
                terms[term] = max(terms.get(term, 0.0), weight)
                denied.update({term} if item.at in denied_at else ())
    return _Said(terms, frozenset(denied), _tone(words))


def _plain(item: Item) -> Item:
    """The item without the marks of a lost function or an absent fault."""
    return item._replace(term=item.term.removeprefix("abs:").removeprefix("no:"))


def _tone(words: Sequence[Word]) -> float:
    """Yes, no or neither, by the first word, or by a "not" anywhere."""
    if not words:
        return 0
    if words[0].said in YES:
        return 1.0
    if words[0].said in NO:
        return -1.0
    return WEAK_NO if any(word.stem == NOT for word in words) else 0.0


def _toned(answers: Sequence[_Said]) -> list[_Said]:
    """The answers, a lone "no" among two making the other one the "yes"."""
    denying = sum(answer.tone < 0 for answer in answers)
    if len(answers) == 2 and denying == 1:
        return [a._replace(tone=a.tone or 1.0) for a in answers]
    return list(answers)


def _settled(typed: _Said, answers: Sequence[_Said]) -> _Said:
    """What was typed; a "not" that an answer has as well is no "no"."""
    shared = any(typed.denied & answer.denied for answer in answers)
    return typed._replace(tone=0.0) if shared and typed.tone == WEAK_NO else typed


def _points(typed: _Said, answers: Sequence[_Said]) -> list[float]:
    """How much speaks for each answer; 0 or less: nothing."""
    weights = _weights(typed, answers)
    shares = [_share(typed, answer, weights) for answer in answers]
    points = []
    for n, (answer, share) in enumerate(zip(answers, shares, strict=True)):
        rest = [other for m, other in enumerate(shares) if m != n]
        left = bool(rest) and all(other < 0.0 for other in rest) and share >= 0.0
        points.append(SHARED * share + _same_tone(typed, answer, answers) + LEFT * left)
    return points


def _weights(typed: _Said, answers: Sequence[_Said]) -> dict[str, float]:
    """How telling each typed term is: rare among the answers tells more."""
    table = {}
    for term, weight in typed.terms.items():
        holding = sum(term in answer.terms for answer in answers)
        told = {(term in a.terms, term in a.denied) for a in answers}
        if len(told) > 1:
            table[term] = weight * idf(len(answers), holding)
    return table


def _share(typed: _Said, answer: _Said, weights: dict[str, float]) -> float:
    """The share of what was typed that the answer says, less what it denies."""
    if not weights:
        return 0.0
    total = 0.0
    for term, weight in weights.items():
        if term in answer.terms:
            same = (term in typed.denied) == (term in answer.denied)
            total += weight * answer.terms[term] * (1.0 if same else -1.0)
    top = max(weights.values())
    unknown = sum(term not in weights for term in typed.terms)
    return total / (sum(weights.values()) + UNKNOWN * top * min(unknown, 4))


def _same_tone(typed: _Said, answer: _Said, answers: Sequence[_Said]) -> float:
    """What yes and no say; a tone that several answers have is split among them."""
    alike = typed.tone * answer.tone
    if alike <= 0.0:
        return TONE * alike
    return TONE * alike / sum(other.tone * typed.tone > 0.0 for other in answers)
