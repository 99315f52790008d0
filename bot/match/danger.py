"""Which stop rules a line raises: surely, or so nearly that one question is due.

Two ears. A rule's own `signs` are met when each thing that a sign says is said,
affirmed, in one clause or two neighbouring ones: that works for any rule the moment it
is written. The trained ear weighs everything that the line says against what thousands
of lines say in danger and in peace (`kb/stop-rules/*.wordings.txt`, weighed once by
`tools/train.py`); it hears what no sign foresaw. A missed danger is the worst mistake
this program can make, a false one teaches people to type past it: so only what is all
but certain stops at once, and the rest costs one question.
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from enum import Enum
from itertools import pairwise
from math import exp, log2, sqrt
from typing import TYPE_CHECKING, NamedTuple

from bot.language.lexicon import NOT, Lexicon, Sense
from bot.language.line import Clause, Line, listen
from bot.language.mentions import Mention

if TYPE_CHECKING:
    from bot.model.rule import StopRule

VERSION = 8
"""Raise it when the same rule would give another record: stores look at it."""

HARMLESS = "-"
"""The name under which the trained ear keeps what is no danger."""

SURE, MAYBE = 0.93, 0.65
"""From so sure on a rule stops at once, or is asked about. Fitted: `tools/train.py`."""

ELSEWHERE = frozenset(
    ("was_so_before", "is_mended_since", "asks", "hearsay", "elsewhere", "if_so")
)
"""Marks of a clause that is not of this truck and now; the danger of one that is only
planned ("about to open the cap") counts."""

WHOLE, BROAD, PAIR, STEM, TWO_STEMS, LETTERS = 1.0, 0.7, 1.0, 1.0, 0.7, 0.35
"""What each sort of feature counts. Source: our choice, tried in `tools/train.py`."""

RUN = 4
"""Letters in a row that are a feature, so that a misspelt word is heard in part."""


class Band(Enum):
    """How surely a rule is raised."""

    SURE = "sure"
    MAYBE = "maybe"
    NONE = "none"


class Hit(NamedTuple):
    """A rule that was raised, how surely (0 to 1), in which band, and why."""

    rule: str
    band: Band
    sureness: float
    why: str

    @property
    def by_ear(self) -> bool:
        """Whether the trained ear alone raised it, and no sign of the rule was met."""
        return self.why == SOUNDS


class StopRecord(NamedTuple):
    """A stop rule as the matcher keeps it; `text` is what to say at once.

    `signs`: each sign as written, and the names of all that must be said.
    """

    id: str
    title: str
    text: str
    question: str
    signs: tuple[tuple[str, str], ...]
    words: str

    def plain(self) -> list[tuple[str, ...]]:
        """The same as rows of texts, which any text format can keep."""
        flat = tuple(part for sign in self.signs for part in sign)
        return [(self.id, self.title, self.text, self.question, self.words), flat]

    @classmethod
    def from_plain(cls, rows: Sequence[Sequence[str]]) -> "StopRecord":
        """The record back from what `plain` gave."""
        (rule, title, text, question, words), flat = rows
        signs = tuple(zip(flat[::2], flat[1::2], strict=True))
        return cls(rule, title, text, question, signs, words)


Ear = Callable[[Collection[str]], Mapping[str, Mapping[str, float]]]
"""What the trained ear knows of some features: by feature, by rule, the weight."""


def deaf(_: Collection[str]) -> Mapping[str, Mapping[str, float]]:
    """An ear that was never trained: signs alone raise rules."""
    return {}


def stop_record(rule: "StopRule", lexicon: Lexicon) -> StopRecord:
    """What the matcher keeps of a stop rule."""
    first = rule.cautions[:1]
    lines = [listen(sign, lexicon) for sign in rule.signs]
    words = {w.said for line in lines for w in line.words if w.said.isalpha()}
    return StopRecord(
        rule.id,
        rule.title,
        " ".join(" ".join((*(c.text for c in first), *rule.do_now)).split()),
        rule.question,
        tuple((line.text, _slots(line, lexicon)) for line in lines),
        " ".join(sorted(word for word in words if len(word) > 2)),
    )


def _slots(line: Line, lexicon: Lexicon) -> str:
    """What must be said for a sign to be met, with blanks between."""
    said = (_telling(m, line, lexicon) for m in line.mentions)
    return " ".join(sorted({name for names in said for name in names}))


def _telling(mention: Mention, line: Line, lexicon: Lexicon) -> Iterator[str]:
    """The names by which a mention is known to signs.

    Its telling words, each read as the trade's one word for it, with "!" where they are
    denied; of a phrase with a "not" inside the senses it has for certain, with "~".
    """
    words = line.words[mention.first : mention.last]
    inside = line.has_not(mention)
    sure = ["~" + s for s, weight in mention.senses if weight >= 1.0] if inside else []
    if sure:
        yield from sure
        return
    mark = "!" if mention.denied or inside else ""
    for word in words:
        if word.stem not in ("", NOT) and word.said not in lexicon.listed("small"):
            yield mark + lexicon.meant(word.stem)


def raised(
    line: Line, rules: Sequence[StopRecord], lexicon: Lexicon, ear: Ear = deaf
) -> tuple[Hit, ...]:
    """The rules that a line raises, the surest first.

    A line that as a whole is a word to chock, such as "yes" or "help", or a number,
    raises one by a sign alone: the ear has no context to judge so few words by.
    """
    signs = dict(_by_signs(line, rules, lexicon))
    danger, shares = _by_ear(line, lexicon, ear)
    heard = {rule: _grounded(danger, share) for rule, share in shares.items()}
    if line.acts or not line.mentions:
        heard = dict.fromkeys(heard, 0.0)
    if not _tells_enough(line):
        heard = {r: c if c >= CERTAIN else min(c, BELOW) for r, c in heard.items()}
    known = {rule.id for rule in rules}
    hits = []
    for rule in sorted(known & {*signs, *heard}):
        sureness = heard.get(rule, 0.0)
        if rule in signs:
            sureness = max(sureness, _by_sign(danger if rule in shares else None))
        if sureness >= MAYBE:
            band = Band.SURE if sureness >= SURE else Band.MAYBE
            why = SOUNDS if rule not in signs else f'met the sign "{signs[rule]}"'
            hits.append(Hit(rule, band, sureness, why))
    ranked = sorted(hits, key=lambda hit: (-hit.sureness, hit.rule))
    return tuple(ranked[:MOST_RAISED])


CERTAIN, BELOW = 0.98, SURE - 0.01
"""So sure the ear must be of a line that tells little; else the line is asked about."""


def _tells_enough(line: Line) -> bool:
    """Whether the ear alone may stop the work: not by one word, nor beside a "no"."""
    telling = [m for clause in line.clauses if not clause.says for m in clause.mentions]
    return len(telling) > 1 and "no" not in line.told


SOUNDS = "sounds like what people said in that danger"
MOST_RAISED = 2
"""More rules than this at once nobody reads; the surest come first. Our choice."""

DOUBTED = 0.05
"""What the trained ear holds for so unlikely a sign does not raise: it has heard how
people say the sign's words in peace. Source: our choice."""


def _by_sign(danger: float | None) -> float:
    """How surely a rule is raised whose sign is met, by the chance of any danger.

    The sign leaves a quarter of the ear's doubt; where the ear is all but sure of
    peace it has heard how people say the sign's words so. A rule that the ear was
    never trained on (None) is raised by its signs alone.
    """
    if danger is None:
        return 1.0
    return 1.0 - (1.0 - danger) / 4.0 if danger >= DOUBTED else danger


def _by_signs(
    line: Line, rules: Sequence[StopRecord], lexicon: Lexicon
) -> Iterator[tuple[str, str]]:
    """The rules with a sign that is met, and the sign."""
    here = [_said(clause, line, lexicon) for clause in line.clauses]
    windows = [*here, *(one | two for one, two in pairwise(here))]
    for rule in rules:
        for sign, slots in rule.signs:
            wanted = set(slots.split(" "))
            if slots and any(wanted <= said for said in windows):
                yield rule.id, sign
                break


def _said(clause: Clause, line: Line, lexicon: Lexicon) -> frozenset[str]:
    """What a clause says, as signs know it; nothing of another truck or time."""
    if clause.marks & ELSEWHERE:
        return frozenset()
    told = (_telling(mention, line, lexicon) for mention in clause.mentions)
    return frozenset(name for names in told for name in names)


_ALONE = Sense(frozenset(), frozenset())


def _by_ear(line: Line, lexicon: Lexicon, ear: Ear) -> tuple[float, dict[str, float]]:
    """The chance of any danger, and that of each rule, by the trained ear alone."""
    here = features(line, lexicon)
    weights = ear(here)
    scores: dict[str, float] = {}
    for name, value in (*here.items(), ("", 1.0)):
        for rule, weight in weights.get(name, {}).items():
            scores[rule] = scores.get(rule, 0.0) + weight * value
    if HARMLESS not in scores:
        return 0.0, {}
    top = max(scores.values())
    raw = {rule: exp(score - top) for rule, score in scores.items()}
    whole = sum(raw.values())
    danger = 1.0 - raw.pop(HARMLESS) / whole
    return danger, {rule: value / whole for rule, value in raw.items()}


def _grounded(danger: float, share: float) -> float:
    """How surely a rule is raised, by the chance of any danger and by its own share.

    What is spread over many rules is noise; what is not mostly one rule's is asked.
    """
    if share < LEAST_SHARE:
        return 0.0
    return danger if share >= danger / 2.0 else min(danger, SURE - 0.01)


LEAST_SHARE = 0.3
"""A rule less likely than this by itself is not asked about. Fitted with `MAYBE`."""


TO_CHOCK = frozenset(
    (
        "yes",
        "done",
        "go_on",
        "may_it_move",
        "what_to_carry",
        "why",
        "suspicions",
        "another_way",
        "back",
        "pause",
        "call_for_help",
        "keys",
        "every_time",
        "every_other_time",
        "one_in_five",
        "one_in_ten",
        "clean",
        "better",
        "write_it",
        "leave_it",
        "none_of_these",
        "courtesy",
    )
)
"""Acts of speech that say nothing of the truck, for certain: what is one of them is not
listened to for danger. "No" and "missing" may be more."""


def features(line: Line, lexicon: Lexicon) -> dict[str, float]:
    """What the trained ear looks at, scaled to length 1: name -> value.

    Senses and the broader ones, neighbours among them, marks of time and of whom;
    stems, neighbouring stems, and runs of letters; the size of amounts. What is denied
    has a "!" before it, so that "no fumes" is no fumes to every one of these.
    """
    found: dict[str, float] = {}

    def put(name: str, value: float) -> None:
        found[name] = max(found.get(name, 0.0), value)

    for clause in _of_the_truck(line):
        before = ""
        begins = _begins(clause)
        for mention in clause.mentions:
            if mention.first >= begins:
                before = _put_mention(mention, before, lexicon, put)
        for mark in clause.marks:
            put("@" + mark, WHOLE)
    _put_words(line, _heard(line), put)
    if line.is_question:
        put("@?", WHOLE)
    for kind, step in _sizes(line):
        put(f"#{kind} {step}", WHOLE)
    length = sqrt(sum(value * value for value in found.values())) or 1.0
    return {name: value / length for name, value in found.items()}


Put = Callable[[str, float], None]


def _heard(line: Line) -> list[int]:
    """The numbers of the words that are not said to the program alone."""
    told = _of_the_truck(line)
    return [at for clause in told for at in range(_begins(clause), clause.last)]


def _of_the_truck(line: Line) -> Sequence[Clause]:
    """The clauses without a "no" at the front, which answers what was asked."""
    if len(line.clauses) > 1 and "no" in line.clauses[0].says:
        return line.clauses[1:]
    return line.clauses


def _begins(clause: Clause) -> int:
    """The number of the first word of a clause that may tell of the truck."""
    if clause.says & TO_CHOCK:
        return clause.last
    spoken = [begun.last for begun in clause.begins if begun.act in TO_CHOCK]
    return max(spoken, default=clause.first)


def _put_words(line: Line, heard: Sequence[int], put: Put) -> None:
    """Enter stems, neighbouring stems and runs of letters, what is denied as such."""
    denied = {
        at
        for mention in line.mentions
        if mention.denied or line.has_not(mention)
        for at in range(mention.first, mention.last)
    }
    stems = [word.stem for word in line.words]
    for at in heard:
        word = line.words[at]
        mark = "!" if at in denied else ""
        put(f"{mark}w:{word.stem}", STEM)
        if at:
            put(f"b:{stems[at - 1]} {word.stem}", TWO_STEMS)
        framed = f"<{word.said}>"
        for start in range(len(framed) - RUN + 1 if len(framed) > RUN + 1 else 0):
            put(f"{mark}c:{framed[start : start + RUN]}", LETTERS)


def _sizes(line: Line) -> Iterator[tuple[str, int]]:
    """The kind of each amount, and its size in steps of a third or so."""
    for found in line.quantities:
        if found.unit and found.value > 0.0:
            base = found.value * found.unit.scale + found.unit.offset
            if base > 0.0:
                yield found.unit.kind, round(2.0 * log2(base))


def _put_mention(mention: Mention, before: str, lexicon: Lexicon, put: Put) -> str:
    """Enter a mention; what the next one is a neighbour of comes back."""
    mark = "!" if mention.denied else ""
    for sense, weight in mention.senses:
        put(mark + sense, weight)
        if weight >= 1.0:
            for broad in (lexicon.senses.get(sense) or _ALONE).so:
                put(mark + broad, BROAD)
    own = mark + max(mention.senses, key=lambda pair: pair[1])[0]
    if before:
        put(f"{before}~{own}", PAIR)
    return own
