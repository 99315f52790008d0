"""Numbers said in words, put into figures: the one grammar of spoken numbers.

    "thirty one and a bit volts" -> "31 volts", "one point eight k" -> "1.8 k"

What the words are worth stands in `kb/speech.yaml`; which word is a unit, in
`bot.units`. A bare "one", "a" or "second" stays a word, for it counts nothing there.
"""

import re
from collections.abc import Mapping, Sequence

from bot.units import unit

_TOKEN = re.compile(r"[a-z]+|[0-9]+(?:[.,][0-9]+)?|[^a-z0-9]+")
_GAP = re.compile(r" |-|")

MOST_SCALE = 1000.0
SHARES = {"half": 0.5, "quarter": 0.25, "quarters": 0.25}
"""The two shares that are said of a unit, "half a bar", and after "and a"."""

PARTS = {"third": 0.333, "tenth": 0.1, "hundredth": 0.01}
PARTS |= {f"{part}s": share for part, share in PARTS.items()}
"""Shares that are said with "of" alone: "nine tenths of a bar", but no "third hour"."""

PAIRS = (2.0, 12.0)
"""What "a couple of" and "a dozen of" are worth."""

_ARTICLES = ("a", "an", "one")
INCHES = "in"
"""A unit that is a plain word too: "fell in an hour"."""


_FIGURES = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
"""A number in figures; digits of other scripts are letters."""


def in_figures(text: str, numbers: Mapping[str, float]) -> str:
    """The text in small letters with every number that counts something in figures.

    >>> words = {"one": 1, "six": 6, "eight": 8, "thirty": 30, "hundred": 100}
    >>> in_figures("thirty one and a half volts, eight hundred and six", words)
    '31.5 volts, 806'
    >>> in_figures("one point eight k, half a bar; no one came", words)
    '1.8 k, 0.5 bar; no one came'
    """
    tokens = _TOKEN.findall(text.lower())
    out: list[str] = []
    at = 0
    while at < len(tokens):
        found = _share(tokens, at, numbers) or _number(tokens, at, numbers)
        if found is None:
            half = _unit_and_half(tokens, at)
            out += half[0] if half else [tokens[at]]
            at = half[1] if half else at + 1
            continue
        value, at = found
        more = _half_after_unit(tokens, at)
        if more:
            out += [f"{value + more[0]:.6g}", *tokens[at : more[1]]]
            at = more[2]
        else:
            out.append(f"{value:.6g}")
    return _OF_A_UNIT.sub(_without_of, "".join(out))


_OF_A_UNIT = re.compile(r"([0-9]) of (?:a|an|1) ([a-z]+)")


def _without_of(found: re.Match[str]) -> str:
    """The text of `0.1 of a volt` without the words between number and unit."""
    return f"{found[1]} {found[2]}" if unit(found[2]) else found[0]


AND = frozenset(("and", "n", "an", "nd"))
"""How "and" is said between numbers: "an hour n half"."""


def _word(tokens: Sequence[str], at: int) -> str:
    """The token at a place, or nothing past the end."""
    return tokens[at] if at < len(tokens) else ""


def _next(tokens: Sequence[str], at: int) -> int:
    """Where the next word stands, if only a blank or a hyphen lies between."""
    return at + 2 if _GAP.fullmatch(_word(tokens, at + 1)) else len(tokens)


def _counts_units(tokens: Sequence[str], at: int) -> bool:
    """Whether a unit, longer than a letter, begins at that word."""
    return len(_word(tokens, at)) > 1 and unit(tokens[at]) is not None


def _share(
    tokens: Sequence[str], at: int, numbers: Mapping[str, float]
) -> tuple[float, int] | None:
    """`half a bar`, `three quarters of an hour`, `a quarter of a bar`."""
    count, first = 1.0, at
    if tokens[at] in numbers or tokens[at] in _ARTICLES:
        count, first = numbers.get(tokens[at], 1.0), _next(tokens, at)
    elif tokens[at].isascii() and tokens[at].isdigit():
        count, first = float(tokens[at]), _next(tokens, at)
    share = (SHARES | PARTS).get(_word(tokens, first))
    after = _next(tokens, first) if share else first
    of = _word(tokens, after) == "of"
    if share is None or not (of or tokens[first] in SHARES):
        return None
    value = count * share
    if of:
        after = _next(tokens, after)
    if _word(tokens, after) in _ARTICLES:
        after = _next(tokens, after)
    return (value, after - 1) if _counts_units(tokens, after) else None


def _number(
    tokens: Sequence[str], at: int, numbers: Mapping[str, float]
) -> tuple[float, int] | None:
    """A number in words, or one in figures with "and a half" behind it."""
    word = tokens[at]
    if _FIGURES.fullmatch(word):
        value = float(word.replace(",", "."))
        plain = (value, at + 1) if _half_after_unit(tokens, at + 1) else None
        return _with_half(tokens, value, at) or plain
    if word == "point" and _digit(tokens, _next(tokens, at), numbers) is not None:
        return _decimals(tokens, 0.0, at, numbers)
    if word in ("a", "an") and _is_one_unit(tokens, at):
        return 1.0, at + 1
    if word in numbers or (word in _ARTICLES and _scales(tokens, at, numbers)):
        return _in_words(tokens, at, numbers)
    return None


def _in_words(
    tokens: Sequence[str], at: int, numbers: Mapping[str, float]
) -> tuple[float, int] | None:
    """A number whose first word stands there; None for a "one" that counts nothing."""
    value, last = _whole(tokens, at, numbers)
    if _word(tokens, _next(tokens, last)) == "of" and numbers[tokens[last]] in PAIRS:
        last = _next(tokens, last)
    if _word(tokens, _next(tokens, last)) in ("point", "decimal", "comma"):
        found = _decimals(tokens, value, _next(tokens, last), numbers)
        if found:
            return found
    found = _with_half(tokens, value, last)
    if found:
        return found
    alone = last == at and tokens[at] in ("one", "second", *_ARTICLES)
    if alone and not _counts_units(tokens, _next(tokens, last)):
        return None
    return value, last + 1


def _is_one_unit(tokens: Sequence[str], at: int) -> bool:
    """Whether it is the "a" of "a bar", and not that of "2 psi a minute"."""
    before = tokens[at - 2] if at > 1 and _GAP.fullmatch(tokens[at - 1]) else ""
    rated = bool(before) and before != INCHES and _counts_units(tokens, at - 2)
    per = before[:1].isdigit() or rated
    return _counts_units(tokens, _next(tokens, at)) and not per


def _scales(tokens: Sequence[str], at: int, numbers: Mapping[str, float]) -> bool:
    """Whether it is the "a" of "a hundred", "a couple", or of "a bar"."""
    after = numbers.get(_word(tokens, _next(tokens, at)), 0.0)
    return after >= 100.0 or after in PAIRS


def _whole(
    tokens: Sequence[str], at: int, numbers: Mapping[str, float]
) -> tuple[float, int]:
    """A whole number and the place of its last word: tens, hundreds, thousands."""
    total, part, last = 0.0, 0.0, at
    while at < len(tokens):
        word = tokens[at]
        value = 0.0 if word in ("a", "an") else numbers.get(word)
        if value is None or (value == 0.0 and part):
            break
        if value >= MOST_SCALE:
            total, part = total + max(part, 1.0) * value, 0.0
        elif value == 100.0:
            part = max(part, 1.0) * value
        elif 0.0 < part < 10.0 < value:
            part = part * 100.0 + value  # "one twenty" on a dial is 120
        elif part and not _may_follow(part, value):
            break
        else:
            part += value
        last = at
        at = _next(tokens, at)
        if part >= 100.0 and _word(tokens, at) in AND:
            at = _next(tokens, at)
    return total + part, last


def _may_follow(part: float, value: float) -> bool:
    """Whether "thirty" may be followed by "one" in one number; "one" not by "two"."""
    low = part % 100.0
    return low == 0.0 or (low >= 20.0 and low % 10.0 == 0.0 and 0.0 < value < 10.0)


def _digit(tokens: Sequence[str], at: int, numbers: Mapping[str, float]) -> str | None:
    """One figure after the point, said or typed."""
    word = _word(tokens, at)
    if word.isascii() and word.isdigit():
        return word
    value = numbers.get(word)
    return f"{value:g}" if value is not None and value < 100.0 else None


def _decimals(
    tokens: Sequence[str], whole: float, point: int, numbers: Mapping[str, float]
) -> tuple[float, int] | None:
    """`one point eight five`, from the word "point" on."""
    digits, last, at = "", point, _next(tokens, point)
    while (digit := _digit(tokens, at, numbers)) is not None and len(digits) < 4:
        digits, last = digits + digit, at
        at = _next(tokens, at)
    return (whole + float(f"0.{digits}"), last + 1) if digits else None


def _half_after_unit(
    tokens: Sequence[str], after: int
) -> tuple[float, int, int] | None:
    """`1 hour and a half`, from the end of the 1: the share, and where it stands."""
    at = after + 1 if _GAP.fullmatch(_word(tokens, after)) else after
    if not _counts_units(tokens, at):
        return None
    found = _with_half(tokens, 0.0, at)
    return (found[0], at + 1, found[1]) if found else None


def _unit_and_half(tokens: Sequence[str], at: int) -> tuple[list[str], int] | None:
    """`hour and a half`, with no number before it, is one and a half of them."""
    if not _counts_units(tokens, at):
        return None
    found = _with_half(tokens, 1.0, at)
    return ([f"{found[0]:.6g}", " ", tokens[at]], found[1]) if found else None


def _with_half(
    tokens: Sequence[str], value: float, last: int
) -> tuple[float, int] | None:
    """`... and a half`, `... and three quarters`, `... and a bit`; None without."""
    at = _next(tokens, last)
    if _word(tokens, at) not in AND:
        return None
    at = _next(tokens, at)
    times = 3.0 if _word(tokens, at) == "three" else 1.0
    if _word(tokens, at) in (*_ARTICLES, "three"):
        at = _next(tokens, at)
    elif _word(tokens, at) not in SHARES:  # "an hour and half"
        return None
    word = _word(tokens, at)
    if word in SHARES:
        return value + times * SHARES[word], at + 1
    return (value, at + 1) if word == "bit" else None
