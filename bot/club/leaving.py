"""What may not be passed on: markings of papers, and what tells of a person.

A marking is looked for in the words alone: capitals, marks of emphasis, spaces, hyphens
and line breaks count for nothing, and letters with full stops between them are a word.
An everyday word of the trade ("restricted", "proprietary", "do not copy") counts only
as a stamp, alone on its line, or beside words that speak of a paper.

What the markings mean: distribution statements A to F and X by DoD Directive 5230.24 of
1987 (an extract seen), TLP colours by version 2.0 (second-hand), others from memory.
Which are refused and which are asked about is our choice. This is no legal advice.
"""

import re
import unicodedata
from bisect import bisect, bisect_left
from collections.abc import Iterable, Iterator
from enum import Enum
from itertools import accumulate
from typing import NamedTuple

from bot.club.personal import Seen, seen_in
from bot.model.kinds import Share


class Says(Enum):
    """What is to be done with a text, the mildest first."""

    PASS = "pass"
    ASK = "ask"
    REFUSE = "refuse"


class Find(NamedTuple):
    """Something in a text that bears on its leaving.

    `line` counts from 1, `what` is in plain words, `quote` is at most 60 letters of it.
    """

    line: int
    says: Says
    what: str
    quote: str


QUOTE = 60


def finds(text: str) -> tuple[Find, ...]:
    r"""All markings and all that is personal in a text, in its order.

    >>> [(each.says.value, each.what) for each in finds("Distribution\nStatement - D")]
    [('refuse', 'a distribution statement D')]
    >>> finds("flow is restricted in the 24 V valve at 8.5 bar")
    ()
    """
    text = _plain(text)
    found = [*_outermost(_markings(text))]
    found += [(Says.ASK, seen) for seen in seen_in(text)]
    starts = [0, *(each.end() for each in re.finditer("\n", text))]
    told: dict[tuple[int, str, Says], Find] = {}
    for says, seen in sorted(found, key=lambda each: each[1]):
        line = bisect(starts, seen.at)
        if (line, seen.what, says) not in told:
            quote = _quote(text, starts[line - 1], seen.at)
            told[line, seen.what, says] = Find(line, says, seen.what, quote)
    return tuple(told.values())


def strictest(found: Iterable[Find]) -> Says:
    """The strictest word on a text: PASS where nothing was found."""
    order = list(Says)
    return max((each.says for each in found), key=order.index, default=Says.PASS)


def refusal(page: str, found: Iterable[Find]) -> str | None:
    """Why a page may not leave, as one sentence, or None when nothing is refused."""
    for each in found:
        if each.says is Says.REFUSE:
            return (
                f"{page}, line {each.line}, bears {each.what} and may not be passed "
                "on: write in your own words what you know without that paper."
            )
    return None


def may_leave(share: Share | None, to_public: bool) -> bool:
    """Whether a page may leave: an open one to anybody, a club's within the club."""
    return share is Share.OPEN or (share is Share.CLUB and not to_public)


def kept_back(page: str, share: Share | None, to_public: bool) -> str | None:
    """Why a page's `share` keeps it here, as one sentence, or None when it may leave.

    >>> kept_back("notes/valve.md", Share.CLUB, to_public=True)
    'notes/valve.md is for members: write "share: open" if anybody may have it.'
    """
    if may_leave(share, to_public):
        return None
    if share is Share.CLUB:
        return f'{page} is for members: write "share: open" if anybody may have it.'
    why = "private" if share is Share.PRIVATE else "missing"
    return (
        f'{page} is for you alone, for its share is {why}: write "share: club" for '
        'members, or "share: open" for anybody.'
    )


# The text as it is looked at

_ALIKE = str.maketrans(
    dict.fromkeys("\u00b4\u2018\u2019\u2032\u02bc", "'")
    | dict.fromkeys("\u201c\u201d\u2033", '"')
    | dict.fromkeys("\u00ba\u02da", "\u00b0")
    | dict.fromkeys("\u24d2\u24b8", "\u00a9")
    | {"\r": "\n"}
)
"""Primes and quotes, degree signs and letters c in a ring that look alike."""

_TAG = re.compile(r"</?[A-Za-z]{1,10} ?/?>")
_WORD = re.compile(r"[^\W_]+")


class _Page(NamedTuple):
    """A text and its words in small letters.

    `places` are where each word begins, and the last one ends, with nothing between.
    """

    text: str
    words: list[str]
    spans: list[tuple[int, int]]
    places: list[int]

    def gap(self, n: int) -> str:
        """What stands between a word and the one before it."""
        return self.text[self.spans[n - 1][1] if n else 0 : self.spans[n][0]]


def _plain(text: str) -> str:
    """The text with as many lines, letters without accents, and nothing unseen."""
    text = text.replace("\r\n", "\n").translate(_ALIKE)
    text = text.replace("&copy;", "\u00a9").replace("&nbsp;", " ")
    if not text.isascii():
        parts = unicodedata.normalize("NFKD", text)
        text = "".join(c for c in parts if unicodedata.category(c) not in ("Mn", "Cf"))
    return _TAG.sub(" ", text)


def _quote(text: str, start: int, at: int) -> str:
    stop = text.find("\n", at)
    line = text[start : len(text) if stop < 0 else stop]
    skipped = 0 if len(line) <= QUOTE else max(0, at - start - QUOTE // 4)
    return " ".join(line[skipped : skipped + QUOTE].split())


# What stands beside a phrase, as one line that the rules below are held against

_REACH, _LONGEST = 6, 24
_ENDS = re.compile(r"[,;!?]|\.\s|\n[ >]?\n")
_BEGINS = re.compile(r"[:|\n;!?]|\. | [-\u2013] ")
_LISTED = re.compile(r"[ >]{0,8}(?:[-+#|]|\* |\d)")
_FILLER = re.compile(
    r"\d+|\w|page|of|copy|no|nr|uk|nato|eu|un|draft|and|or|secret|restricted|private|"
    r"confidential|proprietary|strictly|commercial|staff|management"
)


def _context(page: _Page, first: int, last: int) -> str:
    """How a phrase stands, and the words of its sentence round "<>", where it stands.

    "$" is the end of the sentence: as in "UPPER BEGINS ALONE APART <> $".
    """
    before: list[str] = []
    for n in range(first, max(0, first - _REACH), -1):
        if _ENDS.search(page.gap(n)):
            break
        before.append(page.words[n - 1][:_LONGEST])
    after: list[str] = []
    for n in range(last + 1, last + 1 + _REACH):
        if n == len(page.words) or _ENDS.search(page.gap(n)):
            after.append("$")
            break
        after.append("-" * (page.gap(n) == "-") + page.words[n][:_LONGEST])
    around = f"{' '.join(reversed(before))} <> {' '.join(after)}"
    return f"{_standing(page, first, last)} {around}"


def _standing(page: _Page, first: int, last: int) -> str:
    """UPPER: in capitals; NAME: as a name is written; BEGINS: a sentence or a line.

    ALONE: it fills its line; APART: and that is a paragraph, and no item or heading.
    """
    at, top, bottom = page.spans[first][0], first, last
    written = page.text[at : page.spans[last][1]]
    name = written.isalpha() and written.istitle()
    begins = not first or bool(_BEGINS.search(page.gap(first)))
    says = ["UPPER"] * written.isupper() + ["NAME"] * name + ["BEGINS"] * begins
    while top and "\n" not in page.gap(top) and first - top < _REACH:
        top -= 1
    end = min(len(page.words) - 1, last + _REACH)
    while bottom < end and "\n" not in page.gap(bottom + 1):
        bottom += 1
    others = page.words[top:first] + page.words[last + 1 : bottom + 1]
    if not all(map(_FILLER.fullmatch, others)):
        return " ".join(says)
    sides = [n for n in (top, bottom + 1) if 0 < n < len(page.words)]
    apart = all(page.gap(n).count("\n") > 1 for n in sides)
    listed = _LISTED.match(page.text, page.text.rfind("\n", 0, at) + 1)
    return " ".join([*says, "ALONE"] + ["APART"] * (apart and not listed))


# The markings: what they are called, what their context must match where they are
# everyday words, and the phrases

_PAPER = (
    r"\b(?:documents?|publications?|papers?|manuals?|drawings?|handbooks?|reports?|"
    r"information|contents|booklets?|bulletins?|pages?|text|files?)\b"
)
_OF_PAPER = r"(?:documents?|publications?|papers?|drawings?|reports?|information)\b"
_TOOL = (
    r"(?:link|plug|bus|connector|reader|cable|port|tool|socket|box|unit|panel|lamps?|"
    r"lever|valves?|cab|module|head|arm|rod|knob|pedal)\b"
)
_COPY = "copy reproduce distribute pass share circulate forward disclose publish"
_STAMP = "UPPER.* ALONE"
_LABELLED = (
    rf"{_STAMP}|\bclassifi(?:ed|cation) (?:as |is )?<>|"
    r"BEGINS.*\b(?:sensitivity|caveat|marking|handling) <>"
)
_OWNED = (
    rf"APART|<> {_OF_PAPER}(?! {_TOOL})|UPPER.* (?:marked|stamped|says) <>|"
    rf"{_PAPER}.* (?:is|are|be|was|contains|remains)(?: marked)?(?: as)? <>(?! by)"
)
_BEGUN = rf"(?:BEGINS|{_PAPER}).* <> "
_WHOLE = rf"{_BEGUN}\$"
_COPIED = (
    rf"{_WHOLE}|<> (?:n?or|and) (?:{_COPY.replace(' ', '|')})\b|<> without (?:the|"
    r"leave|permission|consent|written|prior|express|author\w+|approval)\b|"
    rf"<> (?:this|these|any|outside)\b.*{_PAPER}"
)
_FIGURED = r"<>(?! -| intervals?| levels?)"
_GIVEN = (
    r"\b(?:supplied|given?|gave|issued|furnished|disclosed|submitted|told|held|provided|"
    r"shared|lent|received|communicated|strict\w*)\b.* "
)
_OFFICE = r"\b(?:commercial|staff|client|medical|policy|company|industry|official) "
_LIMITED = "limited distribution/restricted distribution/restricted circulation"

_REFUSED = (
    ("a limit of its distribution", "", "distribution authorized to/distribution "
     "authorised to/further dissemination only/limdis/noforn/not releasable to/not for "
     "public release/not for publication/not for onward distribution/not for further "
     "distribution/uk eyes only/us eyes only"),
    ("an export-control warning", "", "export controlled/export restricted/arms export/"
     "export control act/export control law/export control laws/export control warning/"
     "export control regulations/arms regulations/itar/ear99/export administration/"
     "subject to the ear/ear controlled/subject to export/export licence required/"
     "export license required/may not be exported"),
    ("an export-control warning", "UPPER", "ear 99"),
    ("a destruction notice", "", "destruction notice/prevent disclosure of contents"),
    ('"for official use only"', "", "for official use only/official use only/fouo"),
    ('"CUI"', "^(?!.*(?:NAME|<> bono))", "cui"),
    ('"CUI"', "", "controlled unclassified information"),
    ('"official-sensitive"', "", "official sensitive"),
    ('"restricted"', "", "nato restricted/uk restricted/eu restricted/vs nfd/nur fur "
     "den dienstgebrauch/nur fuer den dienstgebrauch/diffusion restreinte"),
    ('"restricted"', _LABELLED, "restricted"),
    ('"confidential"', _LABELLED, "confidential"),
    ('"secret"', _LABELLED, "secret/top secret"),
    ('"limited distribution"', _STAMP, _LIMITED),
    ('"in confidence"', f"{_STAMP}|{_OFFICE}{_FIGURED}", "in confidence"),
    ('"not for release"', rf"{_WHOLE}|{_BEGUN}(?:to|outside|without) ",
     "not for release/not for distribution/not for general release"),
    ("a private key", r"UPPER|\bbegin\b.*<>|<> \w{20}", "private key/age secret key"),
    *((f"a distribution statement {letter}", "", "/".join(
        f"{name} {letter}/{name} no {letter}" for name in ("distribution statement",
        "distribution statements", "distribution stmt", "dist statement", "dist stmt")))
      for letter in "BCDEFX"),
    *((f"TLP:{colour}", "", f"tlp {colour}/tlp level {colour}/traffic light protocol "
       f"{colour}") for colour in ("RED", "AMBER", "AMBER+STRICT")),
)  # fmt: skip
_ASKED = (
    ("a distribution statement without its letter", "", "distribution statement"),
    ("export control", rf"<> (?!{_TOOL})", "export control/export controls"),
    ('"restricted"', rf"{_OWNED}|{_PAPER} <> to\b", "restricted"),
    ('"confidential"', _OWNED, "confidential"),
    ('"confidential"', "", "strictly confidential/private and confidential/company "
     "confidential/commercially confidential"),
    ('"secret"', "APART", "secret/top secret"),
    ('"limited distribution"', "APART", _LIMITED),
    ('"official"', _STAMP, "official"),
    ('"internal"', rf"{_STAMP}|{_WHOLE}", "for internal use only/internal use only/"
     "internal distribution only"),
    ('"in confidence"', f"APART|{_GIVEN}{_FIGURED}", "in confidence"),
    ('"proprietary"', rf"{_STAMP}|{_OWNED}|<> (?:data|notice|rights|legend|to|and "
     rf"(?:confidential|may|must))\b(?! {_TOOL})", "proprietary"),
    ('"proprietary"', "", "limited rights/restricted rights"),
    ('"do not copy"', _COPIED, "/".join(f"do not {verb}" for verb in _COPY.split())),
    ('"do not copy"', _COPIED, "/".join(
        f"{may} {done}" for may in ("may not be", "must not be", "not to be")
        for done in ("copied", "reproduced", "circulated", "disclosed", "communicated")
     )),
    ('"do not copy"', "", "no part of this publication/no part of this document/no "
     "part of this book/reproduction prohibited/copying prohibited/no reproduction/"
     "prior written permission/prior written consent/without written permission"),
    ("a copyright notice", "", "all rights reserved"),
    ("a copyright notice", r"^(?!.*(?:\b(?:no|out of|free of|without) <>|"
     r"<> (?:has|had|is) (?:run|over|expired|lapsed|ended)))", "copyright"),
    ("TLP:GREEN", "", "tlp green/tlp level green/traffic light protocol green"),
)  # fmt: skip
_PASSED = (
    ("a distribution statement A", "", "distribution statement a/dist statement a"),
    ("TLP:CLEAR", "", "tlp clear/tlp white"),
)


class _Phrase(NamedTuple):
    """A phrase without its blanks, where they were, and what its context must match."""

    letters: str
    breaks: frozenset[int]
    says: Says
    what: str
    context: re.Pattern[str] | None


def _phrases() -> Iterator[_Phrase]:
    ruled = ((Says.REFUSE, _REFUSED), (Says.ASK, _ASKED), (Says.PASS, _PASSED))
    for says, rules in ruled:
        for what, context, together in rules:
            pattern = re.compile(context) if context else None
            for phrase in map(str.split, together.lower().replace("+", " ").split("/")):
                breaks = frozenset(accumulate(map(len, phrase)))
                yield _Phrase("".join(phrase), breaks, says, what, pattern)


_PHRASES = tuple(_phrases())
_SIGN = re.compile(
    "[\u00a9\u2117]|"
    r"\([cC]\) {0,3}(?:by )?(?:([12]\d{3})(?!\d)( [a-z]{1,3}(?!\w))?|([A-Z][a-z]))"
)
"""The sign, or (c) before a year that is no amount, or (c) before a name."""


def _markings(text: str) -> Iterator[tuple[Says, Seen]]:
    low = text.lower()
    words = _WORD.findall(low)
    flat, places = "".join(words), [0, *accumulate(map(len, words))]
    hits = [(phrase, hit) for phrase in _PHRASES for hit in _hits(phrase, flat, places)]
    if hits:
        page = _Page(text, words, [word.span() for word in _WORD.finditer(low)], places)
        yield from _borne_out(page, hits)
    listed = "(b)" in low
    for sign in _SIGN.finditer(text):
        if not sign[2] and not (listed and sign[3]):
            yield Says.ASK, Seen(*sign.span(), "a copyright notice")


def _hits(phrase: _Phrase, flat: str, places: list[int]) -> Iterator[tuple[int, int]]:
    """The first and the last of the words that have the letters of a phrase."""
    at = flat.find(phrase.letters)
    while at >= 0:
        end = at + len(phrase.letters)
        first, stop = bisect_left(places, at), bisect_left(places, end)
        if places[first] == at and places[stop] == end:
            yield first, stop - 1
        at = flat.find(phrase.letters, at + 1)


def _borne_out(
    page: _Page, hits: Iterable[tuple[_Phrase, tuple[int, int]]]
) -> Iterator[tuple[Says, Seen]]:
    """The hits whose words are parted as in the phrase, in a context that fits."""
    for phrase, (first, last) in hits:
        at, inner = page.places[first], range(first + 1, last + 1)
        if all(_goes_on(page, n, page.places[n] - at, phrase) for n in inner):
            beside = phrase.context
            if beside is None or beside.search(_context(page, first, last)):
                span = page.spans[first][0], page.spans[last][1]
                yield phrase.says, Seen(*span, phrase.what)


def _goes_on(page: _Page, n: int, letters: int, phrase: _Phrase) -> bool:
    """Whether a word goes on as the phrase does, after so many letters of it."""
    if letters in phrase.breaks:
        return True
    gap = page.gap(n)
    if len(page.words[n - 1]) == len(page.words[n]) == 1:
        return gap.strip() in ("", ".", "-") and len(gap) < 3
    return not gap.strip("*_~`") or (gap[:2] == "-\n" and not gap[2:].strip(" >"))


def _outermost(found: Iterable[tuple[Says, Seen]]) -> Iterator[tuple[Says, Seen]]:
    """What lies in no other, unless it is stricter than what is only asked about."""
    end, over = -1, Says.REFUSE
    for says, seen in sorted(found, key=lambda each: (each[1].at, -each[1].end)):
        if seen.end > end or (says is Says.REFUSE and over is Says.ASK):
            end, over = max(end, seen.end), says
            yield says, seen
