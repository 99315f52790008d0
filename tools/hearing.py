"""How well free answers at checks and dangers are heard, as `evaluate` counts them.

Everything goes through the stored index, the program that people run.
"""

from __future__ import annotations

import random
import re
from collections import Counter, defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import yaml
from figures import SEED, interval

from bot.language.line import Line, listen
from bot.match.agreement import confirms
from bot.match.answers import Verdict, choose, verdict
from bot.match.danger import Band, raised
from bot.match.features import CANNOT, answer
from bot.talk.aside import is_doubtful
from bot.talk.ending import of_trial
from bot.talk.reply import tone

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from bot.match.answers import Choice
    from bot.match.features import Answer
    from bot.store.index import CardIndex

READ_BACK = "I take it as: "
AT_PROOF = "Did the trial come out clean?"
"""What words say of a trial is always read back, as in `bot.talk`."""

OUTCOMES = ("right", "after_yes", "read_back_wrong", "silent", "not_understood")


@dataclass(frozen=True, slots=True)
class Item:
    """A question, its answers, what was typed, and the answer that is right.

    `means` counts from 1; 0: none of them, or not known; -1: it must be asked back.
    """

    ask: str
    options: tuple[str, ...]
    words: str
    means: int
    kind: str


def read_items(path: Path) -> list[Item]:
    """The items of a file."""
    rows = yaml.safe_load(path.read_text(encoding="utf-8"))
    return [
        Item(
            str(r["ask"]),
            tuple(map(str, r["options"])),
            str(r["words"]),
            int(r["means"]),
            str(r["kind"]),
        )
        for r in rows
    ]


def read_checks(path: Path) -> list[Item]:
    """The items of a plain text: a check in brackets, its answers, lines with a right.

    `> words = 2` means the second, `= ?` that it must be asked back.
    """
    items: list[Item] = []
    options: dict[int, str] = {}
    ask = ""
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("["):
            options, ask = {}, line
        elif re.match(r"\d ", line):
            options[int(line[0])] = line[2:]
        elif line.startswith("> "):
            words, right = line[2:].rsplit(" = ", 1)
            means = -1 if right == "?" else int(right)
            items.append(Item(ask, tuple(options.values()), words, means, "checks"))
    return items


class Ear:
    """The ear for answers, with the further wordings that the knowledge base has."""

    def __init__(self, index: CardIndex) -> None:
        self.index = index
        self.said: dict[str, tuple[str, ...]] = {}
        self._ready: dict[tuple[str, ...], tuple[Answer, ...]] = {}
        for card in index.paths():
            for (_, text), wordings in index.wordings(card).items():
                self.said[text] = (*self.said.get(text, ()), *wordings)

    def ready(self, options: Sequence[str], ask: str = "") -> tuple[Answer, ...]:
        """The options made ready; those of a check of the knowledge base, as there."""
        key = (*options, ask)
        if key not in self._ready:
            said = [self.said.get(option) for option in options]
            known = sum(found is not None for found in said) >= len(options) - 1
            self._ready[key] = tuple(
                answer(option, self.index.lexicon, (found or ()) if known else (), ask)
                for option, found in zip(options, said, strict=True)
            )
        return self._ready[key]

    def outcome(self, item: Item) -> str:
        """What became of an item, by the names in `OUTCOMES`."""
        line = listen(item.words, self.index.lexicon, self.index)
        if item.ask.startswith(READ_BACK):
            return self._read_back(item)
        if (said := _yes_or_no(line, item.options)) is not None:
            return "right" if said + 1 == item.means else "silent"
        choices = choose(line, self.ready(item.options, item.ask), self.index.lexicon)
        if item.ask == AT_PROOF:
            return self._trial(item, line, choices)
        found = Verdict.NONE if line.is_question else verdict(choices)
        if found is Verdict.NONE:
            said = bool(line.opens & CANNOT) or line.is_question or item.means < 0
            return "right" if said and item.means <= 0 else "not_understood"
        right = choices[0].number + 1 == item.means
        if found is Verdict.TAKE and not is_doubtful(line):
            return "right" if right else "silent"
        return "after_yes" if right or item.means < 0 else "read_back_wrong"

    def _trial(self, item: Item, line: Line, choices: Sequence[Choice]) -> str:
        """A trial is always read back."""
        told = of_trial(line, item.options[0], item.options[1], choices)
        if told is None or line.is_question:
            return "right" if item.means < 0 else "not_understood"
        right = item.options.index(told) + 1 == item.means
        return "after_yes" if right or item.means < 0 else "read_back_wrong"

    def _read_back(self, item: Item) -> str:
        """A yes is 1, a no 2, anything else is asked again."""
        line = listen(item.words, self.index.lexicon, self.index)
        guess = item.ask.removeprefix(READ_BACK).removesuffix(" Right?").rstrip(".")
        (ready,) = self.ready([guess])
        found = confirms(line, tone(line), ready, self.index.lexicon)
        if found is None:
            return "right" if item.means <= 0 else "not_understood"
        return "right" if item.means == (1 if found else 2) else "silent"


def _yes_or_no(line: Line, options: Sequence[str]) -> int | None:
    """The answer that a yes or no is at a mere yes or no, as `bot.talk` takes it."""
    begins = [re.split(r"\W", option.lower())[0] for option in options]
    said = {True: "yes", False: "no", None: ""}[tone(line)]
    plain = "No" in options and sorted(begins) == ["no", "yes"]
    return begins.index(said) if plain and said else None


def answers(path: Path, index: CardIndex) -> tuple[dict[str, object], list[str]]:
    """Shares by outcome, by kind, with intervals; a line for each that went wrong."""
    ear = Ear(index)
    told = [(item, ear.outcome(item)) for item in read_items(path)]
    kinds: dict[str, list[str]] = defaultdict(list)
    for item, outcome in told:
        kinds[item.kind].append(outcome)
    shares: dict[str, object] = {
        name: interval([float(outcome == name) for _, outcome in told])
        for name in OUTCOMES
    }
    shares["by_kind"] = {
        kind: dict(_shares(found)) for kind, found in sorted(kinds.items())
    }
    wrong = [
        f"{outcome:16} {item.kind:16} {item.means} {item.words!r} at {item.ask!r}"
        for item, outcome in told
        if outcome not in ("right", "after_yes")
    ]
    return shares, wrong


def _shares(found: Sequence[str]) -> Iterable[tuple[str, float]]:
    counts = Counter(found)
    return ((name, counts[name] / len(found)) for name in OUTCOMES)


@dataclass(frozen=True, slots=True)
class Danger:
    """Words, and the rules that they must raise."""

    words: str
    due: frozenset[str]


def stops(path: Path, index: CardIndex) -> tuple[dict[str, object], list[str]]:
    """Raised at once, asked, missed, false, needlessly asked; a line for each wrong.

    "Joined": harmless lines with commas between, which must raise little more.
    """
    rows = yaml.safe_load(path.read_text(encoding="utf-8"))
    told = [Danger(str(r["words"]), frozenset(r["stop"] or ())) for r in rows]
    rules, lexicon = index.rules(), index.lexicon
    kept: dict[str, list[float]] = defaultdict(list)
    wrong: list[str] = []
    for item in told:
        line = listen(item.words, lexicon, index)
        hits = raised(line, rules, lexicon, index.ear)
        sure = {hit.rule for hit in hits if hit.band is Band.SURE}
        every = {hit.rule for hit in hits}
        if item.due:
            kept["raised"].append(float(bool(item.due & sure)))
            kept["asked"].append(float(not item.due & sure and bool(item.due & every)))
            kept["missed"].append(float(not item.due & every))
            if not item.due & every:
                wrong.append(
                    f"missed {', '.join(item.due)}: {item.words!r}, got {every}"
                )
        else:
            kept["false_stop"].append(float(bool(sure)))
            kept["asked_needlessly"].append(float(bool(every) and not sure))
            if every:
                wrong.append(f"{'FALSE' if sure else 'asked'} {every}: {item.words!r}")
    peace = [item.words for item in told if not item.due]
    for words in _joined(peace):
        hits = raised(listen(words, lexicon, index), rules, lexicon, index.ear)
        kept["joined_false_stop"].append(float(any(h.band is Band.SURE for h in hits)))
        kept["joined_asked"].append(float(bool(hits) and hits[0].band is Band.MAYBE))
        if hits:
            wrong.append(f"joined {hits[0].band.value} {hits[0].rule}: {words!r}")
    return {name: interval(values) for name, values in kept.items()}, wrong


JOINED = 400
"""So many lines are made of two or three harmless ones with commas between."""


def _joined(peace: Sequence[str]) -> list[str]:
    """Harmless lines joined at random: they must stay harmless."""
    if len(peace) < MOST_JOINED:
        return []
    lots = random.Random(SEED)
    return [
        ", ".join(lots.sample(peace, lots.randint(2, MOST_JOINED)))
        for _ in range(JOINED)
    ]


MOST_JOINED = 3
