"""A page cut into the units its own grammar has; put together again, no letter is lost.

Front matter by names, title, verdict, paragraphs, cautions, items of lists, and each
`###` step with its slanted line, its instructions and its findings. A number in front
of a step or an instruction stands apart from its words, so that one that is only
counted anew is not changed. Any text can be cut: what has no form is paragraphs.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from enum import Enum
from itertools import groupby
from typing import NamedTuple, Union

from bot.club.names import WHOLE as ONCE
from bot.model.place import slug


class What(Enum):
    """What a unit is."""

    PAGE = "page"
    FRONT = "front matter"
    RULE = "line of dashes"
    ENTRY = "name with what stands under it"
    NAME = "name"
    ITEM = "item under a name"
    NOTE = "remark"
    SECTION = "section"
    STEP = "step"
    HEADING = "heading"
    TITLE = "title"
    VERDICT = "verdict"
    FACTS = "slanted line"
    READINGS = "readings"
    PROSE = "text"
    CAUTION = "caution"
    POINTS = "list with dashes"
    POINT = "line with a dash"
    NUMBERS = "numbered list"
    NUMBER = "instruction"
    GROUP = "wordings of one answer"
    LINE = "line"
    ALL = "the whole page"
    TAIL = "end"


class Leaf(NamedTuple):
    """A unit that is not cut further: the empty lines before it, and its words.

    `mark` is its number in its list, as text; `key` is what it is known by where its
    words are changed.
    """

    what: What
    key: str
    gap: tuple[str, ...]
    text: str
    lead: str = ""
    mark: str = ""

    def lines(self) -> tuple[str, ...]:
        """Its lines as they stand on the page."""
        if self.what is What.TAIL:
            return self.gap
        return *self.gap, *f"{self.lead}{self.mark}{self.text}".split("\n")


class Branch(NamedTuple):
    """A unit that holds others, in order."""

    what: What
    key: str
    parts: tuple["Unit", ...]

    def lines(self) -> tuple[str, ...]:
        """Its lines as they stand on the page."""
        return tuple(line for part in self.parts for line in part.lines())


Unit = Union[Leaf, Branch]  # noqa: UP007 - one names the other


def bare(unit: Unit) -> object:
    """What a unit says, whatever its number and the empty lines round it."""
    if isinstance(unit, Leaf):
        return unit.what, unit.text
    return unit.what, tuple(bare(part) for part in unit.parts)


def text_of(unit: Unit) -> str:
    """The text of a unit as it stands on the page."""
    return "\n".join(unit.lines())


_GENERATED = ("acts.txt", "stop-rules/ear.txt")
"""Made by tools from other files: two of them cannot be put together."""

MOST_LETTERS = 1_048_576
"""A longer text is one unit. Our choice: the longest that people write has a third."""


def cut(text: str, path: str = "") -> Branch:
    """The units of a file; `text_of` gives the very same text.

    Args:
        text: any text.
        path: where the file lies in its knowledge base; a page where nothing is said.
    """
    lines = text.split("\n")
    if path in _GENERATED or len(text) > MOST_LETTERS:
        return whole(text)
    if path.endswith(".wordings.txt"):
        return _page(_groups(lines))
    if path.endswith(".yaml"):
        return _page(_entries(lines))
    if path.endswith(".txt"):
        return _page(_lines(lines, lambda _: (What.LINE, "")))
    front = 0 if path in ONCE else _front_end(lines)
    if front is None:
        return whole(text)
    body = list(_body(lines[front:]))
    if path not in ONCE and not any(leaf.what is What.TITLE for leaf in body):
        return whole(text)
    return _page((*_front(lines[:front]), *_sections(body)))


def whole(text: str) -> Branch:
    """A text as one unit."""
    return Branch(What.PAGE, "", (Leaf(What.ALL, "all", (), text),))


def _page(parts: Iterable[Unit]) -> Branch:
    return Branch(What.PAGE, "", tuple(parts))


def _front_end(lines: list[str]) -> int | None:
    """The line behind the front matter; None where there is none that is closed."""
    if lines[0] != "---":
        return None
    found = (n for n, line in enumerate(lines[1:], 2) if line == "---")
    return next(found, None)


def _front(lines: list[str]) -> Iterator[Unit]:
    if lines:
        *held, tail = _entries(lines[1:-1])
        shut = Leaf(What.RULE, "end", tail.lines(), lines[-1])
        parts = (Leaf(What.RULE, "begin", (), lines[0]), *held, shut)
        yield Branch(What.FRONT, "", parts)


_ITEM = re.compile(r" {0,4}- ")
_LETTER = re.compile(r"- \*\*([A-Z])\*\* ")
_COUNTED = re.compile(r"([0-9]{1,3})(\. .*)")
_STEP = re.compile(r"(### )([0-9]{1,3})(\. .*)")
_SLANTED = re.compile(r"\*[^*].*\*")
_LABELLED = re.compile(r"\*\*[A-Z][a-z ]+:\*\* ")
_FENCE = "```"


def _lines(
    lines: list[str], kind: Callable[[str], tuple[What, str] | None]
) -> Iterator[Leaf]:
    """Leaves that begin where `kind` names one; other lines belong to the one before.

    The last is the empty lines at the end.
    """
    gap: list[str] = []
    held: list[str] = []
    opened = Leaf(What.NOTE, "", (), "")
    for line in lines:
        begun = kind(line)
        if not line.strip():
            gap.append(line)
        elif begun or not held:
            if held:
                yield opened._replace(text="\n".join(held))
            what, key = begun or (What.NOTE, "")
            opened, held, gap = Leaf(what, key, tuple(gap), ""), [line], []
        else:
            held += (*gap, line)
            gap = []
    if held:
        yield opened._replace(text="\n".join(held))
    yield Leaf(What.TAIL, "", tuple(gap), "")


def _entry(line: str) -> tuple[What, str] | None:
    if line.startswith("#"):
        return What.NOTE, ""
    if _ITEM.match(line):
        return What.ITEM, ""
    if line[:1] not in ("", " ", "\t"):
        return What.NAME, line.partition(":")[0]
    return None


def _entries(lines: list[str]) -> tuple[Unit, ...]:
    """Names with the items under each; remarks that stand before a name go with it."""
    *leaves, tail = _lines(lines, _entry)
    return *nested(leaves, What.NAME, What.ENTRY), tail


def nested(leaves: Iterable[Unit], opens: What, what: What) -> Iterator[Unit]:
    """Units gathered into branches, each from one that opens to before the next."""
    held: list[Unit] = []
    for leaf in leaves:
        if leaf.what is opens and held:
            yield _branch(held, opens, what)
            held = []
        if leaf.what is opens or held:
            held.append(leaf)
        else:
            yield leaf
    if held:
        yield _branch(held, opens, what)


def _branch(held: list[Unit], opens: What, what: What) -> Branch:
    """A branch known by what opens it, which is its first part whatever it says."""
    first, *rest = held
    return Branch(what, first.key, (first._replace(key=opens.value), *rest))


def _wording(line: str) -> tuple[What, str] | None:
    if line.startswith(("# ", "= ")):
        what = What.HEADING if line[0] == "#" else What.NAME
        return what, line.strip()
    return What.LINE, ""


def _groups(lines: list[str]) -> Iterator[Unit]:
    """Wordings by check and answer: `# check`, under it `= answer`, under it lines."""
    *leaves, tail = _lines(lines, _wording)
    for part in nested(leaves, What.HEADING, What.GROUP):
        if isinstance(part, Branch):
            answers = tuple(nested(part.parts, What.NAME, What.GROUP))
            yield part._replace(parts=answers)
        else:
            yield part
    yield tail


def _body(lines: list[str]) -> Iterator[Leaf]:
    """The leaves of running Markdown, in order."""
    gap: list[str] = []
    held: list[str] = []
    opened = Leaf(What.PROSE, "", (), "")
    in_diagram = False
    for line in lines:
        if in_diagram:
            in_diagram = line != _FENCE
            held += (*gap, line)
            gap = []
        elif not line.strip():
            gap.append(line)
        elif held and not gap and _goes_on(opened, line):
            held.append(line)
        else:
            if held:
                yield _named(opened, held)
            in_diagram = line.startswith(_FENCE)
            opened = _begun(line, tuple(gap))
            held, gap = [opened.text], []
    if held:
        yield _named(opened, held)
    yield Leaf(What.TAIL, "", tuple(gap), "")


def _goes_on(opened: Leaf, line: str) -> bool:
    """Whether a line belongs to the unit that the line before it belongs to."""
    begun = _begun(line, ())
    if begun.what is What.CAUTION:
        return opened.what is What.CAUTION
    is_heading = opened.what in (What.HEADING, What.TITLE, What.STEP)
    return not is_heading and begun.what is What.PROSE and not line.startswith(_FENCE)


def _begun(line: str, gap: tuple[str, ...]) -> Leaf:
    if step := _STEP.fullmatch(line):
        title = step[3].removeprefix(". ")
        return Leaf(What.STEP, slug(title), gap, step[3], step[1], step[2])
    if line.startswith("### "):
        return Leaf(What.STEP, slug(line[4:]), gap, line)
    if line.startswith("## "):
        return Leaf(What.HEADING, line[3:], gap, line)
    if line.startswith("# "):
        return Leaf(What.TITLE, "title", gap, line)
    if line.startswith(">"):
        return Leaf(What.CAUTION, "", gap, line)
    if line.startswith("- "):
        return Leaf(What.POINT, "", gap, line)
    if number := _COUNTED.fullmatch(line):
        return Leaf(What.NUMBER, "", gap, number[2], "", number[1])
    return Leaf(What.PROSE, "", gap, line)


def _named(opened: Leaf, lines: list[str]) -> Leaf:
    """A leaf with all its lines, and with what it is known by."""
    text = "\n".join(lines)
    leaf = opened._replace(text=text)
    if leaf.what is What.POINT:
        letter = _LETTER.match(text)
        return leaf._replace(key=letter[1] if letter else text.partition(": ")[0])
    if leaf.what is not What.PROSE:
        return leaf
    if text.startswith("**May it move:**"):
        return leaf._replace(what=What.VERDICT, key="verdict")
    if text.startswith("Readings:"):
        return leaf._replace(what=What.READINGS, key="readings")
    if _SLANTED.fullmatch(text):
        return leaf._replace(what=What.FACTS, key="facts")
    label = _LABELLED.match(text)
    return leaf._replace(key=label[0]) if label else leaf


_LISTS = {What.POINT: What.POINTS, What.NUMBER: What.NUMBERS}


def _sections(leaves: list[Leaf]) -> Iterator[Unit]:
    """Leaves gathered into lists, these into steps, these into sections."""
    *held, tail = leaves
    blocks: list[Unit] = []
    for what, run in groupby(held, key=lambda leaf: leaf.what):
        one = tuple(run)
        blocks += (Branch(_LISTS[what], "", one),) if what in _LISTS else one
    for section in nested(blocks, What.HEADING, What.SECTION):
        if isinstance(section, Branch) and section.what is What.SECTION:
            steps = tuple(nested(section.parts, What.STEP, What.STEP))
            yield section._replace(parts=steps)
        else:
            yield section
    yield tail
