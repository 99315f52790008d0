"""The words files made into a lexicon; the same words always give the same."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from bot.language.lexicon import (
    EMPTY,
    NOT,
    WORD_LISTS,
    Lexicon,
    Phrase,
    Phrases,
    Sense,
    Senses,
)
from bot.language.negation import folded, spoken
from bot.language.text import clean, cut, said_in, words_of

if TYPE_CHECKING:
    from bot.model.words import Wording, Words


def stems_of(phrase: str, lexicon: Lexicon) -> tuple[str, ...]:
    """The stems of one wording, negatives folded to "not"."""
    words = folded(words_of(clean(phrase)[0], lexicon.forms), lexicon)
    return tuple(word.stem for word in words if word.stem)


def terms_of(stems: Sequence[str]) -> tuple[str, ...]:
    """The words of a term, and all of them joined when there are several.

    >>> terms_of(("park", "brak")), terms_of(("not", "work"))
    (('park', 'brak', 'park_brak'), ('not', 'work', 'no:work'))
    """
    if len(stems) < 2:
        return tuple(stems)
    if stems[0] == NOT:
        return (*stems, "no:" + "_".join(stems[1:]))
    return (*stems, "_".join(stems))


def compiled(words: "Words") -> Lexicon:
    """The lexicon made ready."""
    lexicon = _with_lists(words)
    lexicon = lexicon._replace(single=_single(words.wordings, lexicon))
    phrases: dict[str, list[Phrase]] = {}
    senses = _senses(words, lexicon)
    for phrase in _settled(_all_phrases(words, lexicon), senses):
        phrases.setdefault(" ".join(phrase.stems[:2]), []).append(phrase)
    trade = frozenset(_surface(_everything(words.wordings)))
    said = frozenset(
        _surface(_everything((*words.senses, *words.parts, *words.acts, *words.marks)))
    )
    lists = lexicon.lists
    common = frozenset(
        w for line in words.lists.get("common", ()) for w in line.split()
    )
    known = trade | said | common | lists["small"] | lists["negators"]
    known |= frozenset(lexicon.numbers)
    return lexicon._replace(
        phrases=Phrases(phrases),
        never=_never(words.wordings, lexicon),
        senses=Senses(senses),
        parts=frozenset(key(entry.term, lexicon) for entry in words.parts),
        faults=frozenset(_joined(words.lists.get("faults", ()), lexicon)),
        functions=frozenset(_joined(words.lists.get("functions", ()), lexicon)),
        known=_list(known),
        trade=_list(trade),
        stems=_list(map(lexicon.stem, known)),
    )


def _with_lists(words: "Words") -> Lexicon:
    """A lexicon of forms, numbers and lists alone, which is enough to read a phrase."""
    forms: dict[str, str] = {}
    for line in words.lists.get("forms", ()):
        base, *others = line.split()
        keeps = not others or base.endswith(("ing", "ed", "s", "ly"))
        if keeps:
            forms[base] = base
        forms.update((other, base if keeps else cut(base)) for other in others)
    numbers = {}
    for line in words.lists.get("numbers", ()):
        word, _, worth = line.partition(" ")
        numbers[word] = float(worth)
    plain = {
        name: frozenset(w for line in lines for w in line.split())
        for name, lines in words.lists.items()
        if name not in ("forms", "numbers", "common", "faults", "functions")
    }
    plain = {name: plain.get(name, frozenset()) for name in (*WORD_LISTS, *plain)}
    plain["quitting"] = frozenset(map(cut, plain["quitting"]))
    lexicon = EMPTY._replace(forms=forms, numbers=numbers, lists=plain)
    for name in ("deny", "harmless"):
        found = frozenset(_bare(line, lexicon) for line in words.lists.get(name, ()))
        plain[name] = found
    return lexicon._replace(lists=plain)


def _bare(line: str, lexicon: Lexicon) -> str:
    """The stems of a phrase with blanks between, a "not" as it stands."""
    return " ".join(w.stem for w in words_of(clean(line)[0], lexicon.forms))


def _list(words: Iterable[str]) -> str:
    """The different words in order, with blanks between and around them."""
    return f" {' '.join(sorted(set(words)))} "


def _single(wordings: Iterable["Wording"], lexicon: Lexicon) -> dict[str, str]:
    """One-word wordings that mean exactly their one-word term."""
    table: dict[str, str] = {}
    for wording in wordings:
        term = stems_of(wording.term, lexicon)
        for stems in (stems_of(text, lexicon) for text in wording.also):
            if len(term) == len(stems) == 1 and stems != term:
                table.setdefault(stems[0], term[0])
    return table


def level(phrase: str, lexicon: Lexicon) -> tuple[str, ...]:
    """The stems of a phrase, each read as its term."""
    return tuple(map(lexicon.meant, stems_of(phrase, lexicon)))


def _act(phrase: str, lexicon: Lexicon) -> tuple[str, ...]:
    """The stems of what is said to the program itself."""
    words = folded(words_of(clean(phrase)[0], lexicon.forms), lexicon)
    return tuple(lexicon.meant(stem) for stem in spoken(words, lexicon) if stem)


def key(name: str, lexicon: Lexicon) -> str:
    """What a sense is known by."""
    return "_".join(level(name, lexicon))


def _all_phrases(words: "Words", lexicon: Lexicon) -> Iterator[Phrase]:
    """Every phrase of the trade, of the senses and of the acts."""
    for wording in words.wordings:
        yield from _phrases(wording, lexicon)
    for wording in (*words.senses, *words.parts):
        yield from _said(wording, "said", lexicon)
        yield from _said(wording, "maybe", lexicon)
    for wording in words.acts:
        yield from _said(wording, "act", lexicon)
    for wording in words.marks:
        yield from _said(wording, "mark", lexicon)


def _settled(
    phrases: Iterable[Phrase], senses: Mapping[str, Sense]
) -> Iterator[Phrase]:
    """The phrases; one that comes to the same stems for senses apart is no certain one.

    "Hardly any smoke" and "no smoke" are the same once every "not" is one. The narrower
    of two senses keeps it, and a sense its own name.
    """
    kept = list(phrases)
    owners: dict[tuple[str, ...], set[str]] = {}
    for phrase in kept:
        if phrase.kind == "said":
            owners.setdefault(phrase.stems, set()).add(phrase.terms[0])
    for phrase in kept:
        rivals = owners.get(phrase.stems, set()) - set(phrase.terms)
        if phrase.kind != "said" or not rivals:
            yield phrase
            continue
        own = phrase.terms[0]
        sense = senses.get(own)
        named = own == "_".join(phrase.stems)
        narrower = sense is not None and rivals <= sense.so
        yield phrase if named or narrower else phrase._replace(kind="maybe")


BARE_NOT = ("no", "none of these", "without")
"""What a "not" by itself says."""


def _said(wording: "Wording", kind: str, lexicon: Lexicon) -> Iterator[Phrase]:
    """The phrases of a sense or an act."""
    plain = kind in ("act", "mark")
    terms = (wording.term.replace(" ", "_") if plain else key(wording.term, lexicon),)
    texts = wording.loose if kind == "maybe" else (wording.term, *wording.also)
    for text in texts:
        stems = _act(text, lexicon) if kind == "act" else level(text, lexicon)
        only_not = stems == (NOT,) and wording.term not in BARE_NOT
        if stems and not only_not:  # "have no" says no more than "no"
            yield Phrase(stems, terms, kind)


def _phrases(wording: "Wording", lexicon: Lexicon) -> Iterator[Phrase]:
    """Every phrase of one entry of the trade, its words already read as their terms."""
    term = level(wording.term, lexicon)
    terms = terms_of(term)
    cluster = "~" + terms[-1] if wording.loose else ""
    if len(term) > 1:
        yield Phrase(term, terms, "also")
    if cluster:
        yield Phrase(term, terms, "self", cluster)
    for kind in ("also", "short", "loose", "units"):
        for text in getattr(wording, kind):
            stems = level(text, lexicon)
            if stems in ((), (NOT,)):
                continue
            one_word = kind == "also" and len(stems) == len(term) == 1
            if stems != term and not one_word:
                yield Phrase(stems, terms, kind, cluster if kind == "loose" else "")
            if stems != term and kind == "also" and cluster and not one_word:
                yield Phrase(stems, terms, "self", cluster)


def _never(
    wordings: Iterable["Wording"], lexicon: Lexicon
) -> dict[str, list[tuple[str, ...]]]:
    """The blocking phrases of every entry, by each stem of its wordings in them."""
    table: dict[str, list[tuple[str, ...]]] = {}
    for wording in wordings:
        own = {s for text in _everything((wording,)) for s in stems_of(text, lexicon)}
        for block in (stems_of(text, lexicon) for text in wording.never):
            for part in own.intersection(block):
                table.setdefault(part, []).append(block)
    return table


def _senses(words: "Words", lexicon: Lexicon) -> dict[str, Sense]:
    """Every sense with all that follows from it and all that speaks against it."""
    against: dict[str, set[str]] = {}
    so: dict[str, set[str]] = {}
    for entry in (*words.wordings, *words.senses, *words.parts):
        own = key(entry.term, lexicon)
        so.setdefault(own, set()).update(key(name, lexicon) for name in entry.so)
        for name in entry.against:
            other = key(name, lexicon)
            against.setdefault(own, set()).add(other)
            against.setdefault(other, set()).add(own)
    table = {}
    for own in sorted({*so, *against}):
        above = _closure(own, so)
        opposed = frozenset(o for broad in above for o in against.get(broad, ()))
        if len(above) > 1 or opposed:
            table[own] = Sense(opposed, above)
    return table


def _closure(own: str, so: Mapping[str, set[str]]) -> frozenset[str]:
    """The sense itself and all broader ones."""
    found, left = {own}, [own]
    while left:
        for broad in so.get(left.pop(), set()) - found:
            found.add(broad)
            left.append(broad)
    return frozenset(found)


def _joined(phrases: Iterable[str], lexicon: Lexicon) -> Iterator[str]:
    """Every one-word phrase as its term, longer ones joined."""
    return (key(phrase, lexicon) for phrase in phrases)


def _everything(wordings: Iterable["Wording"]) -> Iterator[str]:
    """Every wording of the entries but units."""
    for wording in wordings:
        yield from (wording.term, *wording.also, *wording.loose, *wording.short)


def _surface(phrases: Iterable[str]) -> Iterator[str]:
    """Every word as written."""
    return (said for phrase in phrases for said in said_in(clean(phrase)[0]))
