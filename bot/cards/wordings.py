"""Side files: how people say a complaint and the answers of its checks, and dangers.

    one tyre is soft each morning          wordings of the complaint, above all checks
    # look-at-the-dryer                    the id of a check
    = No dryer fitted                      an answer of it, word for word
    aint got one of them                   wordings of that answer, one a line

Beside a stop rule, ``+`` begins a line that must raise it and ``-`` one that must not,
though it touches on it; ``tools/train.py`` learns from these.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from typing import TYPE_CHECKING, NamedTuple

from bot.model.place import Fault, Place

if TYPE_CHECKING:
    from bot.model.card import Card

MOST_LETTERS = 200
"""A wording is a line somebody typed, not a story."""

_WEIGHT = r"[a-z0-9-]+=-?[0-9]+(?:\.[0-9]+)?"
_WEIGHTS = re.compile(rf"{_WEIGHT}(?: {_WEIGHT})*")

COMPLAINT = ("", "")
"""In place of check and answer: a wording of the page's complaint."""

Wordings = Mapping[tuple[str, str], tuple[str, ...]]
"""By check id and answer, the further wordings."""


class Told(NamedTuple):
    """A line as somebody typed it, and whether the rule must be raised by it."""

    words: str
    is_danger: bool


class Ear(NamedTuple):
    """The trained ear: features, each with its weights by rule as text."""

    weights: tuple[tuple[str, str], ...]


def read_ear(text: str, path: str) -> Ear | tuple[Fault, ...]:
    """The trained ear that `tools/train.py` wrote, or every fault by its line."""
    rows: list[tuple[str, str]] = []
    faults: list[Fault] = []
    for number, line in enumerate(text.split("\n"), 1):
        if line and not line.startswith("##"):
            feature, tab, weights = line.partition("\t")
            if tab and _WEIGHTS.fullmatch(weights):
                rows.append((feature, weights))
            else:
                says = "no feature with weights; make it anew with tools/train.py"
                faults.append(Fault(Place(path, number), says))
    return tuple(faults) or Ear(tuple(rows))


def read_wordings(text: str, path: str) -> Wordings | tuple[Fault, ...]:
    """The further wordings of a card's answers, or every fault by its line.

    Those of the complaint itself stand under `COMPLAINT`.
    """
    found: dict[tuple[str, str], list[str]] = {}
    faults: list[Fault] = []
    check = answer = ""
    for number, line in enumerate(text.split("\n"), 1):
        place = Place(path, number)
        said = line.strip()
        if said.startswith("# "):
            check, answer = said[2:].strip(), ""
        elif said.startswith("= "):
            answer = said[2:].strip()
            if not check:
                faults.append(Fault(place, "an answer without its check; add '# id'"))
        elif said and check and not answer:
            faults.append(Fault(place, "a wording of no answer; add '= answer' above"))
        elif len(said) > MOST_LETTERS:
            faults.append(Fault(place, f"too long; at most {MOST_LETTERS} letters"))
        elif said:
            found.setdefault((check, answer), []).append(said)
    return tuple(faults) or {key: tuple(lines) for key, lines in found.items()}


def read_told(text: str, path: str) -> tuple[Told, ...] | tuple[Fault, ...]:
    """The lines beside a stop rule, or every fault by its line."""
    found: list[Told] = []
    faults: list[Fault] = []
    for number, line in enumerate(text.split("\n"), 1):
        said = line.strip()
        if said[:2] in ("+ ", "- "):
            found.append(Told(said[2:].strip(), said[0] == "+"))
        elif said and not said.startswith("#"):
            says = "begin it with '+ ' where it must raise the rule, or '- '"
            faults.append(Fault(Place(path, number), says))
    return tuple(faults) or tuple(found)


def lint_beside(text: str, path: str, card: "Card") -> Iterator[Fault]:
    """Headings of a side file that its page does not have: nobody hears what they hold.

    Args:
        text: the side file's.
        path: shown in places.
        card: the page it stands beside.
    """
    answers = {check.id: [f.answer for f in check.findings] for check in card.checks}
    check = ""
    for number, line in enumerate(text.split("\n"), 1):
        said = line[2:].strip()
        if line.startswith("# "):
            check = said
            if check not in answers:
                says = f"its page has no check '{check}'"
                yield Fault(Place(path, number), says + _nearest(check, answers))
        elif line.startswith("= ") and said not in answers.get(check, [said]):
            says = f"that check has no answer '{said}'"
            yield Fault(Place(path, number), says + _nearest(said, answers[check]))


def _nearest(said: str, names: Iterable[str]) -> str:
    near = get_close_matches(said, names, n=1, cutoff=0.3)
    return f"; write '{near[0]}', or take it out" if near else "; take it out"
