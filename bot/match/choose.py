"""Which of a check's findings the person means by their own words.

First a place: "number two", "the last one". Then two things are weighed: the words that
an answer and the typed text share, singly and in pairs, each with its "not", a word
that stands in every answer telling nothing; and whether both say yes or both say no. An
answer that all others are denied for gains by it, and one of which a whole clause was
said. `volunteered` is for what nobody asked about: there nearly all words must agree.
"""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING, NamedTuple

from bot.language.lexicon import NOT
from bot.language.negation import folded, scope
from bot.language.reading import Item, read
from bot.language.spelling import near_in, respelt
from bot.language.text import clean, cut, words_of
from bot.match.score import idf


def words_set(text: str) -> frozenset[str]:
    """The different words of a text written in small letters."""
    return frozenset(text.split())


if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from bot.language.lexicon import Lexicon
    from bot.language.spelling import Others
    from bot.language.text import Word

YES = words_set(
    "yes yep yeah yea yup aye ya ja correct affirmative true indeed definitely sure ok"
    " okay y certainly absolutely yess positive"
)
NO = words_set(
    "no nope nah nay negative never none nothing n neither nowt nada zip nae nil noo"
    " false not zilch"
)
"""First words that answer by themselves."""

AMOUNTS = words_set(
    "all one other others more less same both each once still some much either every"
)
WHEREVER = words_set("anywher everywher whatev her ther just now then at all")
"""Stems that tell nothing when a fact is volunteered."""

PLACES = (
    words_set("1 1st first one top"),
    words_set("2 2nd second two"),
    words_set("3 3rd third three"),
    words_set("4 4th fourth four"),
    words_set("5 5th fifth five"),
    words_set("6 6th sixth six"),
    words_set("7 7th seventh seven"),
)
LAST = words_set("last bottom final")
AROUND = words_set(
    "number no nr option answer choice finding line point the a one its it is that"
    " thats this i id say pick choose take think would be on list from please"
)
"""Words that name an answer by its place, and those that may stand around them."""

CHAT = words_set(
    "hang hold wait on a an sec second minute moment what do you mean why how sorry"
    " pardon eh huh er um hm hmm please the is that this it i there"
)
"""Words that ask for time, or back."""

GONE = words_set("missing gone absent vanished disappeared stopped stops")
"""Words that deny what stands before them: "the belt is gone"."""

SHARED, TONE, LEFT, CLAUSE = 7.0, 3.5, 3.0, 2.5
"""What sharing all telling words, the same yes or no, being the only answer that is not
denied, and having a whole clause said count. Source: our choice, on our own cases."""

PAIR = 0.6
"""What two telling words side by side count beside one."""

WEAK_NO = -0.5
"""What a "not" later in the text says: "the rear one does not move" is hardly a no."""

NO_SUCH = -0.7
"""What "No bubbles" says as an answer, beside "No, ..."."""

NEEDED = 1.5
"""Points at which an answer is as likely as that none is meant."""

UNKNOWN = 0.3
"""What a typed word weighs, against a shared one, that stands in no answer."""

BY_PLACE = 0.97
STRETCH = 3
"""So many words in a row of one option alone are that option."""

AGREE = 0.75
FEWEST = 2
CLEARLY = 0.1
"""A volunteered fact and a finding must share that much of each other, and that many
telling words, a "not" being one; and no other finding as much. Source: our choice; a
wrong one costs the person's trust."""


class Choice(NamedTuple):
    """One of the options, by its number from 0, and how surely it is meant (0 to 1)."""

    number: int
    text: str
    sureness: float


class _Said(NamedTuple):
    """A short text: its telling terms, those it denies, its yes (1) or no (-1).

    `clauses`: the telling terms of each part, without their loose meanings.
    """

    terms: dict[str, float]
    denied: frozenset[str]
    tone: float
    clauses: tuple[frozenset[str], ...] = ()


def choose(words: str, options: Sequence[str], lexicon: Lexicon) -> tuple[Choice, ...]:
    """The options with how surely each is meant, the surest first.

    Together they come to 1 at most; what is missing says that none is meant.
    """
    typed_words = folded_words(words, lexicon)
    place = _verbatim(words, options)
    if place is None:
        place = _place(typed_words, options)
    if place is not None:
        sure = [BY_PLACE if n == place else 0.0 for n in range(len(options))]
        return _ranked(sure, options)
    if all(word.said in CHAT for word in typed_words):
        return _ranked([0.0] * len(options), options)
    answers = _toned([_answer(text, lexicon) for text in options])
    spelt, others, _ = respelt(typed_words, lexicon, _Vocabulary(options))
    typed = _said(spelt, lexicon, others)
    points = _points(_settled(typed, answers), answers)
    raw = [exp(p) if p > 0.0 else 0.0 for p in points]
    whole = exp(NEEDED) + sum(raw)
    return _ranked([value / whole for value in raw], options)


def volunteered(words: str, options: Sequence[str], lexicon: Lexicon) -> Choice | None:
    """The option that a clause of a story states outright, or None.

    Nearly all telling words of a clause must be in one of the option, and the reverse,
    with the same "not"; loose meanings do not count, and no second option may agree.
    """
    spelt, others, _ = respelt(
        folded_words(words, lexicon), lexicon, _Vocabulary(options)
    )
    typed = _said(spelt, lexicon, others)
    stated = [_marked(clause, typed.denied) for clause in typed.clauses]
    if len(stated) > 1:
        stated.append(frozenset().union(*stated))
    found = []
    for number, text in enumerate(options):
        answer = _said(folded_words(text, lexicon), lexicon)
        told = [_marked(clause, answer.denied) for clause in answer.clauses]
        agreed = max((_agreement(s, t) for s in stated for t in told), default=0.0)
        if agreed >= AGREE:
            found.append(Choice(number, text, agreed))
    found.sort(key=lambda c: -c.sureness)
    if len(found) > 1 and found[1].sureness > found[0].sureness - CLEARLY:
        return None
    return found[0] if found else None


def _marked(clause: frozenset[str], denied: frozenset[str]) -> frozenset[str]:
    """The telling terms of a clause, those that are denied marked."""
    kept = (term for term in clause if " " not in term and term not in WHEREVER)
    return frozenset("no " + term if term in denied else term for term in kept)


def _agreement(stated: frozenset[str], told: frozenset[str]) -> float:
    """The lesser share that a clause and one of an answer have of each other."""
    common = stated & told
    weight = len(common) + sum(term.startswith("no ") for term in common)
    if weight < FEWEST:
        return 0.0
    return min(len(common) / len(stated), len(common) / len(told))


def _ranked(sure: Sequence[float], options: Sequence[str]) -> tuple[Choice, ...]:
    chosen = [Choice(n, text, sure[n]) for n, text in enumerate(options)]
    return tuple(sorted(chosen, key=lambda c: (-c.sureness, c.number)))


def _verbatim(text: str, options: Sequence[str]) -> int | None:
    """The only option that the text repeats, or repeats a stretch of, or None."""
    typed = _plain_words(text)
    texts = [_plain_words(option) for option in options]
    same = [n for n, option in enumerate(texts) if option == typed != "  "]
    if not same and typed.count(" ") > STRETCH:
        same = [n for n, option in enumerate(texts) if typed in option]
    return same[0] if len(same) == 1 else None


def _plain_words(text: str) -> str:
    """The words with blanks between and around them."""
    return f" {' '.join(word.said for word in words_of(clean(text)[0]))} "


def _place(words: Sequence[Word], options: Sequence[str]) -> int | None:
    """The number of the option that is named by its place, or None."""
    said = [word.said for word in words if word.said not in AROUND]
    if len(said) > 1 or not words:
        return None
    inside = {w.said for text in options for w in words_of(clean(text)[0])}
    named = said or [w.said for w in words if w.said in {"one"} and len(words) > 1]
    if not named or (named[0] in inside and not named[0].isdigit()):
        return None
    if named[0] in LAST:
        return len(options) - 1
    number = next((n for n, names in enumerate(PLACES) if named[0] in names), None)
    if [word.said for word in words] == ["one", "second"]:
        return None
    alone = len(words) == 1 and named[0] in {"one", "two", "three", "top"}
    return None if number is None or number >= len(options) or alone else number


def folded_words(text: str, lexicon: Lexicon) -> tuple[Word, ...]:
    """The words of a text with every kind of "not" folded."""
    return folded(words_of(clean(text)[0], lexicon.forms), lexicon)


class _Vocabulary:
    """The words of the options, for misspelt ones to be compared with."""

    def __init__(self, options: Iterable[str]) -> None:
        texts = (words_of(clean(text)[0]) for text in options)
        self._words = {word.said for words in texts for word in words}

    def holds(self, stems: Collection[str]) -> Collection[str]:
        """Those of the stems that stand in an option."""
        return {cut(word) for word in self._words}.intersection(stems)

    def near(self, word: str) -> Iterable[str]:
        """Words of the options that begin or end alike and are about as long."""
        return near_in(self._words, word)


def _answer(text: str, lexicon: Lexicon) -> _Said:
    """What an option says; "No bubbles" is less of a no than "No, ..."."""
    words = folded_words(text, lexicon)
    said = _said(words, lexicon)
    such = len(words) > 1 and words[0].said == "no" and not words[1].gap
    return said._replace(tone=NO_SUCH) if such else said


def _said(
    words: Sequence[Word], lexicon: Lexicon, others: Others | None = None
) -> _Said:
    """What a text says and denies; the answering first word is its tone."""
    small = lexicon.listed("small") - AMOUNTS
    plain = tuple(_plain(item) for item in read(words, lexicon, others).items)
    denied_at = {
        plain[j].at
        for i, item in enumerate(plain)
        if item.term == NOT
        for j in scope(plain, i, lexicon)
    }
    terms: dict[str, float] = {}
    denied: set[str] = set()
    clauses: dict[int, dict[int, str]] = {}
    before: Item | None = None
    for item in plain:
        if item.said in GONE and before and before.part == item.part:
            denied.add(before.term)
        at_all = item.said == "all" and item.at and words[item.at - 1].said == "at"
        if item.term in AMOUNTS and " " in item.said:
            continue  # the "all" of "every time"
        if item.term == NOT or item.said in small or item.said in YES or at_all:
            continue
        for term, weight in _meanings(item, before):
            terms[term] = max(terms.get(term, 0.0), weight)
            denied.update({term} if item.at in denied_at else ())
        if item.term and item.weight >= 1.0:
            clauses.setdefault(item.part, {}).setdefault(item.at, item.term)
            before = item
    parts = tuple(frozenset(clause.values()) for clause in clauses.values())
    return _Said(terms, frozenset(denied), _tone(words), parts)


def _meanings(item: Item, before: Item | None) -> list[tuple[str, float]]:
    """What an item says by itself, loosely, and beside the telling word before it."""
    found = [(item.term, 1.0), *item.wide] if item.term else list(item.wide)
    near = before and before.part == item.part and before.at != item.at
    if before and near and item.term and item.weight >= 1.0:
        found.append((f"{before.term} {item.term}", PAIR))
    return found


def _plain(item: Item) -> Item:
    """The item without the marks of a lost function or an absent fault."""
    return item._replace(term=item.term.removeprefix("abs:").removeprefix("no:"))


def _tone(words: Sequence[Word]) -> float:
    """Yes, no or neither, by the first word, or by a "not" anywhere."""
    if not words:
        return 0.0
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
        tone = _same_tone(typed, answer, answers)
        whole = CLAUSE * max(share, 0.0) * _has_clause(typed, answer, weights)
        points.append(SHARED * share + tone + LEFT * left + whole)
    return points


def _has_clause(typed: _Said, answer: _Said, weights: Mapping[str, float]) -> bool:
    """Whether all telling words of one clause, some of them its own, were said."""
    for clause in answer.clauses:
        same = all(
            term in typed.terms and (term in typed.denied) == (term in answer.denied)
            for term in clause
        )
        if same and any(term in weights for term in clause):
            return True
    return False


def _weights(typed: _Said, answers: Sequence[_Said]) -> dict[str, float]:
    """How telling each typed term is: rare among the answers tells more."""
    table = {}
    for term, weight in typed.terms.items():
        holding = sum(term in answer.terms for answer in answers)
        told = {(term in a.terms, term in a.denied) for a in answers}
        if len(told) > 1:
            table[term] = weight * idf(len(answers), holding)
    return table


def _share(typed: _Said, answer: _Said, weights: Mapping[str, float]) -> float:
    """The share of what was typed that the answer says, less what it denies."""
    if not weights:
        return 0.0
    total = 0.0
    for term, weight in weights.items():
        if term in answer.terms:
            same = (term in typed.denied) == (term in answer.denied)
            total += weight * answer.terms[term] * (1.0 if same else -1.0)
    top = max(weights.values())
    unknown = sum(term not in weights and " " not in term for term in typed.terms)
    return total / (sum(weights.values()) + UNKNOWN * top * min(unknown, 4))


def _same_tone(typed: _Said, answer: _Said, answers: Sequence[_Said]) -> float:
    """What yes and no say; a tone that several answers have is split among them."""
    if typed.tone * answer.tone <= 0.0:
        return TONE * typed.tone * answer.tone
    same = [abs(other.tone) for other in answers if other.tone * typed.tone > 0.0]
    rivals = sum(tone >= abs(answer.tone) for tone in same)
    strength = 1.0 if rivals == len(same) == 1 else abs(answer.tone)
    return TONE * abs(typed.tone) * strength / rivals
