"""Measure the matcher: `python tools/evaluate.py QUERIES.yaml [--kb kb] [--json FILE]`.

QUERIES.yaml is a list of `words`, `cards` (ids, any of which is right; none: no card
fits) and `stop` (the rules that must be raised). Queries whose cards are all missing
from the knowledge base are left out of the hit figures and stand under "near misses".

`--outside DIR` runs the open sets in DIR as well; `--fit` works out the figures of
`bot/match/odds.py` anew and says how well they hold on queries they were not fitted to;
`--misses` lists what went wrong. Informational: nothing fails.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
from dataclasses import dataclass, field
from math import log, log2
from pathlib import Path
from typing import TYPE_CHECKING

import yaml

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cards.words import read_words
from bot.match import odds
from bot.match.query import Query as Typed
from bot.match.query import Slot, ask
from bot.match.rank import rank, seen
from bot.match.records import MemoryIndex, Record, record, record_of
from bot.match.score import by_card, look_up, scored
from bot.match.stops import StopRecord, raised, stop_record
from bot.match.thesaurus import EMPTY, Thesaurus, compiled

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.match.rank import Ranking
    from bot.model.card import Card
    from bot.model.rule import StopRule

RESAMPLES = 2000
SEED = 20281130


@dataclass(frozen=True, slots=True)
class Query:
    """A query and what is right for it."""

    words: str
    cards: tuple[str, ...]
    stop: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """A query, what was answered, and the place of the first right card (0: none)."""

    query: Query
    ranking: Ranking
    place: int
    stops: tuple[str, ...]

    @property
    def top(self) -> str:
        """The id of the first card."""
        return self.ranking.cards[0].card if self.ranking.cards else ""


@dataclass(slots=True)
class Shelf:
    """A knowledge base ready to be asked."""

    thesaurus: Thesaurus
    cards: list[Card] = field(default_factory=list)
    rules: list[StopRecord] = field(default_factory=list)

    def index(self) -> MemoryIndex:
        """An index of all cards."""
        kept = (record(card, self.thesaurus) for card in self.cards)
        return MemoryIndex(kept, self.thesaurus)


def load(kb: Path) -> Shelf:
    """The knowledge base in a folder; files with mistakes are named and left out."""
    words = read_words(_text(kb / "words.yaml"), "words.yaml")
    if isinstance(words, tuple):
        raise SystemExit("\n".join(map(str, words)))
    shelf = Shelf(compiled(words))
    for path in sorted(kb.glob("cards/*/*.md")):
        card = read_card(_text(path), str(path))
        if isinstance(card, tuple):
            print(f"left out: {card[0]}", file=sys.stderr)
        else:
            shelf.cards.append(card)
    for path in sorted(kb.glob("stop-rules/*.md")):
        rule: StopRule | tuple[object, ...] = read_rule(_text(path), str(path))
        if isinstance(rule, tuple):
            print(f"left out: {rule[0]}", file=sys.stderr)
        else:
            shelf.rules.append(stop_record(rule, shelf.thesaurus))
    return shelf


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def read_queries(path: Path) -> list[Query]:
    """The queries of a file."""
    rows = yaml.safe_load(_text(path))
    return [
        Query(r["words"], tuple(r["cards"]), tuple(r.get("stop", ()))) for r in rows
    ]


def run(query: Query, shelf: Shelf, index: MemoryIndex) -> Outcome:
    """What the matcher answers."""
    ranking = rank(query.words, index)
    ids = [c.card for c in ranking.cards]
    place = next((n for n, card in enumerate(ids, 1) if card in query.cards), 0)
    hits = raised(query.words, shelf.rules, shelf.thesaurus)
    return Outcome(query, ranking, place, tuple(hit.rule for hit in hits))


def interval(values: Sequence[float]) -> tuple[float, float, float]:
    """The mean and the bounds that hold 95 of 100 means of resampled queries."""
    if not values:
        return 0.0, 0.0, 0.0
    lots = random.Random(SEED)
    n = len(values)
    means = sorted(sum(lots.choices(values, k=n)) / n for _ in range(RESAMPLES))
    cut = RESAMPLES // 40
    return sum(values) / n, means[cut], means[-cut - 1]


def hits(outcomes: Sequence[Outcome]) -> dict[str, tuple[float, float, float]]:
    """hit@1, hit@3 and mean reciprocal rank, with intervals."""
    return {
        "hit@1": interval([float(o.place == 1) for o in outcomes]),
        "hit@3": interval([float(1 <= o.place <= 3) for o in outcomes]),
        "MRR": interval([1 / o.place if o.place else 0.0 for o in outcomes]),
    }


def refusals(
    answerable: Sequence[Outcome], hopeless: Sequence[Outcome]
) -> dict[str, float]:
    """How well "nothing fits" is said."""
    answered = [o for o in answerable if o.ranking.fits]
    refused = [o for o in hopeless if not o.ranking.fits]
    wrongly = len(answerable) - len(answered)
    return {
        "answerable answered": _share(len(answered), len(answerable)),
        "right when answered": _share(
            sum(o.place == 1 for o in answered), len(answered)
        ),
        "unanswerable refused": _share(len(refused), len(hopeless)),
        "refusals that were due": _share(len(refused), len(refused) + wrongly),
    }


def calibration(outcomes: Sequence[Outcome]) -> dict[str, float]:
    """Brier score and expected calibration error of the first card's probability."""
    pairs = [
        (o.ranking.cards[0].probability if o.ranking.cards else 0.0, o.place == 1)
        for o in outcomes
    ]
    bins: dict[int, list[tuple[float, bool]]] = {}
    for p, right in pairs:
        bins.setdefault(min(9, int(p * 10)), []).append((p, right))
    error = sum(abs(sum(p for p, _ in b) - sum(r for _, r in b)) for b in bins.values())
    return {
        "Brier": _share(sum((p - right) ** 2 for p, right in pairs), len(pairs)),
        "ECE": _share(error, len(pairs)),
    }


def stop_figures(outcomes: Sequence[Outcome], rules: set[str]) -> dict[str, float]:
    """How many of the rules that had to be raised were, and false alarms a query."""
    due = [(o, rule) for o in outcomes for rule in o.query.stop if rule in rules]
    caught = sum(rule in o.stops for o, rule in due)
    false = sum(bool(set(o.stops) - set(o.query.stop)) for o in outcomes)
    return {
        "rules due": float(len(due)),
        "recall": _share(caught, len(due)),
        "queries with a false alarm": _share(false, len(outcomes)),
    }


def _share(part: float, whole: float) -> float:
    return part / whole if whole else 0.0


def report(
    queries: Sequence[Query], shelf: Shelf
) -> tuple[dict[str, object], list[str]]:
    """The figures, and a line for every miss."""
    index = shelf.index()
    ids = {card.id for card in shelf.cards}
    outcomes = [run(query, shelf, index) for query in queries]
    answerable = [o for o in outcomes if ids.intersection(o.query.cards)]
    none = [o for o in outcomes if not o.query.cards]
    near = [
        o for o in outcomes if o.query.cards and not ids.intersection(o.query.cards)
    ]
    rules = {rule.id for rule in shelf.rules}
    figures: dict[str, object] = {
        "queries": {
            "answerable": len(answerable),
            "no card": len(none),
            "near misses": len(near),
        },
        "hits": hits(answerable),
        "refusal, no card": refusals(answerable, none),
        "refusal, near misses": refusals(answerable, near),
        "calibration, answerable and no card": calibration([*answerable, *none]),
        "calibration, all": calibration(outcomes),
        "stop rules": stop_figures(outcomes, rules),
    }
    return figures, misses(outcomes, rules)


def misses(outcomes: Sequence[Outcome], rules: set[str]) -> list[str]:
    """A line for each query that went wrong."""
    lines = []
    for o in outcomes:
        told = f"{o.query.words!r}: none {o.ranking.none:.2f}"
        if o.query.cards and o.place != 1 and any(o.query.cards):
            tops = ", ".join(c.card for c in o.ranking.cards[:3])
            lines.append(f"card  {told}; wanted {'/'.join(o.query.cards)}; got {tops}")
        if not o.query.cards and o.ranking.fits:
            lines.append(f"fits  {told}; got {o.top}")
        missed = rules.intersection(o.query.stop).difference(o.stops)
        lines += [f"stop  {told}; missed {rule}" for rule in sorted(missed)]
        false = set(o.stops).difference(o.query.stop)
        lines += [f"alarm {told}; raised {rule}" for rule in sorted(false)]
    return lines


# Fitting


Row = tuple[tuple[float, ...], bool, float]
"""What the logistic looks at, whether a card fits, and what the query weighs."""

NEAR_MISS_WEIGHT = 0.25
"""Queries for cards that are not written yet weigh less in the fit than queries off the
trade: every new card turns some of them into ordinary ones."""


def samples(
    shelf: Shelf, queries: Sequence[Query]
) -> tuple[list[Row], list[list[float]]]:
    """What the logistic looks at for each query, and whether the first card was right.

    Second, for each query whose card was found: the scores, its own first.
    """
    index = shelf.index()
    ids = {card.id for card in shelf.cards}
    rows: list[Row] = []
    contests: list[list[float]] = []
    for query in queries:
        made = ask(query.words, index)
        looked = look_up(made, index)
        found = scored(made, index, looked)
        if not found.cards:
            continue
        cards = found.cards
        fits = [s.total for s in cards if s.card in query.cards]
        near = query.cards and not ids.intersection(query.cards)
        weight = NEAR_MISS_WEIGHT if near else 1.0
        rows.append((seen(made, cards, looked), bool(fits), weight))
        if fits:
            rest = [s.total for s in cards if s.card not in query.cards]
            contests.append([max(fits), *rest])
    return rows, contests


def fit(shelf: Shelf, queries: Sequence[Query], folds: int = 10) -> dict[str, object]:
    """Figures for `bot/match/odds.py`, and how they do on queries left out."""
    rows, contests = samples(shelf, queries)
    order = list(range(len(rows)))
    random.Random(SEED).shuffle(order)
    guesses: list[tuple[float, bool, float]] = []
    for fold in range(folds):
        out = set(order[fold::folds])
        weights = newton([row for n, row in enumerate(rows) if n not in out])
        guesses += [(guess(weights, rows[n][0]), *rows[n][1:]) for n in out]
    sharpness = min(
        (n / 2 for n in range(4, 81)),
        key=lambda s: -sum(log(odds.shares(c, s)[0]) for c in contests),
    )
    weight = sum(w for _, _, w in guesses)
    loss = -sum(w * log(p if r else 1 - p) for p, r, w in guesses)
    names = ("BIAS", "ON_LEVEL", "ON_MARGIN", "ON_COVERAGE", "ON_LIKENESS")
    return {
        "fitted figures": dict(zip(names, newton(rows), strict=True))
        | {"SHARPNESS": sharpness},
        "left out in turn": {
            "queries": float(len(guesses)),
            "share that a card fits": _share(sum(r for _, r, _ in guesses), weight),
            "log loss": _share(loss, weight),
            "AUROC": auroc([(p, r) for p, r, _ in guesses]),
        },
    }


def guess(weights: Sequence[float], seen_: Sequence[float]) -> float:
    """The probability that some card fits."""
    z = sum(w * v for w, v in zip(weights, (1.0, *seen_), strict=True))
    return odds.logistic(z)


def auroc(guesses: Sequence[tuple[float, bool]]) -> float:
    """How often a query with a card is guessed likelier than one without."""
    good = [p for p, right in guesses if right]
    bad = [p for p, right in guesses if not right]
    wins = sum((g > b) + 0.5 * (g == b) for g in good for b in bad)
    return _share(wins, len(good) * len(bad))


def newton(rows: Sequence[Row], ridge: float = 1.0, steps: int = 12) -> list[float]:
    """Weights of a logistic regression, the bias first, held small by a ridge."""
    size = len(rows[0][0]) + 1
    weights = [0.0] * size
    for _ in range(steps):
        slope = [-ridge * w if n else 0.0 for n, w in enumerate(weights)]
        curve = [[ridge * (i == j and i > 0) for j in range(size)] for i in range(size)]
        for xs, right, weight in rows:
            x = (1.0, *xs)
            p = odds.logistic(sum(w * v for w, v in zip(weights, x, strict=True)))
            for i in range(size):
                slope[i] += weight * (right - p) * x[i]
                for j in range(size):
                    curve[i][j] += weight * p * (1 - p) * x[i] * x[j]
        step = solve(curve, slope)
        weights = [w + s for w, s in zip(weights, step, strict=True)]
    return weights


def solve(matrix: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    """The solution of a small system of linear equations, by elimination."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    size = len(rows)
    for i in range(size):
        pivot = max(range(i, size), key=lambda r: abs(rows[r][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        lead = rows[i][i] or 1e-12
        rows[i] = [value / lead for value in rows[i]]
        for r in range(size):
            if r != i:
                factor = rows[r][i]
                rows[r] = [
                    a - factor * b for a, b in zip(rows[r], rows[i], strict=True)
                ]
    return [row[-1] for row in rows]


# The open sets


def without_wordings(thesaurus: Thesaurus) -> Thesaurus:
    """The thesaurus with its known words alone: the open sets are off the trade."""
    return EMPTY._replace(known=thesaurus.known, stems=thesaurus.stems)


def outside(folder: Path, step: int, bare: Thesaurus) -> dict[str, dict[str, float]]:
    """Figures on the open sets that lie in the folder."""
    figures = {}
    for name in ("clinc150", "banking77"):
        path = folder / f"{name}.tsv"
        if path.exists():
            figures[name] = labelled(path, bare, step)
    if (folder / "cranfield-coded.txt").exists():
        figures["Cranfield"] = cranfield(_text(folder / "cranfield-coded.txt"))
    return figures


def labelled(
    path: Path, bare: Thesaurus, step: int = 1, phrases: int = 20
) -> dict[str, float]:
    """hit@1 and hit@3 with a label for a card and its first rows for its signs."""
    rows = [line.split("\t") for line in _text(path).splitlines()[1:]]
    train: dict[str, list[str]] = {}
    tests = []
    for split, label, text in rows:
        if label.startswith("oos"):
            continue
        if split == "train":
            train.setdefault(label, []).append(text)
        elif split == "test":
            tests.append((label, text))
    kept = [record_of((k, ""), v[:phrases], (), bare) for k, v in train.items()]
    index = MemoryIndex(kept, bare)
    places = [_place(text, label, index) for label, text in tests[::step]]
    return {
        "queries": float(len(places)),
        "hit@1": _share(sum(p == 1 for p in places), len(places)),
        "hit@3": _share(sum(1 <= p <= 3 for p in places), len(places)),
    }


def _place(text: str, label: str, index: MemoryIndex) -> int:
    query = ask(text, index)
    found = scored(query, index, look_up(query, index))
    return next((n for n, s in enumerate(found.cards, 1) if s.card == label), 0)


def cranfield(text: str) -> dict[str, float]:
    """MAP and nDCG@10 of the bare BM25 arithmetic with k1 1.2 and b 0.75."""
    records, queries, grades = coded(text)
    index = MemoryIndex(records, EMPTY)
    figures = [_graded(index, queries[q], grades[q]) for q in queries]
    names = ("MAP", "nDCG@10", "MRR", "S@1", "S@3", "P@10")
    means = (sum(column) / len(figures) for column in zip(*figures, strict=True))
    return dict(zip(names, means, strict=True))


def coded(text: str) -> tuple[list[Record], dict[str, str], dict[str, set[str]]]:
    """Documents as records, queries as text, and what is relevant to each."""
    records: list[Record] = []
    queries: dict[str, str] = {}
    grades: dict[str, set[str]] = {}
    for line in text.splitlines():
        kind, name, *rest = line.split("\t")
        if kind == "R":
            grades.setdefault(name, set()).add(f"{int(rest[0]):04}")
        elif kind == "Q":
            queries[name] = rest[0]
        elif kind == "D":
            pairs = (pair.split(":") for pair in (rest[0] if rest else "").split())
            counts = tuple((term, float(count), b"") for term, count in pairs)
            length = sum(count for _, count, _ in counts)
            records.append(Record(f"{int(name):04}", "", (), counts, length, ()))
    return records, queries, grades


def _graded(index: MemoryIndex, query: str, right: set[str]) -> tuple[float, ...]:
    """Average precision, nDCG@10, reciprocal rank, S@1, S@3, P@10 of one query."""
    pairs = [pair.split(":") for pair in query.split()]
    slots = [Slot(t, ((t, 1.0),), 0) for t, n in pairs for _ in range(int(n))]
    asked = Typed(tuple(slots), (), (), (), cut=False)
    totals = by_card(slots, look_up(asked, index, k1=1.2, b=0.75))
    order = sorted(totals, key=lambda doc: (-totals[doc], doc))
    places = [n for n, doc in enumerate(order, 1) if doc in right]
    gains = sum(1 / log2(n + 1) for n in places if n <= 10)
    best = sum(1 / log2(n + 1) for n in range(1, min(10, len(right)) + 1))
    return (
        sum(i / n for i, n in enumerate(places, 1)) / len(right),
        gains / best,
        1 / places[0] if places else 0.0,
        float(1 in places),
        float(any(n <= 3 for n in places)),
        sum(n <= 10 for n in places) / 10,
    )


def main() -> None:
    """Read the arguments, measure, print."""
    parser = argparse.ArgumentParser(description="Measure the matcher.")
    parser.add_argument("queries", type=Path, nargs="?")
    parser.add_argument("--kb", type=Path, default=Path("kb"))
    parser.add_argument("--json", type=Path)
    parser.add_argument("--outside", type=Path)
    parser.add_argument("--step", type=int, default=1, help="every Nth outside query")
    parser.add_argument("--misses", action="store_true")
    parser.add_argument("--fit", action="store_true")
    args = parser.parse_args()
    figures: dict[str, object] = {}
    if args.queries:
        found, lines = report(read_queries(args.queries), load(args.kb))
        figures.update(found)
        if args.fit:
            figures.update(fit(load(args.kb), read_queries(args.queries)))
        if args.misses:
            print("\n".join(lines))
    if args.outside:
        bare = without_wordings(load(args.kb).thesaurus)
        figures.update(outside(args.outside, args.step, bare))
    show(figures)
    if args.json:
        args.json.write_text(json.dumps(figures, indent=1), encoding="utf-8")


def show(figures: dict[str, object]) -> None:
    """Print the figures as a table."""
    for name, group in figures.items():
        print(name)
        for key, value in group.items():  # type: ignore[attr-defined]
            if isinstance(value, tuple):
                mean, low, high = value
                print(f"  {key:28}{mean:7.3f}   ({low:.3f} to {high:.3f})")
            else:
                print(f"  {key:28}{value:7.3f}")


if __name__ == "__main__":
    main()
