"""The one-line grammars of causes and findings: reader and writer side by side.

A reader takes a list item without its dash and gives back the noun, or the fault with
what to write instead. The writer gives back the line that the reader takes. Findings
speak of causes by letter; links within a page carry the number of the check or repair,
for a reader on paper, and its heading, for one on a screen.
"""

import re
from collections.abc import Mapping

from bot import units
from bot.cards.fitted import read_only
from bot.model.card import (
    REST,
    Bearing,
    Card,
    Cause,
    Drive,
    Finding,
    Limit,
    Link,
    Often,
    Strength,
)
from bot.model.fitted import in_words
from bot.model.place import Fault, Place

NAME = r"[^,:;.()\[\]]+"
LINK = r"\[([^\[\]]+)\]\(([^()\s]+)\)"
_LINK = re.compile(LINK)
_LINKS = rf"{LINK}(?: or {LINK})*"
_CAUSE = re.compile(
    rf"\*\*([A-Z])\*\* ({NAME}) \(([a-z ]+)(?:, only ([^()]+))?\): "
    rf"({_LINKS})(?:\. (\S.*[.!?]))?"
)
_NAMED = re.compile(rf"\*\*([A-Z])\*\* ({NAME}) \([^()]+\)")
_VERDICT = re.compile(
    rf" ({'|'.join(drive.value.capitalize() for drive in Drive)})"
    rf"(?: until ({_LINKS}))?\.$"
)
_LEAD = re.compile(rf" (Then|Go to|Stop:) {LINK}\.$")
_LETTERS = re.compile(r"[A-Z](?:, [A-Z])*")
_NUMBERED = re.compile(r"#[0-9]+-(.+)")
_LIMIT = re.compile(
    r"(?:under (?P<under>NUM) (?P<u1>\S.*)"
    r"|(?P<low>NUM) to (?P<high>NUM) (?P<u2>\S.*)"
    r"|(?P<over>NUM) (?P<u3>\S.*) or more)".replace("NUM", r"-?[0-9]+(?:\.[0-9]+)?")
)
NOTHING = "tells nothing"
"""What a finding says that bears on no cause."""

MOST_ANSWER = 200
"""Letters of an answer: it is a row to pick. Our choice."""

Labels = Mapping[str, str]
"""By the id of a check or repair of a page, how a link calls it: "repair 3"."""


def labels_of(card: Card) -> dict[str, str]:
    """How links call the checks and repairs of a card, by id: "repair 3"."""
    checks = {check.id: f"check {n}" for n, check in enumerate(card.checks, 1)}
    return checks | {r.id: f"repair {n}" for n, r in enumerate(card.repairs, 1)}


def words_of(kind: type[Drive] | type[Often]) -> str:
    """The words of a closed set, for a fault's advice."""
    return ", ".join(f"'{member.value}'" for member in kind)


def read_cause(text: str, place: Place) -> Cause | Fault:
    """``**A** Split hose (common): [repair 1](#1-change-the-hose)`` with a remark."""
    found = _CAUSE.fullmatch(text)
    named = cause_named(text)
    if found is None and not _LINK.search(text) and named:
        return Fault(
            place,
            f"cause '{named[1]}' leads to no repair; write after it "
            "': [repair 1](#1-its-heading)'",
        )
    if found is None:
        return Fault(
            place,
            "not a cause; write '**A** Name (usual): [repair 1](#1-its-heading)', the "
            "name without comma, colon, full stop or bracket",
        )
    often = next((o for o in Often if o.value == found[3]), None)
    if often is None:
        return Fault(place, f"'{found[3]}' is not how often; write {words_of(Often)}")
    only = read_only(found[4], place) if found[4] else ()
    if isinstance(only, Fault):
        return only
    links = _read_links(found[5])
    return Cause(found[2], often, links, found[10] or "", found[1], only, place)


def cause_named(text: str) -> tuple[str, str] | None:
    """The letter and name that a line among the causes begins with, if it does.

    >>> cause_named("**B** Split hose (common), no repair yet")
    ('B', 'Split hose')
    """
    found = _NAMED.match(text)
    return (found[1], found[2]) if found else None


def write_cause(cause: Cause, labels: Labels) -> str:
    """The line that `read_cause` takes."""
    links = _write_links(cause.repairs, labels)
    note = f". {cause.note}" if cause.note else ""
    only = f", only {in_words(cause.only)}" if cause.only else ""
    often = f"{cause.often.value}{only}"
    return f"**{cause.letter}** {cause.name} ({often}): {links}{note}"


def _read_links(text: str) -> tuple[Link, ...]:
    return tuple(Link(label, bare(to)) for label, to in _LINK.findall(text))


def bare(target: str) -> str:
    """A link's target without the number of the heading that it leads to.

    >>> bare("#3-change-the-hose"), bare("../brakes/a-card.md")
    ('#change-the-hose', '../brakes/a-card.md')
    """
    found = _NUMBERED.fullmatch(target)
    return f"#{found[1]}" if found else target


def _write_links(links: tuple[Link, ...], labels: Labels) -> str:
    return " or ".join(write_link(link, labels) for link in links)


def write_link(link: Link, labels: Labels) -> str:
    """The Markdown of a link; one within the page by number and heading."""
    label = labels.get(link.target.removeprefix("#"))
    if label is None or not link.target.startswith("#"):
        return f"[{link.label}]({link.target})"
    return f"[{label}](#{label.split()[1]}-{link.target[1:]})"


def read_finding(
    text: str, place: Place, letters: Mapping[str, str]
) -> Finding | Fault:
    """A finding, such as ``No, silent: not A; likely B. Then [check 2](#2-x).``.

    Args:
        text: the line.
        place: where it stands.
        letters: the causes of the card, letter -> id.
    """
    answer, colon, rest = text.partition(": ")
    if not colon or not answer.strip():
        return Fault(
            place,
            "not a finding; write 'ANSWER: what it says about the causes.', or "
            f"'ANSWER: {NOTHING}.'",
        )
    if len(answer) > MOST_ANSWER:
        return Fault(
            place, f"an answer of {len(answer)} letters; say it in a few words"
        )
    said, drive, until = _split_verdict(f" {rest}")
    said, leads = _split_leads(said)
    if not said.endswith("."):
        return Fault(
            place,
            f"cannot read '{said.strip()[-40:]}'; end what it tells and every part "
            "after it with a full stop, as in 'likely A. Then [check 2](#2-do-it).'",
        )
    bearings = _read_bearings(said.strip()[:-1], place, letters)
    if isinstance(bearings, Fault):
        return bearings
    twice = next((w for w in ("Then", "Go to", "Stop:") if len(leads[w]) > 1), None)
    if twice:
        return Fault(place, f"'{twice}' stands twice in this finding; keep one")
    one = {word: found[0] if found else None for word, found in leads.items()}
    return Finding(
        answer,
        bearings,
        next=one["Then"],
        go_to=one["Go to"],
        stop=one["Stop:"],
        drive=drive,
        until=until,
        limit=read_limit(answer),
        place=place,
    )


def _split_verdict(rest: str) -> tuple[str, Drive | None, tuple[Link, ...]]:
    """The text before a verdict at its end, the verdict, and until when it holds."""
    found = _VERDICT.search(rest)
    if found is None:
        return rest, None, ()
    drive = next(d for d in Drive if d.value == found[1].lower())
    return rest[: found.start()], drive, _read_links(found[2] or "")


def _split_leads(rest: str) -> tuple[str, dict[str, list[Link]]]:
    """The text before the first lead, and the links after each word for one."""
    leads: dict[str, list[Link]] = {"Then": [], "Go to": [], "Stop:": []}
    while found := _LEAD.search(rest):
        leads[found[1]].append(Link(found[2], bare(found[3])))
        rest = rest[: found.start()]
    return rest, leads


def _read_bearings(
    said: str, place: Place, letters: Mapping[str, str]
) -> tuple[Bearing, ...] | Fault:
    if said == NOTHING:
        return ()
    bearings: list[Bearing] = []
    for part in said.split("; "):
        word, _, names = part.partition(" ")
        strength = next((s for s in Strength if s.value == word), None)
        if strength and ". " in names:
            return Fault(place, f"cannot read '{names.partition('. ')[2]}'; {TAIL}")
        if strength is None or not (names == REST or _LETTERS.fullmatch(names)):
            return Fault(place, f"cannot read '{part[:40]}'; {HOW_TO_BEAR}")
        for letter in [names] if names == REST else names.split(", "):
            if letter not in letters and letter != REST:
                known = ", ".join(sorted(letters))
                return Fault(place, f"no cause has the letter {letter}; use {known}")
            cause = letters.get(letter, REST)
            if any(bearing.cause == cause for bearing in bearings):
                return Fault(
                    place, f"'{letter}' stands twice in this finding; keep one"
                )
            bearings.append(Bearing(strength, cause))
    return tuple(bearings)


HOW_TO_BEAR = (
    f"write '{NOTHING}', or 'sure', 'likely', 'hardly' or 'not' with the letters of "
    "causes, as in 'likely A, C; not B'"
)


TAIL = (
    "after what it tells come, each with its full stop, 'Then [...](...)', 'Go to "
    f"[...](...)', 'Stop: [...](...)', and last one of {words_of(Drive)}; advice in "
    "other words belongs into the steps above, or into a repair"
)


def write_finding(finding: Finding, letters: Mapping[str, str], labels: Labels) -> str:
    """The line that `read_finding` takes.

    Args:
        finding: the finding.
        letters: the causes of the card, id -> letter.
        labels: how links call the checks and repairs of the page.
    """
    said: list[str] = []
    strength: Strength | None = None
    for bearing in finding.bearings:
        name = letters.get(bearing.cause, REST)
        if bearing.strength is strength and REST not in (name, said[-1][-len(REST) :]):
            said[-1] += f", {name}"
        else:
            said.append(f"{bearing.strength.value} {name}")
        strength = bearing.strength
    parts = [f"{finding.answer}: {'; '.join(said) or NOTHING}."]
    leads = (("Then", finding.next), ("Go to", finding.go_to), ("Stop:", finding.stop))
    parts += [f"{word} {write_link(link, labels)}." for word, link in leads if link]
    if finding.drive:
        until = _write_links(finding.until, labels)
        closes = f" until {until}" if until else ""
        parts.append(f"{finding.drive.value.capitalize()}{closes}.")
    return " ".join(parts)


def read_limit(answer: str) -> Limit | None:
    """The span an answer such as ``0.1 bar/min or more`` names; None for others."""
    found = _LIMIT.fullmatch(answer)
    if found is None:
        return None
    unit = found["u1"] or found["u2"] or found["u3"]
    if unit not in units.SYMBOLS:
        return None
    low = found["low"] or found["over"]
    high = found["high"] or found["under"]
    return Limit(float(low) if low else None, float(high) if high else None, unit)
