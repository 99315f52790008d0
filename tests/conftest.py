"""Shared by all tests: the knowledge base, and the model card."""

from dataclasses import fields
from pathlib import Path

import pytest
from hypothesis import settings

from bot.cards.read import read_card
from bot.language.compile import compiled
from bot.language.lexicon import Lexicon
from bot.model.card import Card
from bot.model.words import Words
from tests.fakes import real_lexicon

# The gate draws the same cases every time, so that a change is judged by what it
# changed; `--hypothesis-profile default` draws new ones.
settings.register_profile("gate", derandomize=True, deadline=None)
settings.load_profile("gate")

_MADE_READY: dict[object, Lexicon] = {}


@pytest.fixture(autouse=True)
def _words_are_made_ready_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same words always give the same lexicon, and making it takes seconds."""

    def once(words: Words) -> Lexicon:
        entries = (getattr(words, f.name) for f in fields(words) if f.name != "lists")
        key = (*entries, *sorted(words.lists.items()))
        if key not in _MADE_READY:
            _MADE_READY[key] = compiled(words)
        return _MADE_READY[key]

    monkeypatch.setattr("bot.desk.upkeep.compiled", once)


KB = Path(__file__).parent.parent / "kb"


@pytest.fixture(scope="session")
def kb() -> Path:
    """The project's own knowledge base."""
    return KB


@pytest.fixture(scope="session")
def wheel_valve() -> Card:
    """A page as it once was, for tests that need one at full depth that stays."""
    path = Path(__file__).parent / "cards" / "wheel-valve-leaks.md"
    found = read_card(path.read_text(), "kb/cards/tyre-inflation/wheel-valve-leaks.md")
    assert isinstance(found, Card), found
    return found


@pytest.fixture(scope="session")
def lexicon(kb: Path) -> Lexicon:
    """The project's own lexicon, made ready."""
    return real_lexicon()
