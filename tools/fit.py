"""Fits the figures of `bot/match/odds.py`: whether any page fits, and which.

    python tools/fit.py QUERIES.yaml... --outside DIR [--kb kb] [--write]

Through the stored index, as people run it: labelled queries, wordings that their page
has not while they are asked, wordings whose page is not there, signs word for word, and
talk off the trade. Each sort weighs the same whatever its number. `--write` puts the
figures into `odds.py`; then read what it says there beside them.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
from collections import Counter
from math import log
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from evaluate import read_queries
from figures import SEED, auroc, guess, newton, share, show
from growth import Shelf, shelf_of
from opensets import off_topic

from bot.language.line import listen
from bot.match import odds
from bot.match.bm25 import by_pairs, look_up
from bot.match.query import ask
from bot.match.rank import families, seen, told_by, weighed
from bot.match.records import record, record_of_procedure
from bot.match.score import scored
from bot.model.card import Card

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from evaluate import Query
    from figures import Row

FITS = "queries that a page fits"
ELSEWHERE = "queries no page will fit"
MISSING = "queries whose page is missing"
UNSEEN = "wordings left out"
GONE = "wordings of a page left out"
VERBATIM = "signs word for word"
OFF = "open set, off topic"

MASS = {
    FITS: 0.30,
    UNSEEN: 0.15,
    VERBATIM: 0.10,
    MISSING: 0.05,
    GONE: 0.10,
    ELSEWHERE: 0.15,
    OFF: 0.15,
}
"""What each sort weighs, whatever its number: a page fits in 55 of 100."""

EFFECTIVE = 400.0
"""How many queries the whole mixture counts for, beside the ridge of 1."""

LEFT_OUT, OF_MISSING, AS_SAID = 4, 2, 2
"""Wordings drawn of each page for each sort."""

OFF_STEP = 3
ODDS = Path(__file__).resolve().parent.parent / "bot" / "match" / "odds.py"

Sample = tuple[str, tuple[float, ...], list[tuple[str, float]], frozenset[str]]
"""The sort of a text, what the logistic sees, pages with logits, the right ones."""


def seen_of(shelf: Shelf, sort: str, words: str, right: frozenset[str]) -> list[Sample]:
    """One text, ranked; nothing where no page was found at all."""
    index = shelf.index
    query = ask(listen(words, index.lexicon, index), index)
    looked = look_up(query, index)
    told_of = families(query, looked, index)
    found = scored(query, index, looked, by_pairs(told_of.pairs, looked))
    told = told_by(told_of, looked, found)
    cards = weighed(found.cards, told)
    if not cards:
        return []
    totals = [(card.card, card.total) for card in cards]
    return [(sort, seen(query, cards, looked, told), totals, right)]


def mixture(
    shelf: Shelf, queries: Sequence[Query], folder: Path | None
) -> Iterator[Sample]:
    """The texts that the odds are fitted to."""
    pages = frozenset(shelf.held)
    for query in queries:
        right = pages.intersection(query.cards)
        sort = FITS if right else MISSING if query.cards else ELSEWHERE
        yield from seen_of(shelf, sort, query.words, right)
    lots = random.Random(SEED)
    for page in sorted(pages):
        yield from of_page(shelf, page, lots)
    for number, text in enumerate(off_topic(folder) if folder else ()):
        if number % OFF_STEP == 0:
            yield from seen_of(shelf, OFF, text, frozenset())


def of_page(shelf: Shelf, page: str, lots: random.Random) -> Iterator[Sample]:
    """A page's wordings: left out of it, said word for word, and without the page."""
    held, beside = shelf.held[page], shelf.beside[page]
    own = frozenset({page})
    drawn = lots.sample(beside, min(len(beside), LEFT_OUT))
    rest = tuple(said for said in beside if said not in drawn)
    for said in lots.sample(held.signs, min(len(held.signs), AS_SAID)):
        yield from seen_of(shelf, VERBATIM, said, own)
    lexicon = shelf.index.lexicon
    few = (
        record(held, lexicon, rest)
        if isinstance(held, Card)
        else record_of_procedure(held, lexicon, rest)
    )
    shelf.put({page: few})
    for said in drawn:
        yield from seen_of(shelf, UNSEEN, said, own)
    with shelf.without((page,)):
        for said in drawn[:OF_MISSING]:
            yield from seen_of(shelf, GONE, said, frozenset())


def rows_of(
    found: Sequence[Sample],
) -> tuple[list[Row], list[tuple[float, list[float]]]]:
    """What the logistic looks at for each text, and whether a page fits.

    Second, for each text whose page was found: its weight, and the scores, the right
    one's first.
    """
    numbers = Counter(sort for sort, *_ in found)
    rows: list[Row] = []
    contests: list[tuple[float, list[float]]] = []
    for sort, features, totals, right in found:
        weight = MASS[sort] / numbers[sort] * EFFECTIVE
        rows.append((features, bool(right), weight))
        fits = [total for card, total in totals if card in right]
        if fits:
            rest = [total for card, total in totals if card not in right]
            contests.append((weight, [max(fits), *rest]))
    return rows, contests


def fitted(found: Sequence[Sample], folds: int = 10) -> dict[str, object]:
    """The figures, and how they do on texts left out."""
    rows, contests = rows_of(found)
    order = list(range(len(rows)))
    random.Random(SEED).shuffle(order)
    guesses: list[tuple[float, bool, float]] = []
    for fold in range(folds):
        out = set(order[fold::folds])
        weights = newton([row for n, row in enumerate(rows) if n not in out])
        guesses += [(guess(weights, rows[n][0]), *rows[n][1:]) for n in out]
    sharpness = min(
        (n / 20 for n in range(6, 41)),
        key=lambda s: -sum(w * log(odds.shares(c, s)[0]) for w, c in contests),
    )
    weight = sum(w for _, _, w in guesses)
    loss = -sum(w * log(p if r else 1 - p) for p, r, w in guesses)
    return {
        "texts of each sort": {k: float(n) for k, n in _numbers(found).items()},
        "fitted figures": {str(n): w for n, w in enumerate(newton(rows))}
        | {"SHARPNESS": sharpness},
        "left out in turn": {
            "texts": float(len(guesses)),
            "share that a page fits": share(sum(w for _, r, w in guesses if r), weight),
            "log loss": share(loss, weight),
            "AUROC": auroc([(p, r) for p, r, _ in guesses]),
        },
    }


def _numbers(found: Iterable[Sample]) -> Counter[str]:
    return Counter(sort for sort, *_ in found)


def write(figures: dict[str, float]) -> None:
    """Put the fitted figures into `odds.py`."""
    bias, *weights = [figures[str(n)] for n in range(len(figures) - 1)]
    told = ", ".join(f"{w:.3f}" for w in weights)
    text = ODDS.read_text(encoding="utf-8")
    text = re.sub(r"(?m)^BIAS = .*$", f"BIAS = {bias:.3f}", text)
    text = re.sub(r"(?m)^WEIGHTS = .*$", f"WEIGHTS = ({told})", text)
    sharpness = f"SHARPNESS = {figures['SHARPNESS']:g}"
    ODDS.write_text(re.sub(r"(?m)^SHARPNESS = .*$", sharpness, text), encoding="utf-8")


def main() -> None:
    """Read the arguments, fit, print."""
    parser = argparse.ArgumentParser(description="Fit whether any page fits.")
    parser.add_argument("queries", type=Path, nargs="+")
    parser.add_argument("--outside", type=Path)
    parser.add_argument("--kb", type=Path, default=Path("kb"))
    parser.add_argument("--write", action="store_true")
    given = parser.parse_args()
    queries = [query for path in given.queries for query in read_queries(path)]
    found = list(mixture(shelf_of(given.kb), queries, given.outside))
    figures = fitted(found)
    show(figures)
    if given.write:
        kept = figures["fitted figures"]
        assert isinstance(kept, dict)
        write(kept)


if __name__ == "__main__":
    main()
