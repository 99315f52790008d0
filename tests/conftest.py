"""Shared by all tests: the knowledge base, and the model card."""

from pathlib import Path

import pytest

from bot.cards.read import read_card
from bot.cards.words import read_words
from bot.language.compile import compiled
from bot.language.lexicon import Lexicon
from bot.model.card import Card
from bot.model.words import Words
from bot.store.scan import WORDS

KB = Path(__file__).parent.parent / "kb"


def lexicon_of(kb: Path) -> Lexicon:
    """The lexicon that the words files of a folder make together."""
    words = Words()
    for name in WORDS:
        found = read_words((kb / name).read_text(), name)
        assert isinstance(found, Words), found
        words += found
    return compiled(words)


@pytest.fixture(scope="session")
def kb() -> Path:
    """The project's own knowledge base."""
    return KB


@pytest.fixture(scope="session")
def wheel_valve() -> Card:
    """A real card, for tests that need one at full depth."""
    path = KB / "cards" / "tyre-inflation" / "wheel-valve-leaks.md"
    found = read_card(path.read_text(), "kb/cards/tyre-inflation/wheel-valve-leaks.md")
    assert isinstance(found, Card), found
    return found


@pytest.fixture(scope="session")
def lexicon(kb: Path) -> Lexicon:
    """The project's own lexicon, made ready."""
    return lexicon_of(kb)
