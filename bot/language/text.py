"""Typed text to words: cleaned, cut to a length, stemmed, with the breaks between them.

Values in this room are named tuples and not dataclasses: one question from the command
line may cost six times a bare start of Python, and the dataclass machinery alone
would spend a third of that.
"""

import re
import unicodedata
from functools import lru_cache
from typing import NamedTuple

MOST_CHARACTERS = 2000
MOST_WORDS = 300
"""A long story fits in; what is cut is said. Source: our choice."""

CLAUSE, SENTENCE = 1, 2
"""How strong the break before a word is; 0 is none."""


class Word(NamedTuple):
    """One word as typed (small letters), its stem, and the break that stands before."""

    said: str
    stem: str
    gap: int = 0


_PIECE = re.compile(
    r"(?P<code>[0-9.]{0,6}[0-9][a-z]{1,4}[0-9][a-z0-9.]{0,12})"
    r"|(?P<amount>[0-9]{1,6}(?:[.,/][0-9]{1,6})?)(?P<glued>[a-z%\"]{1,8}(?![a-z0-9]))?"
    r"|(?P<word>[^\W_]{1,64})"
    r"|(?P<end>[.!?\n]+)"
    r"|(?P<comma>[,;:()/\[\]\u2013\u2014]+| -+ |--+)"
)

_APOSTROPHES = dict.fromkeys(map(ord, "'\u2018\u2019\u02bc`\u00b4"))

_IRREGULAR = """
go: went gone goes going; lose: lost loses losing; freeze: froze frozen;
blow: blew blown; bleed: bled; break: broke broken; stick: stuck; burn: burnt;
do: does did done doing; be: is are was were been being am; have: has had having;
get: got gets gotten getting; run: ran; fall: fell fallen; rise: rose risen;
keep: kept; hold: held; hear: heard; feel: felt; smell: smelt; spill: spilt;
leave: left; spin: spun; wind: wound; tear: tore torn; wear: wore worn;
shake: shook shaken; drive: drove driven; come: came; take: took taken;
give: gave given; make: made; find: found; think: thought; see: saw seen;
say: said says; tell: told; know: knew known; build: built; shut: shutting;
sink: sank sunk; swing: swung; begin: began begun; choose: chose chosen; catch: caught;
bring: brought; buy: bought; mean: meant; stand: stood; sit: sat; slide: slid;
hang: hung; bind: bound; throw: threw thrown; grow: grew grown; creep: crept;
sleep: slept; light: lit; fight: fought; speed: sped; bend: bent; send: sent;
spend: spent; die: dies died dying; tie: ties tied tying; use: uses used using;
try: tries tried trying; dry: dries dried; gas: gases gassing gassed; tired: tired;
during: during; thing: things; string: strings; spring: springs; ring: rings;
bearing: bearings; bushing: bushings; wiring: wirings; housing: housings;
coupling: couplings; evening: evenings; morning: mornings; ceiling: ceilings;
need: needs needed; feed: feeds fed; bus: buses; lens: lenses; axis: axes; foot: feet;
half: halves; leaf: leaves; always: always; perhaps: perhaps; only: only;
early: early; family: family; supply: supply; apply: apply; reply: reply;
assembly: assembly; daily: daily; multiply: multiply; nearly: nearly; lately: lately;
hardly: hardly; barely: barely; july: july; belly: belly; ugly: ugly; likely: likely
"""


def _irregular() -> dict[str, str]:
    """Every irregular form and the base that it is read as."""
    table = {}
    for entry in _IRREGULAR.split(";"):
        base, _, forms = entry.strip().partition(": ")
        for form in forms.split():
            table[form] = base
        if base.endswith(("ing", "ed", "ss", "s", "ly")):
            table[base] = base
    return table


def words_set(text: str) -> frozenset[str]:
    """The different words of a text written in small letters."""
    return frozenset(text.split())


_BASES = _irregular()
_KEEP = frozenset({base for form, base in _BASES.items() if form == base})

GRAMMAR = words_set(
    """
    a about again ago all also am an and any anyone anything are as at be because been
    being both but by can could did do does doing done each either else even ever
    every everything for from get gets getting go goes going got had has have having
    he her here him his how i if in into is it its itself ive just keep keeps lot lots
    made make makes many may maybe me might mine more most much must my myself now of
    once one or other our ours own per please put quite rather really said same say
    says she should since so some someone something sort still such than thanks that
    thats the their them then there theres these they theyre thing things this those
    though to too took try tried trying us use used using very want was we well were
    weve what whats when where which while who whole why will with would yes yet you
    your im id ill itll youre hi hello hey mate guys lads folks help anybody everybody
    anyway actually basically bit kind like truck lorry vehicle rig wagon today day
    time problem issue
    """
)
"""Words that say little about a fault: they weigh less, and never nothing.

Not among them: not, no, on, off, up, down, out, over, under, only, after, until,
which carry the meaning of "cuts out" and "only when hot". Source: our choice.
"""


@lru_cache(maxsize=8192)
def stem(word: str) -> str:
    """The word without its endings: s, ing, ed, ly, a doubled letter, a final e.

    >>> [stem(w) for w in "leaking leaks braking brakes stopped batteries went".split()]
    ['leak', 'leak', 'brak', 'brak', 'stop', 'battery', 'go']
    """
    base = _BASES.get(word)
    if base in _KEEP:
        return base
    return _cut(base or word)


def _cut(word: str) -> str:
    """A regular word without its endings."""
    if len(word) <= 3 or any(c.isdigit() for c in word):
        return word
    word = _without_plural(word)
    if word.endswith("ly") and len(word) > 5:
        word = word[:-3] + "y" if word[-3] == "i" else word[:-2]
    for ending in ("ing", "ed"):
        rest = word[: -len(ending)]
        if word.endswith(ending) and len(rest) > 2 and any(c in "aeiouy" for c in rest):
            word = rest
            break
    if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "aeious":
        word = word[:-1]
    return word[:-1] if len(word) > 3 and word[-1] == "e" else word


def _without_plural(word: str) -> str:
    """`word` without a plural or third-person ending."""
    if word.endswith(("ies", "ied")) and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith("sses"):
        return word[:-2]
    if word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word


def _plain(text: str) -> str:
    """Small letters in their usual form, without accents."""
    folded = unicodedata.normalize("NFKC", text).lower()
    marks = unicodedata.normalize("NFD", folded)
    return "".join(c for c in marks if not unicodedata.combining(c))


def clean(text: str) -> tuple[str, bool]:
    """Small plain letters, at most `MOST_CHARACTERS`; and whether any were cut."""
    raw = text[: 4 * MOST_CHARACTERS]
    plain = raw.lower() if raw.isascii() else _plain(raw)
    short = plain.translate(_APOSTROPHES).strip()
    cut = len(text) > len(raw) or len(short) > MOST_CHARACTERS
    return short[:MOST_CHARACTERS], cut


def words_of(text: str) -> tuple[Word, ...]:
    """The words of cleaned text in order; a number keeps its unit.

    >>> [w.said for w in words_of("air-leak at 8,5 bar, 24v ok")]
    ['air', 'leak', 'at', '8,5', 'bar', '24v', 'ok']
    """
    found: list[Word] = []
    gap = 0
    for piece in _PIECE.finditer(text):
        kind = piece.lastgroup
        if kind == "end":
            gap = SENTENCE
        elif kind == "comma":
            gap = max(gap, CLAUSE)
        else:
            found.append(_word(piece[0], gap))
            gap = 0
    return tuple(found[:MOST_WORDS])


def _word(said: str, gap: int) -> Word:
    """A word; a number is its own stem, so that no two numbers pass for one another."""
    return Word(said, said if said[0].isdigit() else stem(said), gap)
