"""Signs of two cards that say the same thing, and no line that tells them apart."""

from collections.abc import Iterable, Iterator, Sequence

from bot.language.lexicon import Lexicon
from bot.match.records import alike, read_sign
from bot.model.card import Card
from bot.model.place import Fault, Place, slug


def like_signs(cards: Sequence[Card], lexicon: Lexicon) -> Iterator[Fault]:
    """A fault for each pair of signs that neither card has a `not` line for."""
    by_id = {card.id: card for card in cards}
    for one, sign, other, like in _pairs(cards, lexicon):
        mine, theirs = by_id[one], by_id[other]
        if not (_sends_to(mine, other) or _sends_to(theirs, one)):
            says = (
                f"'{sign}' is like '{like}' in '{other}'; say it another way, or add "
                f"to 'not:' a line '- what it looks like: {other}'"
            )
            yield Fault(_place(mine, sign), says)


def _pairs(
    cards: Sequence[Card], lexicon: Lexicon
) -> Iterable[tuple[str, str, str, str]]:
    """Card, sign, other card, its sign: alike in telling words, or the same letters."""
    own = ((c.id, read_sign(sign, lexicon)) for c in cards for sign in c.signs)
    found = alike(own, lexicon)
    pairs = {(one, sign.text, other, like.text) for one, sign, other, like in found}
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
