"""How words are read, and what each ear makes of them: `chock hear`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from bot.desk.dangers import dangers
from bot.desk.shelf import open_index
from bot.language.line import Line, listen
from bot.match.answers import Choice, Verdict, choose, verdict
from bot.match.danger import Hit
from bot.match.features import answer
from bot.match.rank import rank
from bot.model.card import Card
from bot.model.place import BotError
from bot.store.pages import page, text_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bot.match.rank import Candidate
    from bot.store.index import CardIndex


class Made(NamedTuple):
    """A line, the dangers it raises, what answers it means, and the cards it finds."""

    line: Line
    dangers: tuple[Hit, ...]
    choices: tuple[Choice, ...]
    verdict: Verdict
    cards: tuple[Candidate, ...]


def made_of(
    words: str, folders: tuple[str, str], at: str = "", options: Sequence[str] = ()
) -> Made:
    """What every ear makes of some words.

    Args:
        words: as a person would type them.
        folders: the knowledge base and the person's store.
        at: ``card/check``, whose answers they are held against.
        options: answers of a question of one's own, instead.

    Raises:
        BotError: there is no such card or check.
    """
    index = open_index(*folders)
    try:
        lexicon = index.lexicon
        line = listen(words, lexicon, index)
        said: dict[tuple[str, str], tuple[str, ...]] = {}
        check = ""
        if at:
            card, check = _card_and_check(at, index)
            found = card.check(check)
            options = [f.answer for f in found.findings] if found else ()
            said = index.wordings(card.id)
        ready = [answer(o, lexicon, said.get((check, o), ()), check) for o in options]
        choices = choose(line, ready, lexicon)
        raised = dangers(line, index.rules(), index)
        cards = rank(line, index).cards[:3]
        return Made(line, raised, choices, verdict(choices), cards)
    finally:
        index.close()


def _card_and_check(at: str, index: CardIndex) -> tuple[Card, str]:
    """The card that ``card/check`` names, and the check's id."""
    name, _, check = at.partition("/")
    path = index.paths().get(name)
    found = page(Path(path)) if path else None
    text = text_of(found) if found else None
    if found is None or not isinstance(text, str):
        raise BotError(f"there is no card '{name}'; see chock cards")
    from bot.desk.upkeep import read

    card = read(text, found)
    if not isinstance(card, Card) or card.check(check) is None:
        known = ", ".join(c.id for c in card.checks) if isinstance(card, Card) else ""
        raise BotError(f"'{name}' has no check '{check}'; it has {known}")
    return card, check
