"""`chock ask`: the cards for some words, once, for people or as one JSON object."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from bot.cli.main import Exit
from bot.cli.progress import reading
from bot.desk.asking import asked as asked_for
from bot.match.danger import Band
from bot.store.folders import home_folder, kb_folder

if TYPE_CHECKING:
    import argparse

    from bot.desk.asking import Asked

MOST_READ = 1_000_000
"""Letters read from standard input; the matcher uses far fewer."""


def ask(asked: argparse.Namespace) -> int:
    """Rank the cards for the words; 0 also when nothing fits."""
    words = " ".join(asked.words)
    if words == "-" or (not words and not sys.stdin.isatty()):
        words = sys.stdin.read(MOST_READ)
    if not words.strip():
        print('chock: say what is wrong, e.g. chock ask "hissing"', file=sys.stderr)
        return 2
    if asked.top < 1:
        print("chock: --top is a whole number from 1", file=sys.stderr)
        return 2
    found = asked_for(
        words, kb_folder(asked.kb, asked.home), home_folder(asked.home), reading
    )
    for fault in found.faults:
        print(f"left out: {fault}", file=sys.stderr)
    if asked.json:
        _print_json(words, found, asked.top)
    else:
        _print_plain(found, asked.top)
    return Exit.NOT_WHOLE if found.faults else Exit.OK


def _print_json(words: str, found: Asked, top: int) -> None:
    import json

    ranking, stops = found.ranking, found.stops
    said = {
        "words": words,
        "stop": [
            {
                "id": rule.id,
                "sure": hit.band is Band.SURE,
                "text": rule.text if hit.band is Band.SURE else rule.question,
            }
            for rule, hit in stops
        ],
        "fits": ranking.fits,
        "none": round(ranking.none, 4),
        "cards": [
            {
                "id": card.card,
                "title": card.title,
                "probability": round(card.probability, 4),
                "why": list(card.why),
                **_standing(found, card.card),
            }
            for card in ranking.cards[:top]
        ],
    }
    print(json.dumps(said, ensure_ascii=True))


def _in_words(stands: str) -> str:
    """How a page stands, behind its title."""
    if stands == "withdrawn":
        return ", WITHDRAWN, do not work by it"
    return f", {stands}" if stands else ""


def _standing(found: Asked, page: str) -> dict[str, str]:
    """How a page stands, where there is a club."""
    return {"standing": found.stand[page]} if page in found.stand else {}


def _print_plain(found: Asked, top: int) -> None:
    ranking, stops = found.ranking, found.stops
    for rule, hit in stops:
        if hit.band is Band.SURE:
            print(f"STOP. {rule.title}. {rule.text}\n")
        else:
            print(f"First: {rule.question} If yes, stop: {rule.title}.\n")
    if ranking.understood:
        print(f"I read {', '.join(ranking.understood)}.\n")
    if not ranking.fits:
        print("Nothing fits well. Nearest:" if ranking.cards else "Nothing fits.")
    for number, card in enumerate(ranking.cards[:top], 1):
        stands = _in_words(found.stand.get(card.card, ""))
        chance = _percent(card.probability)
        print(f"{number}. {card.title}: {chance}{stands}  [{card.card}]")
        for why in card.why[:2]:
            print(f"     {why}")
    print(f"Something else: {_percent(ranking.none)}")
    if ranking.cards and not found.stand:
        print("No club has vetted these pages.")


def _percent(chance: float) -> str:
    return f"{round(100 * chance)}%"
