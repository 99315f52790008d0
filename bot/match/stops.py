"""Which stop rules the words raise: before any ranking, and whatever its score.

A rule is raised when what one of its signs tells stands close together in what was
said, or a word of each group of one of its frames ("hub, drum with smoke, glow"); a
frightened person's next sentence belongs to the last one when it is short or begins
with "it". Spelling, synonyms and "not" are understood as everywhere in this
room: "no smoke" raises nothing, "no brakes" does. A missed rule is the worst mistake,
so a long sign may lack a word; a false one costs a sentence. A figure with its unit
tells what it means: next to nothing in a tyre, brake air at its warning, a hub that
burns.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import chain, pairwise
from typing import TYPE_CHECKING, NamedTuple

from bot.language.lexicon import NOT, Lexicon
from bot.language.negation import folded
from bot.language.reading import Item, read
from bot.language.spelling import near_in, respelt
from bot.language.text import Word, clean, words_of
from bot.match import frames
from bot.match.gauge import figures, words_set

if TYPE_CHECKING:
    from bot.model.rule import StopRule

VERSION = 4
"""Raise it when the same rule would give another record: stores look at it."""

WINDOW = 9
"""Words that may stand between and around what a sign tells. Source: our choice."""

NEAR = 5
"""The same for a sign of two telling words, one of which was loosely said."""

LEAST_WEIGHT = 0.4
"""A meaning that counts less does not raise a rule."""

NEEDED = {1: 1.0, 2: 1.55, 3: 2.15, 4: 2.8, 5: 3.4}
NEEDED_SHARE = 0.68
"""How much of what a sign of that many telling words says must be met; a word by itself
counts 1, a loose meaning less. So two words may hold one loose one (but not two words
that are only loosely the same as a third), and only from four on may one be missing,
but never what the rule is about. Source: our choice, on our own
frightened and harmless stories."""

SUBJECT = 0.2
"""What stands in that share of a rule's signs is what the rule is about."""

VEHICLE = words_set("truck lorry vehicle rig wagon")
ANY_VEHICLE = "truck lorry vehicl rig wagon it she he her him thing bus camper"
"""A sign of one telling word that names the truck needs the truck, by any name."""
VEHICLE_NEAR = 3
"""And so close: "it will not stop", but not "a thing on the axle, never stops"."""

SHORT_SENTENCE = 3
LINKS = words_set(
    """
    it its it's he she her him his they them that this these those there then so and but
    still now just when as because which one ones only even both all same
    """
)
"""A sentence that is no longer, or begins with such a word, goes on with the last."""

PAIRED = 3
"""A sign of so many telling words may be told in any two neighbouring sentences, if
none of them lacks."""
PAIRED_SPARE = 0.85
"""How much less they may count there for being loosely said. Source: our choice."""


class Told(NamedTuple):
    """A phrase of a rule, and the terms that say each thing it tells.

    `slots`: the things with "|" between, the terms of each with blanks between.
    """

    text: str
    slots: str


class StopRecord(NamedTuple):
    """A stop rule as the matcher keeps it; `text` is what to say at once.

    `frames`: the line as written and its groups, with ";" between; of a group the
    wordings with "/" between, each the slots of a `Told`.
    """

    id: str
    title: str
    text: str
    signs: tuple[Told, ...]
    frames: tuple[Told, ...]
    unless: tuple[Told, ...]
    words: str
    stems: str
    subject: str

    def plain(self) -> list[tuple[str, ...]]:
        """The same as rows of texts, which any text format can keep."""
        return [
            (self.id, self.title, self.text, self.words, self.stems, self.subject),
            *(
                tuple(part for told in row for part in told)
                for row in (self.signs, self.frames, self.unless)
            ),
        ]

    @classmethod
    def from_plain(cls, rows: Sequence[Sequence[str]]) -> "StopRecord":
        """The record back from what `plain` gave."""
        (rule, title, text, *lists), *told = rows
        signs, framed, unless = map(_pairs, told)
        return cls(rule, title, text, signs, framed, unless, *lists)


def _pairs(row: Sequence[str]) -> tuple[Told, ...]:
    return tuple(map(Told, row[::2], row[1::2]))


class StopHit(NamedTuple):
    """A rule that was raised, what to say at once, and why in plain English."""

    rule: str
    title: str
    text: str
    why: str


def stop_record(rule: "StopRule", lexicon: Lexicon) -> "StopRecord":
    """What the matcher keeps of a stop rule."""
    framed = (text for frame in rule.frames for group in frame for text in group)
    texts = (*rule.signs, *rule.unless, *framed)
    found = {w.said for text in texts for w in words_of(clean(text)[0])}
    words = sorted(w for w in found if w.isalpha() and len(w) > 2)
    first = rule.cautions[:1]
    signs = tuple(told(text, lexicon) for text in rule.signs)
    return StopRecord(
        rule.id,
        rule.title,
        " ".join(" ".join((*(c.text for c in first), *rule.do_now)).split()),
        signs,
        tuple(_framed(frame, lexicon) for frame in rule.frames),
        tuple(_framed([[text]], lexicon) for text in rule.unless),
        " ".join(words),
        " ".join(sorted({lexicon.stem(w) for w in words})),
        " ".join(_subject(signs)),
    )


def _framed(frame: Sequence[Sequence[str]], lexicon: Lexicon) -> Told:
    """A frame by the first wording of each group, and ready to be met."""
    name = " with ".join(group[0] for group in frame)
    return Told(name, frames.compiled(frame, lexicon))


def _subject(signs: Sequence[Told]) -> list[str]:
    """The terms that stand in many of the signs."""
    counts: dict[str, int] = {}
    for sign in signs:
        for term in set(sign.slots.replace("|", " ").split()):
            counts[term] = counts.get(term, 0) + 1
    return sorted(term for term, n in counts.items() if n >= SUBJECT * len(signs))


def told(text: str, lexicon: Lexicon) -> Told:
    """What a phrase tells: a slot for each telling word, with the terms that say it."""
    items = _with_figures(
        folded(words_of(clean(text)[0], lexicon.forms), lexicon), lexicon
    )
    lost = {item.at for item in items if item.term.startswith("no:")}
    used = lost or any(item.term.startswith("abs:") for item in items)
    small = lexicon.listed("small")
    slots: dict[int, set[str]] = {}
    for item in items:
        if (
            item.weight < 1.0
            or item.said in small
            or item.said == "on"
            or (item.term == NOT and used)
        ):
            continue
        if item.at in lost and not item.term.startswith("no:"):
            continue
        if item.term:
            slots.setdefault(item.at, set()).update(_accepted(item, items))
    for item in items:
        if not item.term and all(word in small for word in item.said.split()):
            slots.setdefault(item.at, set()).update(term for term, _ in item.wide)
    kept = [" ".join(sorted(s)) for s in slots.values() if s]
    if len(kept) == 1 and any(item.said in VEHICLE for item in items):
        kept.append(ANY_VEHICLE)
    return Told(text, "|".join(kept))


def _with_figures(words: Sequence[Word], lexicon: Lexicon) -> list[Item]:
    """The items of a sign; a figure with its unit is one, of the first class it has."""
    told = {item.at: item for item in reversed(list(figures(words)))}
    units = {at + (words[at].said != item.said) for at, item in told.items()}
    plain = read(words, lexicon).items
    kept = [item for item in plain if item.at not in {*told, *units}]
    return sorted([*kept, *told.values()], key=_at)


def _accepted(item: Item, items: Sequence[Item]) -> Iterable[str]:
    """The terms that say the same as this item; of a joined term only the whole."""
    joined = any("_" in other.term for other in items if other.at == item.at)
    if joined and "_" not in item.term:
        return ()
    return (item.term, *(t for t, _ in item.wide if t.startswith("~")))


class _Words:
    """The words of the rules, for misspelt ones to be compared with."""

    def __init__(self, rules: Sequence["StopRecord"]) -> None:
        self._rules = rules

    def holds(self, stems: Collection[str]) -> Collection[str]:
        """Those of the stems that stand in a rule."""
        known = {stem for rule in self._rules for stem in rule.stems.split()}
        return known.intersection(stems)

    def near(self, word: str) -> Iterable[str]:
        """Words of the rules that begin or end alike and are about as long."""
        words = {w for rule in self._rules for w in rule.words.split()}
        return near_in(words, word)


Place = tuple[int, float, str]
"""Where a term stands in a text, what it counts there, and the words it was said in."""

Said = dict[str, list[Place]]
"""A stretch of talk: the places of each of its terms."""


class Talk(NamedTuple):
    """A text three ways: stretches that belong together, neighbours, bare words."""

    stretches: Sequence[Said]
    pairs: Sequence[Said]
    heard: Sequence[frames.Heard]


def raised(
    words: str, rules: Sequence["StopRecord"], lexicon: Lexicon
) -> tuple[StopHit, ...]:
    """The rules that the words raise, in the order of the rules."""
    plain = folded(words_of(clean(words)[0], lexicon.forms), lexicon)
    spelt, others, _ = respelt(plain, lexicon, _Words(rules))
    items = [*read(spelt, lexicon, others).items, *figures(spelt)]
    stretches, pairs = _stretches(sorted(items, key=_at))
    talk = Talk(stretches, pairs, frames.heard(spelt, lexicon, others))
    hits = (_hit(rule, talk) for rule in rules)
    return tuple(hit for hit in hits if hit is not None)


def _at(item: Item) -> int:
    return item.at


def _stretches(items: Iterable[Item]) -> tuple[list[Said], list[Said]]:
    """Sentences, each with those that go on with it; and each two neighbours."""
    sentences: dict[int, list[Item]] = {}
    for item in items:
        sentences.setdefault(item.sentence, []).append(item)
    found: list[Said] = []
    short = False
    for sentence in sentences.values():
        joined = short
        short = len({item.at for item in sentence}) <= SHORT_SENTENCE
        if not found or not (joined or short or sentence[0].said in LINKS):
            found.append({})
        for item in sentence:
            for term, weight in (*item.wide, (item.term, item.weight)):
                if weight >= LEAST_WEIGHT:
                    found[-1].setdefault(term, []).append((item.at, weight, item.said))
    return found, [_both(*two) for two in pairwise(found)]


def _both(first: Said, second: Said) -> Said:
    """Two stretches as one."""
    both = {term: list(places) for term, places in first.items()}
    for term, places in second.items():
        both.setdefault(term, []).extend(places)
    return both


def _hit(rule: "StopRecord", talk: Talk) -> StopHit | None:
    """Why the rule is raised, or None: the first reason that nothing excuses."""
    excuses = [at for e in rule.unless for at in frames.said(e.slots, talk.heard)]
    for words, why in chain(_by_signs(rule, talk), _by_frames(rule, talk)):
        first, last = min(words) - WINDOW, max(words) + WINDOW
        if not any(max(e) >= first and min(e) <= last for e in excuses):
            quoted = ", ".join(f'"{word}"' for word in words.values())
            return StopHit(rule.id, rule.title, rule.text, f"{quoted} {why}")
    return None


Reason = tuple[dict[int, str], str]
"""The words that raise a rule, by place, and what they are a case of."""


def _by_signs(rule: "StopRecord", talk: Talk) -> Iterator[Reason]:
    """The signs that are told."""
    subject = rule.subject.split()
    for number, said in enumerate((*talk.stretches, *talk.pairs)):
        paired = number >= len(talk.stretches)
        for sign in rule.signs:
            words = _found(sign.slots, said, subject, paired)
            if words:
                yield words, f'met the sign "{sign.text}"'


def _by_frames(rule: "StopRecord", talk: Talk) -> Iterator[Reason]:
    """The frames that are met."""
    for said in (*talk.stretches, *talk.pairs):
        places = [at for found in said.values() for at, _, _ in found]
        first, last = min(places, default=0), max(places, default=-1)
        for frame in rule.frames:
            words = frames.met(frame.slots, talk.heard[first : last + 1], first)
            if words:
                yield words, f'together are a sign: "{frame.text}"'


def _found(
    slots: str, said: Said, subject: Sequence[str], paired: bool = False
) -> dict[int, str]:
    """The words, by place, that tell what a sign tells, close together; or none.

    `subject`: terms that must not be missing. `paired`: it is two sentences that need
    not belong together.
    """
    wanted = slots.split("|") if slots else []
    needed = _needed(len(wanted))
    if paired:
        if len(wanted) < PAIRED:
            return {}
        needed = len(wanted) - PAIRED_SPARE
    spare = len(wanted) - needed
    places: list[list[Place]] = []
    for slot in wanted:
        terms = slot.split()
        found = [place for term in terms for place in said.get(term, ())]
        if found:
            places.append(found)
            continue
        spare -= 1
        if spare < 0 or any(term in subject for term in terms):
            return {}
    reach = len(wanted) + WINDOW
    if ANY_VEHICLE in wanted:
        reach = VEHICLE_NEAR + 1
    return _together(places, len(wanted), needed, reach)


def _needed(wanted: int) -> float:
    """How much must be met of a sign that tells so many things."""
    return NEEDED.get(wanted, NEEDED_SHARE * wanted)


def _together(
    places: Sequence[Sequence[Place]], wanted: int, needed: float, reach: int
) -> dict[int, str]:
    """The words that meet enough of the places close together, none used twice."""
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
        if used and total >= needed:
            far = max(used) - min(used)
            if wanted != 2 or total >= wanted or far <= NEAR:
                return dict(sorted(used.items()))
    return {}


def _worth(place: Place) -> tuple[float, int]:
    """What a place counts; of two alike the earlier."""
    return place[1], -place[0]
