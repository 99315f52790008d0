"""Stop rules, and the shelf on which cards and rules stand together."""

from dataclasses import dataclass, field
from datetime import date

from bot.model.card import Block, Card, Caution, Drive, Share
from bot.model.pages import Note, Procedure
from bot.model.place import NOWHERE, Place
from bot.model.sources import Source


@dataclass(frozen=True, slots=True)
class StopRule:
    """A condition under which work or driving stops at once.

    `question` is asked where words raise it in doubt; `signs` are phrases that raise it
    at once.
    """

    id: str
    title: str
    question: str
    signs: tuple[str, ...]
    drive: Drive
    share: Share
    check_by: date
    authors: tuple[str, ...]
    cautions: tuple[Caution, ...]
    do_now: tuple[str, ...]
    call_for_help: tuple[Block, ...]
    who_decides: tuple[Block, ...]
    sources: tuple[Source, ...]
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Shelf:
    """Every page that could be read, in the order of their ids."""

    cards: tuple[Card, ...] = ()
    rules: tuple[StopRule, ...] = ()
    procedures: tuple[Procedure, ...] = ()
    notes: tuple[Note, ...] = ()

    def card(self, card_id: str) -> Card | None:
        """The card with that id, or None when it is not on the shelf."""
        return next((card for card in self.cards if card.id == card_id), None)

    def rule(self, rule_id: str) -> StopRule | None:
        """The stop rule with that id, or None when it is not on the shelf."""
        return next((rule for rule in self.rules if rule.id == rule_id), None)
