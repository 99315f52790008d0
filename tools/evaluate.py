"""Measure the matcher: `python tools/evaluate.py QUERIES.yaml [--kb kb] [--json FILE]`.

QUERIES.yaml is a list of `words`, `cards` (ids, any of which is right; none: no card
fits) and `stop` (the rules that must be raised). Queries whose cards are all missing
from the knowledge base are left out of the hit figures and stand under "near misses".

`--outside DIR` runs the open sets in DIR as well; `--against FILE` holds each query
against what an earlier `--json FILE` says of it, and tells how likely the difference is
by chance. `--answers FILE` and `--stops FILE` measure how free answers and dangers are
heard (tools/hearing.py). `--misses` lists what went wrong. Informational: nothing
fails.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, NamedTuple

import yaml

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from figures import (
    calibration_error,
    interval,
    paired,
    share,
    show,
)
from hearing import answers, stops
from opensets import outside, without_wordings

from bot.cards.read import read_card
from bot.cards.rules import read_rule
from bot.cards.words import read_words
from bot.desk.beside import whole
from bot.desk.shelf import open_index
from bot.language.compile import compiled
from bot.language.lexicon import Lexicon
from bot.language.line import listen
from bot.match.danger import Band, StopRecord, raised, stop_record
from bot.match.memory import MemoryIndex
from bot.match.rank import rank
from bot.match.records import record
from bot.model.words import Words
from bot.store.scan import WORDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.match.rank import Ranking
    from bot.model.card import Card
    from bot.model.rule import StopRule
    from bot.store.index import CardIndex


@dataclass(frozen=True, slots=True)
class Query:
    """A query and what is right for it."""

    words: str
    cards: tuple[str, ...]
    stop: tuple[str, ...]
    voice: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """A query, what was answered, and the place of the first right card (0: none).

    `stops` are the rules raised at once, `asked` those that one question is asked for.
    """

    query: Query
    ranking: Ranking
    place: int
    stops: tuple[str, ...]
    asked: tuple[str, ...]

    @property
    def top(self) -> str:
        """The id of the first card."""
        return self.ranking.cards[0].card if self.ranking.cards else ""


@dataclass(slots=True)
class Shelf:
    """A knowledge base ready to be asked."""

    lexicon: Lexicon
    cards: list[Card] = field(default_factory=list)
    rules: list[StopRecord] = field(default_factory=list)

    def index(self) -> MemoryIndex:
        """An index of all cards."""
        kept = (record(card, self.lexicon) for card in self.cards)
        return MemoryIndex(kept, self.lexicon)


def load(kb: Path) -> Shelf:
    """The knowledge base in a folder; files with mistakes are named and left out."""
    words = Words()
    for name in WORDS:
        found = read_words(_text(kb / name), name)
        if isinstance(found, tuple):
            raise SystemExit("\n".join(map(str, found)))
        words += found
    shelf = Shelf(compiled(words))
    for path in sorted(kb.glob("cards/*/*.md")):
        card = read_card(_text(path), str(path))
        if isinstance(card, tuple):
            print(f"left out: {card[0]}", file=sys.stderr)
        else:
            shelf.cards.append(whole(card, path))
    for path in sorted(kb.glob("stop-rules/*.md")):
        rule: StopRule | tuple[object, ...] = read_rule(_text(path), str(path))
        if isinstance(rule, tuple):
            print(f"left out: {rule[0]}", file=sys.stderr)
        else:
            shelf.rules.append(stop_record(rule, shelf.lexicon))
    return shelf


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def read_queries(path: Path) -> list[Query]:
    """The queries of a file."""
    rows = yaml.safe_load(_text(path))
    return [
        Query(
            r["words"], tuple(r["cards"]), tuple(r.get("stop", ())), r.get("voice", "")
        )
        for r in rows
    ]


def run(query: Query, index: CardIndex) -> Outcome:
    """What the matcher answers."""
    line = listen(query.words, index.lexicon, index)
    ranking = rank(line, index)
    ids = [c.card for c in ranking.cards]
    place = next((n for n, card in enumerate(ids, 1) if card in query.cards), 0)
    hits = raised(line, index.rules(), index.lexicon, index.ear)
    sure = tuple(hit.rule for hit in hits if hit.band is Band.SURE)
    asked = tuple(hit.rule for hit in hits if hit.band is Band.MAYBE)
    return Outcome(query, ranking, place, sure, asked)


def hits(outcomes: Sequence[Outcome]) -> dict[str, tuple[float, float, float]]:
    """hit@1, hit@3 and mean reciprocal rank, with intervals."""
    return {
        "hit@1": interval([float(o.place == 1) for o in outcomes]),
        "hit@3": interval([float(1 <= o.place <= 3) for o in outcomes]),
        "MRR": interval([1 / o.place if o.place else 0.0 for o in outcomes]),
    }


def by_voice(outcomes: Sequence[Outcome]) -> dict[str, object]:
    """The hits of each voice, where the queries name any."""
    voices = sorted({o.query.voice for o in outcomes} - {""})
    return {
        f"hits, {voice}": hits([o for o in outcomes if o.query.voice == voice])
        for voice in voices
    }


def refusals(
    answerable: Sequence[Outcome], hopeless: Sequence[Outcome]
) -> dict[str, float]:
    """How well "nothing fits" is said."""
    answered = [o for o in answerable if o.ranking.fits]
    refused = [o for o in hopeless if not o.ranking.fits]
    wrongly = len(answerable) - len(answered)
    return {
        "answerable answered": share(len(answered), len(answerable)),
        "right when answered": share(
            sum(o.place == 1 for o in answered), len(answered)
        ),
        "unanswerable refused": share(len(refused), len(hopeless)),
        "refusals that were due": share(len(refused), len(refused) + wrongly),
    }


def calibration(outcomes: Sequence[Outcome]) -> dict[str, float]:
    """Brier score and expected calibration error of the first card's probability."""
    pairs = [
        (o.ranking.cards[0].probability if o.ranking.cards else 0.0, o.place == 1)
        for o in outcomes
    ]
    return {
        "Brier": share(sum((p - right) ** 2 for p, right in pairs), len(pairs)),
        "ECE": calibration_error(pairs),
    }


def stop_figures(outcomes: Sequence[Outcome], rules: set[str]) -> dict[str, float]:
    """How many of the rules that had to be raised were, and false alarms a query."""
    due = [(o, rule) for o in outcomes for rule in o.query.stop if rule in rules]
    caught = sum(rule in (*o.stops, *o.asked) for o, rule in due)
    false = sum(bool(set(o.stops) - set(o.query.stop)) for o in outcomes)
    return {
        "rules due": float(len(due)),
        "recall": share(caught, len(due)),
        "raised at once": share(sum(r in o.stops for o, r in due), len(due)),
        "queries with a false stop": share(false, len(outcomes)),
        "queries asked needlessly": share(
            sum(bool(set(o.asked) - set(o.query.stop)) for o in outcomes), len(outcomes)
        ),
    }


class Report(NamedTuple):
    """The figures, a line for every miss, and by query the place of the right page."""

    figures: dict[str, object]
    misses: list[str]
    places: dict[str, int]


def report(queries: Sequence[Query], index: CardIndex) -> Report:
    """What the matcher answers to all queries, through the stored index."""
    rules = {rule.id for rule in index.rules()}
    ids = set(index.paths()) - rules
    outcomes = [run(query, index) for query in queries]
    answerable = [o for o in outcomes if ids.intersection(o.query.cards)]
    none = [o for o in outcomes if not o.query.cards]
    near = [
        o for o in outcomes if o.query.cards and not ids.intersection(o.query.cards)
    ]
    figures: dict[str, object] = {
        "queries": {
            "answerable": len(answerable),
            "no card": len(none),
            "near misses": len(near),
        },
        "hits": hits(answerable),
        **by_voice(answerable),
        "refusal, no card": refusals(answerable, none),
        "refusal, near misses": refusals(answerable, near),
        "calibration, answerable and no card": calibration([*answerable, *none]),
        "calibration, all": calibration(outcomes),
        "stop rules": stop_figures(outcomes, rules),
    }
    places = {o.query.words: o.place for o in answerable}
    return Report(figures, misses(outcomes, rules), places)


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
        missed = rules.intersection(o.query.stop).difference(o.stops, o.asked)
        lines += [f"stop  {told}; missed {rule}" for rule in sorted(missed)]
        false = set(o.stops).difference(o.query.stop)
        lines += [f"alarm {told}; raised {rule}" for rule in sorted(false)]
    return lines


def plain(shares: dict[str, object]) -> dict[str, object]:
    """The shares alone, without their intervals."""
    return {k: v[0] if isinstance(v, tuple) else v for k, v in shares.items()}


def heard(args: argparse.Namespace, index: CardIndex) -> dict[str, object]:
    """How answers and dangers are heard, where a file of them is given."""
    figures: dict[str, object] = {}
    for path, measure in ((args.answers, answers), (args.stops, stops)):
        if path:
            shares, lines = measure(path, index)
            by_kind = shares.pop("by_kind", {})
            figures[path.name] = shares
            figures.update(by_kind)  # type: ignore[call-overload]
            if args.misses:
                print("\n".join(lines))
            if args.json:
                kept = plain(shares) | ({"by_kind": by_kind} if by_kind else {})
                args.json.write_text(json.dumps(kept, indent=1), encoding="utf-8")
    return figures


def main() -> None:
    """Read the arguments, measure, print."""
    parser = argparse.ArgumentParser(description="Measure the matcher.")
    parser.add_argument("queries", type=Path, nargs="?")
    parser.add_argument("--kb", type=Path, default=Path("kb"))
    parser.add_argument("--json", type=Path)
    parser.add_argument("--outside", type=Path)
    parser.add_argument("--step", type=int, default=1, help="every Nth outside query")
    parser.add_argument("--against", type=Path, help="figures of another version")
    parser.add_argument("--answers", type=Path, help="free answers at checks")
    parser.add_argument("--stops", type=Path, help="dangers and near misses")
    parser.add_argument("--misses", action="store_true")
    args = parser.parse_args()
    index = open_index(str(args.kb), mkdtemp(prefix="chock-evaluate-"))
    figures = heard(args, index)
    places: dict[str, int] = {}
    if args.queries:
        found, lines, places = report(read_queries(args.queries), index)
        figures.update(found)
        if args.against:
            before = json.loads(args.against.read_text(encoding="utf-8"))["places"]
            figures.update(paired(before, places))
        if args.misses:
            print("\n".join(lines))
    if args.outside:
        bare = without_wordings(load(args.kb).lexicon)
        figures.update(outside(args.outside, args.step, bare))
    show(figures)
    if args.json and not (args.answers or args.stops):
        kept = figures | {"places": places}
        args.json.write_text(json.dumps(kept, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
