"""Train the ear for dangerous acts: `python tools/acts.py [--write] [--hold FILE]`.

Reads what hobby mechanics wrote of each class of act (`kb/acts.wordings.txt`), weighs
what `bot.match.acts.features` sees in a sentence by the same regression as
`tools/train.py`, and with `--write` writes `kb/acts.txt`. Prints how many dangerous
sentences are found and how many harmless ones complained of at several bounds: on folds
left out in turn, and on `--hold FILE` (a list of `text` and `act`), which nothing was
fitted to. Informational: nothing fails.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import yaml
from train import Line, Model, lexicon_of, train, written

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from bot.cards.lesser import read_procedure
from bot.cards.prose import parts_of
from bot.cards.read import read_card
from bot.desk.acts import heard, likely
from bot.language.lexicon import Lexicon
from bot.match.acts import BOUND, HARMLESS, REFUSED, Act, features, hear
from bot.model.card import Card
from bot.model.pages import Procedure

if TYPE_CHECKING:
    from collections.abc import Iterator

TOLD = "acts.wordings.txt"
FOLDS = 5
BOUNDS = (0.5, 0.6, 0.65, 0.7, 0.75, 0.8)


def told(text: str) -> list[tuple[str, str]]:
    """The (class, sentence) pairs of a file: `# class`, then a sentence a line."""
    found: list[tuple[str, str]] = []
    name = ""
    for line in text.splitlines():
        if line.startswith("# "):
            name = line[2:].strip()
        elif line.strip() and not line.startswith("##"):
            found.append((name, line.strip()))
    return found


def lines_of(pairs: list[tuple[str, str]], lexicon: Lexicon) -> list[Line]:
    """The pairs as `tools/train.py` learns from them."""
    return [Line(said, features(hear(said, lexicon)), name) for name, said in pairs]


def rates(model: Model, lines: list[Line]) -> dict[str, tuple[float, float]]:
    """By bound, the share of dangerous sentences found, and of harmless ones too."""
    sure = [(line.rule, 1.0 - model.chances(line.seen)[HARMLESS]) for line in lines]
    out = {}
    for bound in BOUNDS:
        found = [s >= bound for rule, s in sure if rule != HARMLESS]
        false = [s >= bound for rule, s in sure if rule == HARMLESS]
        out[f"{bound:g}"] = float(np.mean(found)), float(np.mean(false))
    return out


def show(title: str, table: dict[str, tuple[float, float]]) -> None:
    """The rates, a bound a line."""
    print(title)
    for bound, (found, false) in table.items():
        mark = " <- BOUND" if float(bound) == BOUND else ""
        print(f"  from {bound}: found {found:.3f}, false {false:.3f}{mark}")


def folds(lines: list[Line]) -> dict[str, tuple[float, float]]:
    """The rates on every fifth sentence in turn, which the model has not seen."""
    each = [
        rates(
            train([x for n, x in enumerate(lines) if n % FOLDS != k]),
            [x for n, x in enumerate(lines) if n % FOLDS == k],
        )
        for k in range(FOLDS)
    ]
    mean = {b: np.mean([found[b] for found in each], axis=0) for b in each[0]}
    return {b: (float(found), float(false)) for b, (found, false) in mean.items()}


def vetted(model: Model, kb: Path, lexicon: Lexicon) -> list[Line]:
    """What stands on the pages, sounds dangerous, and is near to nothing guarded there.

    Readers of the trade went over these pages: what they let stand without a name
    hurts nobody, and nothing on them is refused. `--list` shows it to the eye, for it
    will not be complained of again.
    """
    found = []
    for held in held_in(kb):
        for part in parts_of(held):
            named = {act.key for act in part.needs.does}
            for sentence, _ in heard(part):
                seen = features(hear(sentence, lexicon))
                chance = model.chances(seen)
                if 1.0 - chance.pop(HARMLESS) < BOUNDS[0]:
                    continue
                ranked = sorted(chance, key=lambda act: -chance[act])
                near = likely([Act(act, chance[act]) for act in ranked])
                if ranked[0] == REFUSED:
                    found.append(Line(sentence, seen, near[0], PAGE_MASS))
                    continue
                if not named.intersection(near):
                    found.append(Line(sentence, seen, HARMLESS, PAGE_MASS))
    return found


def held_in(kb: Path) -> Iterator[Card | Procedure]:
    """The pages that have steps."""
    for path in sorted((*kb.glob("cards/*/*.md"), *kb.glob("procedures/*.md"))):
        read = read_card if "cards" in path.parts else read_procedure
        held = read(path.read_text(encoding="utf-8"), path.name)
        if isinstance(held, tuple):
            raise SystemExit(f"{path.name} has mistakes; run chock lint kb")
        yield held


ROUNDS = 4
"""So often the pages are gone over: what is learnt of some sentences shifts others."""

PAGE_MASS = 0.8
"""What such a sentence counts beside one that was written as harmless. Our choice."""


def main() -> None:
    """Train, tell, write."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--kb", type=Path, default=ROOT / "kb")
    parser.add_argument("--hold", type=Path)
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--list", action="store_true", help="what pages taught")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    text = (asked.kb / TOLD).read_text(encoding="utf-8")
    lexicon = lexicon_of(asked.kb)
    lines = lines_of(told(text), lexicon)
    found = {"folds": folds(lines)}
    show(f"{len(lines)} sentences, left out in turn", found["folds"])
    more: dict[str, Line] = {}
    model = train(lines)
    for _ in range(ROUNDS):
        more |= {line.words: line for line in vetted(model, asked.kb, lexicon)}
        model = train([*lines, *more.values()])
    for words, line in more.items() if asked.list else ():
        print(f"{line.rule}: {words}")
    if asked.hold:
        rows = yaml.safe_load(asked.hold.read_text(encoding="utf-8"))
        pairs = [(str(row["act"]), str(row["text"])) for row in rows]
        found["held"] = rates(model, lines_of(pairs, lexicon))
        show(f"{len(pairs)} sentences kept apart", found["held"])
    if asked.write:
        digest = hashlib.sha256(text.encode()).hexdigest()[:16]
        out = asked.kb / "acts.txt"
        out.write_text(written(model, digest, "tools/acts.py"), encoding="utf-8")
        print(f"wrote {len(model.names)} features")
    if asked.json:
        asked.json.write_text(json.dumps(found, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
