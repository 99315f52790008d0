"""The cards that a complaint may belong to, and how surely it belongs to each.

Belief spans the causes of all of them at once. A cause that two cards name alike is one
cause, whose prior is the sum of what it gets on each; a check bears on the causes of
its own card and leaves the others as they are.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from bot.model.card import Card

PICK = 20.0
"""How many times likelier a card is for being picked by the person, who has read its
title beside the others'. Our choice, no source."""

LEAD = 0.3
"""How likely the matcher would have to find a card for one that a finding leads to and
that it did not name. Our choice, no source."""

LEAST = 0.02
MOST_CARDS = 4
"""Cards less likely than that, or beyond that many, are left out. Our choice."""


@dataclass(frozen=True, slots=True)
class Case:
    """The cards in play, likeliest first, their chances, and the chance of none.

    Chances and `none` sum to one.
    """

    cards: tuple[Card, ...]
    chances: tuple[float, ...]
    none: float = 0.0

    def card(self, card_id: str) -> Card | None:
        """The card in play with that id, or None."""
        return next((card for card in self.cards if card.id == card_id), None)

    def pairs(self) -> Iterator[tuple[Card, float]]:
        """Each card with its chance."""
        return zip(self.cards, self.chances, strict=True)

    def naming(self, cause: str) -> Card | None:
        """The likeliest card that names that cause, or None."""
        return next((card for card in self.cards if card.cause(cause)), None)


def case_of(
    cards: Mapping[str, Card],
    matched: Sequence[tuple[str, float]],
    none: float,
    picked: str = "",
) -> Case:
    """The case that plain words and a person's pick make.

    Args:
        cards: the cards that can be read, by id.
        matched: card id and probability as the matcher gave them.
        none: the matcher's probability that no card fits.
        picked: the card that the person picked, or that a finding led to; "" for none.
    """
    raw = {card: p for card, p in matched if card in cards}
    if picked in cards:
        raw[picked] = PICK * max(raw.get(picked, 0.0), LEAD if matched else 1.0)
    whole = sum(raw.values()) + none
    kept = sorted(
        ((card, p) for card, p in raw.items() if p >= LEAST * whole or card == picked),
        key=lambda pair: -pair[1],
    )[:MOST_CARDS]
    total = sum(p for _, p in kept) + none
    return Case(
        tuple(cards[card] for card, _ in kept),
        tuple(p / total for _, p in kept),
        none / total,
    )
