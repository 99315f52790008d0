"""What stands beside a page: further wordings of its complaint, in its side file."""

from dataclasses import replace
from pathlib import Path

from bot.cards.wordings import COMPLAINT, read_wordings
from bot.model.card import Card
from bot.store.pages import page, text_of
from bot.store.scan import SIDE


def told_beside(path: Path) -> tuple[str, ...]:
    """The wordings of a page's complaint in the file beside it; none where that fails.

    A side file with mistakes is told of by its own line; it only widens the ear.
    """
    side = path.with_name(path.stem + SIDE)
    if not side.is_file():
        return ()
    text = text_of(page(side))
    held = read_wordings(text, str(side)) if isinstance(text, str) else ()
    return () if isinstance(held, tuple) else held.get(COMPLAINT, ())


def whole(card: Card, path: Path) -> Card:
    """A card with the wordings beside it among its signs, as the matcher knows it."""
    return replace(card, signs=(*card.signs, *told_beside(path)))
