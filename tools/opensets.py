"""The open sets that the matcher's arithmetic is held against, and their figures."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from figures import SEED, share

from bot.language.lexicon import EMPTY, Lexicon
from bot.match.bm25 import look_up
from bot.match.memory import MemoryIndex
from bot.match.query import ask
from bot.match.rank import rank
from bot.match.records import Signs, record_of
from bot.match.score import scored
from bot.match.taught import Taught, terms_said
from bot.store.lessons import Told, learnt_from


def without_wordings(lexicon: Lexicon) -> Lexicon:
    """The lexicon with its known words alone: the open sets are off the trade."""
    plain = EMPTY._replace(known=lexicon.known, stems=lexicon.stems)
    return plain._replace(forms=lexicon.forms, lists=lexicon.lists)


def outside(folder: Path, step: int, bare: Lexicon) -> dict[str, dict[str, float]]:
    """Figures on the open sets that lie in the folder."""
    figures = {}
    for name in ("clinc150", "banking77"):
        path = folder / f"{name}.tsv"
        if path.exists():
            figures[name] = labelled(path, bare, step)
            figures[f"{name}, words learnt"] = words_learnt(path, bare, 4 * step)
    return figures


def labelled(
    path: Path, bare: Lexicon, step: int = 1, phrases: int = 20
) -> dict[str, float]:
    """hit@1 and hit@3 with a label for a card and its first rows for its signs."""
    train, tests = _split(path)
    index = _shelf(train, bare, phrases)
    places = [_place(text, label, index) for label, text in tests[::step]]
    return {"queries": float(len(places)), **_hits(places)}


def _split(path: Path) -> tuple[dict[str, list[str]], list[tuple[str, str]]]:
    """The texts to learn from by label, and the tests as label and text."""
    train: dict[str, list[str]] = {}
    tests = []
    for line in path.read_text(encoding="utf-8").splitlines()[1:]:
        split, label, text = line.split("\t")
        if label.startswith("oos"):
            continue
        if split == "train":
            train.setdefault(label, []).append(text)
        elif split == "test":
            tests.append((label, text))
    return train, tests


def _shelf(train: dict[str, list[str]], bare: Lexicon, phrases: int) -> MemoryIndex:
    kept = [record_of((k, ""), Signs(v[:phrases]), (), bare) for k, v in train.items()]
    return MemoryIndex(kept, bare)


def _hits(places: list[int]) -> dict[str, float]:
    return {
        "hit@1": share(sum(p == 1 for p in places), len(places)),
        "hit@3": share(sum(1 <= p <= 3 for p in places), len(places)),
    }


def words_learnt(
    path: Path, bare: Lexicon, step: int, phrases: int = 8
) -> dict[str, float]:
    """hit@1 and hit@3 before and after jobs whose words were not on the cards.

    The rows after a label's signs are told as jobs that ended there; then the same
    jobs with their labels dealt anew, which must teach nothing.
    """
    train, tests = _split(path)
    index = _shelf(train, bare, phrases)
    rows = [(k, text) for k, texts in train.items() for text in texts[phrases:][:30]]
    labels = [label for label, _ in rows]
    dealt = Random(SEED).sample(labels, len(labels))
    figures: dict[str, float] = {}
    for name, given in (("before", []), ("learnt", labels), ("dealt anew", dealt)):
        told = [
            Told(n, label, terms_said(text, index), keeps=False)
            for n, ((_, text), label) in enumerate(zip(rows, given, strict=False))
        ]
        taught = learnt_from(told)
        places = [_ranked(text, label, index, taught) for label, text in tests[::step]]
        figures |= {f"{name}, {hit}": value for hit, value in _hits(places).items()}
    return figures


def _ranked(text: str, label: str, index: MemoryIndex, taught: Taught) -> int:
    ranked = rank(text, index, taught=taught).cards
    return next((n for n, card in enumerate(ranked, 1) if card.card == label), 0)


def _place(text: str, label: str, index: MemoryIndex) -> int:
    query = ask(text, index)
    found = scored(query, index, look_up(query, index))
    return next((n for n, s in enumerate(found.cards, 1) if s.card == label), 0)


def off_topic(folder: Path) -> Iterator[str]:
    """Texts of the open sets that have nothing to do with the trade."""
    for name, step in (("clinc150-oos", 1), ("banking77", 40)):
        path = folder / f"{name}.tsv"
        lines = (
            path.read_text(encoding="utf-8").splitlines()[1::step]
            if path.exists()
            else []
        )
        yield from (line.split("\t")[2] for line in lines)
