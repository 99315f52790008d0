"""How finding grows: `python tools/growth.py QUERIES.yaml... [--kb kb] [--json FILE]`.

Through the stored index, as people run it, on labelled queries (see tools/evaluate.py):

- thin: each page in turn has twelve wordings, the others all of theirs;
- missing: each page in turn is not there; does another one claim to fit?
- wordings: all pages have so many, and no more;
- pages: so many pages are there, drawn by seed; their queries alone are asked.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random
from tempfile import mkdtemp

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from figures import SEED, interval, show

from bot.cards.lesser import read_procedure
from bot.cards.read import read_card
from bot.desk.beside import told_beside
from bot.desk.shelf import open_index
from bot.language.line import listen
from bot.match.rank import Ranking, rank
from bot.match.records import Record, record, record_of_procedure
from bot.model.card import Card
from bot.model.pages import Procedure
from bot.store.index import CardIndex, Source

THIN = 12
WORDINGS = (6, 12, 24, 48)
PAGES = (20, 40, 60)

Asked = Sequence[tuple[str, frozenset[str]]]
"""Words, and the pages any of which is right."""


@dataclass(slots=True)
class Shelf:
    """The stored index of a knowledge base, and the pages that it holds, by id."""

    index: CardIndex
    paths: Mapping[str, Path]
    held: Mapping[str, Card | Procedure]
    beside: Mapping[str, tuple[str, ...]]

    def record(self, page: str, most: int | None = None) -> Record:
        """The record of a page, of so many wordings where that is said."""
        held, beside = self.held[page], self.beside[page]
        signs = held.signs[:most]
        beside = beside if most is None else beside[: max(0, most - len(signs))]
        if isinstance(held, Card):
            return record(replace(held, signs=signs), self.index.lexicon, beside)
        few = replace(held, signs=signs)
        return record_of_procedure(few, self.index.lexicon, beside)

    def put(self, records: Mapping[str, Record]) -> None:
        """Put records in place of those that stand there."""
        with self.index as index:
            for page, kept in records.items():
                index.put_card(Source(str(self.paths[page]), 0, 0, ""), kept)

    @contextmanager
    def without(self, pages: Sequence[str]) -> Iterator[None]:
        """Some pages are not there for a while."""
        with self.index as index:
            for page in pages:
                index.remove(str(self.paths[page]))
        yield
        self.put({page: self.record(page) for page in pages})

    @contextmanager
    def limited(self, pages: Sequence[str], most: int) -> Iterator[None]:
        """Some pages have so many wordings for a while, and no more."""
        self.put({page: self.record(page, most) for page in pages})
        yield
        self.put({page: self.record(page) for page in pages})

    def rank(self, words: str) -> Ranking:
        """The pages for some words."""
        index = self.index
        return rank(listen(words, index.lexicon, index), index)


def shelf_of(kb: Path, home: Path | None = None) -> Shelf:
    """The pages of a knowledge base, in an index of their own, or in that folder's."""
    index = open_index(str(kb), str(home or mkdtemp(prefix="chock-growth-")))
    paths: dict[str, Path] = {}
    held: dict[str, Card | Procedure] = {}
    for path in (*kb.glob("cards/*/*.md"), *kb.glob("procedures/*.md")):
        text, name = path.read_text(encoding="utf-8"), str(path)
        found = read_card(text, name)
        read = found if isinstance(found, Card) else read_procedure(text, name)
        if isinstance(read, Card | Procedure):
            paths[read.id], held[read.id] = path.absolute(), read
    beside = {page: told_beside(path) for page, path in paths.items()}
    return Shelf(index, paths, held, beside)


def places(shelf: Shelf, asked: Asked) -> list[int]:
    """The place of the first right page for each of some words; 0 for none."""
    found = []
    for words, right in asked:
        cards = [card.card for card in shelf.rank(words).cards]
        found.append(next((n for n, c in enumerate(cards, 1) if c in right), 0))
    return found


def thin(shelf: Shelf, asked: Asked, most: int = THIN) -> list[int]:
    """Places where each page in turn has few wordings among pages with many."""
    found: list[int] = []
    for page, own in _by_page(asked):
        if page in shelf.held:
            with shelf.limited((page,), most):
                found += places(shelf, own)
    return found


def missing(shelf: Shelf, asked: Asked) -> list[bool]:
    """Whether another page claims to fit where each page in turn is not there."""
    found: list[bool] = []
    for page, own in _by_page(asked):
        if page in shelf.held:
            with shelf.without((page,)):
                found += [shelf.rank(words).fits for words, _ in own]
    return found


def _by_page(asked: Asked) -> Iterator[tuple[str, Asked]]:
    """Words that one page alone is right for, together with it."""
    one = [(words, right) for words, right in asked if len(right) == 1]
    for page in sorted({page for _, right in one for page in right}):
        yield page, [(words, right) for words, right in one if right == {page}]


def hits(found: Sequence[int]) -> dict[str, object]:
    """hit@1 and hit@3, with intervals."""
    return {
        "asked": float(len(found)),
        "hit@1": interval([float(n == 1) for n in found]),
        "hit@3": interval([float(1 <= n <= 3) for n in found]),
    }


def growth(shelf: Shelf, asked: Asked) -> dict[str, object]:
    """All figures."""
    pages = tuple(shelf.held)
    asked = [(words, right) for words, right in asked if right & shelf.held.keys()]
    claims = [float(fits) for fits in missing(shelf, asked)]
    figures: dict[str, object] = {
        "as they are": hits(places(shelf, asked)),
        f"thin: {THIN} wordings": hits(thin(shelf, asked)),
        "missing": {"asked": float(len(claims)), "said to fit": interval(claims)},
    }
    for most in WORDINGS:
        with shelf.limited(pages, most):
            figures[f"wordings: {most} a page"] = hits(places(shelf, asked))
    for many in PAGES:
        here = frozenset(Random(SEED).sample(sorted(pages), min(many, len(pages))))
        own = [(words, right) for words, right in asked if right <= here]
        with shelf.without([page for page in pages if page not in here]):
            figures[f"pages: {many}"] = hits(places(shelf, own))
    return figures


def main() -> None:
    """Read the arguments, measure, print."""
    from evaluate import read_queries

    parser = argparse.ArgumentParser(description="Measure how finding grows.")
    parser.add_argument("queries", type=Path, nargs="+")
    parser.add_argument("--kb", type=Path, default=Path("kb"))
    parser.add_argument("--json", type=Path)
    given = parser.parse_args()
    asked = [
        (query.words, frozenset(query.cards))
        for path in given.queries
        for query in read_queries(path)
        if query.cards
    ]
    figures = growth(shelf_of(given.kb), asked)
    show(figures)
    if given.json:
        given.json.write_text(json.dumps(figures, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
