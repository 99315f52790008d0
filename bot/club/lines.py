"""Text of `name: value` lines: what the club's small papers are written in.

A value is one line. A name stands once, unless it is one of those that make a list. The
order of names is fixed, so that the same content is always the same bytes.
"""

import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from bot.model.place import BotError

MOST_BYTES = 65_536
MOST_LINES = 2_000
MOST_LETTERS = 500
"""The longest paper, and the longest value in it."""


class Grammar(NamedTuple):
    """What a paper may say: its name to people, names in order, those that are lists.

    What is in `optional` may be missing. `most_bytes` and `most_lines` bound it whole.
    """

    called: str
    names: tuple[str, ...]
    lists: frozenset[str] = frozenset()
    optional: frozenset[str] = frozenset()
    most_bytes: int = MOST_BYTES
    most_lines: int = MOST_LINES


class PaperError(BotError):
    """A paper that cannot be read, and why."""


Values = Mapping[str, tuple[str, ...]]
"""By name what stands behind it, in order."""


def read(data: bytes, grammar: Grammar) -> Values:
    """What a paper says.

    Raises:
        PaperError: it is no such paper.
    """
    found: dict[str, list[str]] = {}
    last, number = 0, 0
    for number, line in enumerate(_lines(data, grammar), 1):
        name, value = _line(line, number, grammar)
        at = grammar.names.index(name)
        if at < last:
            raise _refused(grammar, number, f"'{name}' is out of its order")
        if name in found and name not in grammar.lists:
            raise _refused(grammar, number, f"'{name}' stands twice")
        found.setdefault(name, []).append(value)
        last = at
    for name in grammar.names:
        free = name in grammar.optional or name in grammar.lists
        if name not in found and not free:
            raise _refused(grammar, number, f"'{name}' is missing")
    return {name: tuple(found.get(name, ())) for name in grammar.names}


def _lines(data: bytes, grammar: Grammar) -> list[str]:
    if len(data) > grammar.most_bytes:
        raise _refused(grammar, 1, f"longer than {grammar.most_bytes} bytes")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise _refused(grammar, 1, "no UTF-8 text") from None
    lines = text.split("\n")
    if lines.pop():
        raise _refused(grammar, len(lines) + 1, "its last line is not ended")
    if len(lines) > grammar.most_lines:
        raise _refused(grammar, 1, f"longer than {grammar.most_lines} lines")
    return lines


def _line(line: str, number: int, grammar: Grammar) -> tuple[str, str]:
    name, colon, value = line.partition(": ")
    if not colon or name not in grammar.names:
        raise _refused(grammar, number, "not known")
    if not value or value != value.strip() or len(value) > MOST_LETTERS:
        raise _refused(grammar, number, f"'{name}' is empty, padded or too long")
    if not value.isprintable():
        raise _refused(grammar, number, f"'{name}' holds a letter that is not shown")
    return name, value


def _refused(grammar: Grammar, number: int, says: str) -> PaperError:
    return PaperError(
        f"{grammar.called}, line {number}: {says}; ask its sender for a whole one"
    )


def write(pairs: Iterable[tuple[str, str | Sequence[str]]], grammar: Grammar) -> bytes:
    """The bytes of a paper that says that; what is empty is left out.

    Raises:
        PaperError: `read` would not take it.
    """
    lines: list[str] = []
    for name, value in pairs:
        values = (value,) if isinstance(value, str) else value
        lines += [f"{name}: {one}" for one in values if one]
    data = "".join(f"{line}\n" for line in lines).encode("utf-8")
    read(data, grammar)
    return data


def one_line(words: str) -> str:
    """What a person typed as one value: blanks closed up, what is not shown left out.

    >>> one_line("  looked at   it, all well ")
    'looked at it, all well'
    """
    text = unicodedata.normalize("NFC", " ".join(words.split()))
    return "".join(letter for letter in text if letter.isprintable())[:MOST_LETTERS]
