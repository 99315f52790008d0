"""Signs of two cards that say the same thing, and no line that tells them apart."""

from collections.abc import Callable, Iterable, Iterator, Sequence

from bot.match.records import Saying, alike
from bot.model.card import Card
from bot.model.place import Fault, Place, slug

Telling = Callable[[Card], Sequence[frozenset[str]]]
"""Of each sign of a card, in order, the terms that tell something."""


def like_signs(cards: Sequence[Card], telling: Telling) -> Iterator[Fault]:
    """A fault for each pair of signs that neither card has a `not` line for."""
    by_id = {card.id: card for card in cards}
    for one, sign, other, like in _pairs(cards, telling):
        mine, theirs = by_id[one], by_id[other]
        if not (_sends_to(mine, other) or _sends_to(theirs, one)):
            says = (
                f"'{sign}' is like '{like}' in '{other}'; say it another way, or add "
                f"to 'not:' a line '- what it looks like: {other}'"
            )
            yield Fault(_place(mine, sign), says)


def _pairs(
    cards: Sequence[Card], telling: Telling
) -> Iterable[tuple[str, str, str, str]]:
    """Card, sign, other card, its sign: alike in telling words, or the same letters."""
    own = (
        Saying(card.id, sign, terms)
        for card in cards
        for sign, terms in zip(card.signs, telling(card), strict=True)
    )
    found = alike(own)
    pairs = {(one.card, one.text, like.card, like.text) for one, like in found}
    seen: dict[str, tuple[str, str]] = {}
    for card in cards:
        for sign in card.signs:
            first = seen.setdefault(slug(sign), (card.id, sign))
            if first[0] != card.id:
                pairs.add((card.id, sign, *first))
    return sorted(pairs)


def _sends_to(card: Card, other: str) -> bool:
    return any(look_alike.card == other for look_alike in card.look_alikes)


def _place(card: Card, sign: str) -> Place:
    """The sign's own line; the card's first when the matcher changed its letters."""
    places = dict(zip(card.signs, card.sign_places, strict=False))
    return places.get(sign, card.place)
