"""`chock hear`: how words were read, and why each ear made of them what it did."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from bot.desk.hearing import Made, made_of
from bot.store.files import read_whole
from bot.store.folders import home_folder, kb_folder

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator


def hear(asked: argparse.Namespace) -> int:
    """Print what was made of the words."""
    words = " ".join(asked.words)
    if not words.strip():
        print('chock: say something, e.g. chock hear "no, only damp"', file=sys.stderr)
        return 2
    options: list[str] = []
    if asked.options:
        try:
            text = read_whole(asked.options).decode("utf-8")
        except (OSError, UnicodeDecodeError):
            says = f"cannot read '{asked.options}'; give a text, one answer a line"
            print(f"chock: {says}", file=sys.stderr)
            return 2
        options = [line.strip() for line in text.splitlines() if line.strip()]
    folders = (kb_folder(asked.kb, asked.home), home_folder(asked.home))
    made = made_of(words, folders, asked.at or "", options)
    if asked.json:
        import json

        print(json.dumps(_as_json(made), ensure_ascii=True))
    else:
        print("\n".join(_lines(made)))
    return 0


def _lines(made: Made) -> Iterator[str]:
    line = made.line
    for number, clause in enumerate(line.clauses, 1):
        said = " ".join(w.said for w in line.words[clause.first : clause.last])
        marks = f"  ({', '.join(sorted(clause.marks))})" if clause.marks else ""
        yield f"clause {number}: {said}{marks}"
        for mention in clause.mentions:
            senses = [s for s, weight in mention.senses if weight >= 1.0]
            told = ", ".join(s.replace("_", " ") for s in senses) or "nothing sure"
            yield f"    {'NOT ' if mention.denied else ''}{mention.said}: {told}"
    for note in line.notes:
        yield f"read: {note}"
    for found in line.quantities:
        unit = found.unit.symbol if found.unit else "no unit"
        yield f"amount: {found.value:g} {unit}"
    if line.acts:
        yield f"says to chock: {', '.join(sorted(line.acts)).replace('_', ' ')}"
    yield from _ears(made)


def _ears(made: Made) -> Iterator[str]:
    for hit in made.dangers:
        yield f"danger, {hit.band.value}: {hit.rule} {hit.sureness:.0%}, {hit.why}"
    if not made.dangers:
        yield "danger: none heard"
    for choice in made.choices:
        why = f", by {', '.join(choice.why)}" if choice.why else ""
        against = f", against it {choice.against:.1f}" if choice.against > 0 else ""
        number = f"answer {choice.number + 1}: {choice.sureness:.0%}"
        yield f"{number} {choice.text}{why}{against}"
    if made.choices:
        yield f"so: {made.verdict.value}"
    for card in made.cards:
        yield f"card: {card.probability:.0%} {card.card}"


def _as_json(made: Made) -> dict[str, Any]:
    line = made.line
    return {
        "words": line.text,
        "clauses": [
            {
                "said": " ".join(w.said for w in line.words[c.first : c.last]),
                "marks": sorted(c.marks),
                "mentions": [
                    {"said": m.said, "denied": m.denied, "senses": dict(m.senses)}
                    for m in c.mentions
                ],
            }
            for c in line.clauses
        ],
        "read": list(line.notes),
        "amounts": [
            {"value": q.value, "unit": q.unit.symbol if q.unit else None}
            for q in line.quantities
        ],
        "acts": sorted(line.acts),
        "danger": [
            {"id": h.rule, "sure": h.band.value == "sure", "chance": h.sureness}
            for h in made.dangers
        ],
        "answers": [
            {"number": c.number + 1, "text": c.text, "chance": c.sureness}
            for c in made.choices
        ],
        "verdict": made.verdict.value,
        "cards": [{"id": c.card, "probability": c.probability} for c in made.cards],
    }
