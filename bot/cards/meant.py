"""What an author meant by a line that is nearly right.

Each function gives the line as it should stand, or one that can be read no better than
the first; the caller reads it again and believes only what then reads.
"""

import re
from collections.abc import Mapping
from difflib import get_close_matches

from bot import units
from bot.model.kinds import Drive, Strength

Steps = Mapping[str, str]
"""By how a step is called on paper ("repair 1"), the whole link that leads there."""

_NUM, _UNIT = r"(-?[0-9]+(?:\.[0-9]+)?)", r"(\S.*?)"
_SPANS = (
    (
        rf"(?:under|below|less than|up to|at most|[<≤]=?) ?{_NUM} ?{_UNIT}",
        "under {} {}",
    ),
    (rf"{_NUM} ?{_UNIT} (?:or|and) (?:under|below|less)", "under {} {}"),
    (
        rf"(?:over|above|more than|at least|from|[>≥]=?) ?{_NUM} ?{_UNIT}",
        "{} {} or more",
    ),
    (rf"{_NUM} ?{_UNIT} (?:or|and) (?:over|above|more|up|upwards)", "{} {} or more"),
    (
        rf"(?:between |from )?{_NUM} ?(?:-|\u2013|to|and) ?{_NUM} ?{_UNIT}",
        "{} to {} {}",
    ),
)
_LIMITS = tuple((re.compile(said, re.IGNORECASE), form) for said, form in _SPANS)


def meant_limit(answer: str) -> str:
    """The limit that an answer means without saying it in the words of one.

    >>> meant_limit("over 20 volts"), meant_limit("5-6 bar"), meant_limit("it hums")
    ('20 V or more', '5 to 6 bar', '')
    """
    for pattern, form in _LIMITS:
        found = pattern.fullmatch(answer)
        unit = units.unit(found[found.lastindex or 0]) if found else None
        if found and unit:
            said = form.format(*found.groups()[:-1], unit.symbol)
            return said if said != answer else ""
    return ""


_STRENGTHS = "|".join(strength.value for strength in Strength)
_BEARING = re.compile(
    rf"\b({_STRENGTHS}) (?:for )?([A-Z](?:(?:, ?| and |, and )[A-Z])*)\b", re.IGNORECASE
)
_NEXT_BEARING = re.compile(rf"(?:,|;|,? and) *(?=(?:{_STRENGTHS}) [A-Z]\b)", re.I)
_STEP = r"(?:do )?(check|repair) ([0-9]+)"
_UNLINKED = re.compile(rf"([Tt]hen) {_STEP}(?!\])")
_LEAD = re.compile(r"(?<=[.;,] )(then|go to|stop:)(?= \[)", re.IGNORECASE)
_TAIL = re.compile(
    rf"[.;,] ({'|'.join(d.value for d in Drive)})(?=\.| until )", re.IGNORECASE
)
_LEADS = {"then": "Then", "go to": "Go to", "stop:": "Stop:"}


def meant_finding(text: str, steps: Steps) -> str:
    """A finding with its colons, capitals, links and full stops put right.

    >>> meant_finding("No: silent: not A, Likely b", {})
    'No, silent: not A; likely B.'
    """
    answer, _, rest = text.partition(": ")
    if answer in ("Yes", "No") and ": " in rest:
        more, _, rest = rest.partition(": ")
        answer = f"{answer}, {more}"
    rest = _UNLINKED.sub(lambda found: _linked(found, steps), rest)
    rest = _LEAD.sub(lambda found: _LEADS[found[1].lower()], rest)
    rest = f"{rest.rstrip('. ')}."
    rest = _TAIL.sub(lambda found: f". {found[1].capitalize()}", rest)
    rest = _NEXT_BEARING.sub("; ", rest)
    return f"{answer}: {_BEARING.sub(_bearing, rest)}"


def _bearing(found: re.Match[str]) -> str:
    letters = re.findall(r"\b[A-Za-z]\b", found[2])
    return f"{found[1].lower()} {', '.join(letters).upper()}"


def _linked(found: re.Match[str], steps: Steps) -> str:
    """What leads to a step by its number, with the whole link if that is known."""
    link = steps.get(f"{found[2]} {found[3]}")
    return f"Then {link}" if link else found[0]


_CAUSE = re.compile(
    r"[*_]*([A-Za-z])[*_.):]* +(\S.*?),? \(([^()]+)\)[:.,;]? *(\S.*)", re.DOTALL
)
_BARE_STEP = re.compile(rf"\b(){_STEP}\b(?!\])", re.IGNORECASE)


def meant_cause(text: str, steps: Steps) -> str:
    """A cause with its letter, its bracket and its links put right.

    >>> meant_cause("b. Worn pump (Rare) [repair 1](#1-mend)", {})
    '**B** Worn pump (rare): [repair 1](#1-mend)'
    """
    found = _CAUSE.fullmatch(text)
    if found is None:
        return text
    leads = _BARE_STEP.sub(
        lambda bare: steps.get(f"{bare[2].lower()} {bare[3]}", bare[0]), found[4]
    )
    letter, often = found[1].upper(), found[3].lower()
    bare = leads.removesuffix(".") if leads.endswith(").") else leads
    return f"**{letter}** {found[2]} ({often}): {bare}"


_LETTER = re.compile(r"[*_]*([A-Za-z])[*_.):]* ")


def meant_letter(text: str) -> str:
    """The letter that a line among the causes begins with; "" for none."""
    found = _LETTER.match(text)
    return found[1].upper() if found else ""


_LABELS = r"(?:do first|only|not before|parts?|tools?|truck|fact|does|after|home)"
_PARTED = re.compile(rf"[;,.]\s*(?={_LABELS}\s*:)|;\s*", re.IGNORECASE)
_LABEL = re.compile(rf"({_LABELS})\b\s*:?\s*(.*)", re.IGNORECASE | re.DOTALL)
_TIME = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?([a-z]+)\.?", re.IGNORECASE)
_IN_BRACKETS = re.compile(r"\([A-Za-z]+\)")
_PLURAL = {"part": "parts", "tool": "tools"}


def meant_needs(text: str) -> str:
    """What a step takes, with its time first and its parts well parted.

    >>> meant_needs("_Tools: torch, truck: engine off; 5 minutes_")
    '5 min; tools: torch; truck: engine off'
    """
    parts = [part for part in _PARTED.split(text.strip("*_. ")) if part.strip()]
    times = [time for part in parts if (time := _time(part.strip()))]
    rest = [_labelled(part.strip()) for part in parts if not _time(part.strip())]
    return "; ".join(times[:1] + rest)


def _time(text: str) -> str:
    """The time that a part is, as durations are written; "" for another part."""
    found = _TIME.fullmatch(text)
    unit = units.unit(found[2]) if found else None
    if found is None or unit is None or unit.kind != "time":
        return ""
    is_days = unit.symbol == "day" and found[1] != "1"
    return f"{found[1]} {unit.symbol}{'s' if is_days else ''}"


def _labelled(part: str) -> str:
    found = _LABEL.fullmatch(part)
    if found is None:
        return part
    label = _PLURAL.get(found[1].lower(), found[1].lower())
    said = _IN_BRACKETS.sub(lambda word: word[0].lower(), found[2])
    return f"{label}: {said}" if said else label


_MAY_IT_MOVE = re.compile(r"[*_]*may it move[?:*_ ]*([a-z, ]+?)[.*_ ]*", re.IGNORECASE)


def meant_verdict(text: str) -> str:
    """The line under the title, with its stars, its colon and its full stop."""
    found = _MAY_IT_MOVE.fullmatch(text)
    return f"**May it move:** {found[1].lower()}." if found else text


def meant_name(said: str, names: tuple[str, ...]) -> str:
    """The one of some names that another is nearly the same as; "" for none."""
    bare = {name.lower(): name for name in names}
    near = get_close_matches(said.lower().strip(" :."), bare, n=1, cutoff=0.75)
    return bare[near[0]] if near else ""


_NUMBERED = re.compile(
    r"(?:(?:check|repair|step) )?[0-9]{1,3}[.):]* +(\S.*)", re.IGNORECASE
)


def meant_title(title: str) -> str:
    """A heading's text without whatever number it begins with.

    >>> meant_title("Repair 1: Close it"), meant_title("2) Close it")
    ('Close it', 'Close it')
    """
    found = _NUMBERED.fullmatch(title)
    return found[1] if found else title
