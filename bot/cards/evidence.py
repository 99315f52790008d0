"""The one-line grammars of causes and findings: reader and writer side by side.

A reader takes a list item without its dash and gives back the noun, or the fault with
what to write instead. The writer gives back the line that the reader takes.
"""

import re

from bot import units
from bot.model.card import (
    REST,
    Bearing,
    Cause,
    Drive,
    Finding,
    Limit,
    Link,
    Often,
    Strength,
)
from bot.model.place import Fault, Place, slug

NAME = r"[^,:;.()\[\]]+"
LINK = r"\[([^\[\]]+)\]\(([^()\s]+)\)"
_LINK = re.compile(LINK)
_CAUSE = re.compile(
    rf"({NAME}) \(([a-z ]+)\): ({LINK}(?: or {LINK})*)(?:\. (\S.*[.!?]))?"
)
_NAMED = re.compile(rf"({NAME}) \([a-z ]+\)")
_LAST_PART = re.compile(
    rf" (?:(Next|Go to|Stop): {LINK}"
    rf"|(Drive): ([a-z ]+?)(?: until ({LINK}(?: or {LINK})*))?)\.$"
)
_LIMIT = re.compile(
    r"(?:under (?P<under>NUM) (?P<u1>\S.*)"
    r"|(?P<low>NUM) to (?P<high>NUM) (?P<u2>\S.*)"
    r"|(?P<over>NUM) (?P<u3>\S.*) or more)".replace("NUM", r"-?[0-9]+(?:\.[0-9]+)?")
)


def words_of(kind: type[Drive] | type[Often]) -> str:
    """The words of a closed set, for a fault's advice."""
    return ", ".join(f"'{member.value}'" for member in kind)


def read_cause(text: str, place: Place) -> Cause | Fault:
    """``Split hose (common): [change the hose](#change-the-hose)`` with a remark."""
    found = _CAUSE.fullmatch(text)
    if found is None and not _LINK.search(text) and cause_named(text):
        return Fault(
            place,
            f"cause '{cause_named(text)}' leads to no repair; write after it "
            "': [the repair](#its-heading)'",
        )
    if found is None:
        return Fault(
            place,
            "not a cause; write 'Name (usual): [the repair](#its-heading)', the name "
            "without comma, colon, full stop or bracket",
        )
    often = next((o for o in Often if o.value == found[2]), None)
    if often is None:
        return Fault(place, f"'{found[2]}' is not how often; write {words_of(Often)}")
    links = tuple(Link(label, to) for label, to in _LINK.findall(found[3]))
    return Cause(found[1], often, links, found[8] or "", place)


def cause_named(text: str) -> str:
    """The name that a line among the causes begins with, be the rest as it may.

    >>> cause_named("Split hose (common), no repair yet")
    'Split hose'
    """
    found = _NAMED.match(text)
    return found[1] if found else ""


def write_cause(cause: Cause) -> str:
    """The line that `read_cause` takes."""
    links = " or ".join(map(write_link, cause.repairs))
    note = f". {cause.note}" if cause.note else ""
    return f"{cause.name} ({cause.often.value}): {links}{note}"


def write_link(link: Link) -> str:
    """The Markdown of a link."""
    return f"[{link.label}]({link.target})"


def read_finding(text: str, place: Place, names: dict[str, str]) -> Finding | Fault:
    """A finding, such as ``No, silent: rules out A, points to B. Next: [x](#x).``.

    Args:
        text: the line.
        place: where it stands.
        names: the causes of the card, id -> name.
    """
    answer, colon, rest = text.partition(": ")
    if not colon or not answer.strip():
        return Fault(
            place,
            "not a finding; write 'ANSWER: what it says about the causes.', or "
            "'ANSWER: no bearing.'",
        )
    said, trailers = _split_trailers(f" {rest}")
    if not said.endswith("."):
        return Fault(
            place,
            f"cannot read '{said.strip()[-40:]}'; end the bearings and every part "
            "after them with a full stop, as in 'points to X. Next: [do it](#do-it).'",
        )
    bearings = _read_bearings(said.strip()[:-1], place, names)
    if isinstance(bearings, Fault):
        return bearings
    return _finding(answer, bearings, trailers, place)


def _split_trailers(rest: str) -> tuple[str, list[tuple[str, str, str]]]:
    """The text before the first trailer, and (word, label, target) of each trailer.

    Of "Drive" the label is the links after "until", the target the verdict.
    """
    trailers: list[tuple[str, str, str]] = []
    while found := _LAST_PART.search(rest):
        word, label, target, drive, verdict, until = found.groups(default="")[:6]
        if drive:
            trailers.insert(0, (drive, until, verdict))
        else:
            trailers.insert(0, (word, label, target))
        rest = rest[: found.start()]
    return rest, trailers


def _read_bearings(
    said: str, place: Place, names: dict[str, str]
) -> tuple[Bearing, ...] | Fault:
    if said == "no bearing":
        return ()
    bearings: list[Bearing] = []
    strength: Strength | None = None
    for part in said.split(", "):
        opening = next((s for s in Strength if part.startswith(f"{s.value} ")), None)
        name = part.removeprefix(f"{opening.value} ") if opening else part
        strength = opening or strength
        if strength is None:
            return Fault(
                place,
                f"'{part[:40]}' does not begin with 'confirms', 'points to', 'points "
                "away from', 'rules out' or 'no bearing'",
            )
        cause = REST if name == REST else slug(name)
        if cause != REST and cause not in names:
            return Fault(place, f"no cause is called '{name}'{_nearest(name, names)}")
        if any(bearing.cause == cause for bearing in bearings):
            return Fault(place, f"'{name}' stands twice in this finding; keep one")
        bearings.append(Bearing(strength, cause))
    return tuple(bearings)


def _nearest(name: str, names: dict[str, str]) -> str:
    """Advice naming the cause that shares most words with a wrong name."""
    wanted = set(slug(name).split("-"))
    best = max(names, key=lambda c: len(wanted & set(c.split("-"))), default=None)
    if best is None or not wanted & set(best.split("-")):
        return "; use the words of the list of causes"
    return f"; did you mean '{names[best][:1].lower()}{names[best][1:]}'?"


def _finding(
    answer: str,
    bearings: tuple[Bearing, ...],
    trailers: list[tuple[str, str, str]],
    place: Place,
) -> Finding | Fault:
    links: dict[str, Link] = {}
    drive: Drive | None = None
    until: tuple[Link, ...] = ()
    for word, label, target in trailers:
        if word in links or (word == "Drive" and drive):
            return Fault(place, f"'{word}:' stands twice in this finding; keep one")
        if word == "Drive":
            until = tuple(Link(*found) for found in _LINK.findall(label))
            drive = next((d for d in Drive if d.value == target), None)
            if drive is None:
                return Fault(
                    place, f"'{target}' is no drive verdict; write {words_of(Drive)}"
                )
        else:
            links[word] = Link(label, target)
    return Finding(
        answer,
        bearings,
        next=links.get("Next"),
        go_to=links.get("Go to"),
        stop=links.get("Stop"),
        drive=drive,
        until=until,
        limit=read_limit(answer),
        place=place,
    )


def write_finding(finding: Finding, names: dict[str, str]) -> str:
    """The line that `read_finding` takes; `names` are the causes, id -> name."""
    said: list[str] = []
    strength: Strength | None = None
    for bearing in finding.bearings:
        name = REST if bearing.cause == REST else _in_running_text(names[bearing.cause])
        same = bearing.strength is strength
        said.append(name if same else f"{bearing.strength.value} {name}")
        strength = bearing.strength
    parts = [f"{finding.answer}: {', '.join(said) or 'no bearing'}."]
    for word, link in (
        ("Next", finding.next),
        ("Go to", finding.go_to),
        ("Stop", finding.stop),
    ):
        if link:
            parts.append(f"{word}: {write_link(link)}.")
    if finding.drive:
        until = " or ".join(map(write_link, finding.until))
        closes = f" until {until}" if until else ""
        parts.append(f"Drive: {finding.drive.value}{closes}.")
    return " ".join(parts)


def _in_running_text(name: str) -> str:
    """A cause's name inside a sentence: small first letter, unless it is an initial.

    >>> _in_running_text("Split hose"), _in_running_text("ABS ring loose")
    ('split hose', 'ABS ring loose')
    """
    if name[1:2].isupper() or not name[1:2].isalpha():
        return name
    return name[:1].lower() + name[1:]


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
