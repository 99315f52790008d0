"""A library made of a few values, for the conversation without disk or matcher."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from bot.diagnose.learning import Outcomes
from bot.model.card import Card
from bot.model.rule import StopRule
from bot.model.truck import Truck
from bot.talk.library import Ranked
from bot.talk.messages import Candidate


@dataclass
class FakeLibrary:
    """Keeps `bot.talk.library.Library` with plain dictionaries.

    `meant` maps typed words to the option they mean and how surely; `raises` maps a
    word to the rule that it raises.
    """

    cards: dict[str, Card] = field(default_factory=dict)
    rules: dict[str, StopRule] = field(default_factory=dict)
    meant: dict[str, tuple[str, float]] = field(default_factory=dict)
    raises: dict[str, str] = field(default_factory=dict)
    named: dict[str, float] = field(default_factory=dict)
    sure: float = 0.9
    near: float = 0.01
    lorry: Truck | None = None
    moment: str = "2026-11-26T10:00:00+00:00"

    def card(self, card_id: str) -> Card | None:
        """As promised."""
        return self.cards.get(card_id)

    def rule(self, rule_id: str) -> StopRule | None:
        """As promised."""
        return self.rules.get(rule_id)

    def now(self) -> str:
        """The moment set by the test."""
        return self.moment

    def wall_clock(self, moment: str) -> str:
        """Hours and minutes of the moment, in UTC."""
        return moment[11:16]

    def truck(self) -> Truck | None:
        """As promised."""
        return self.lorry

    def outcomes(self, card_id: str) -> Outcomes:
        """As promised; the same for every card."""
        return Outcomes(self.named)

    def rank(self, words: str) -> Ranked:
        """The cards in order, the first with `sure`."""
        cards = tuple(
            Candidate(card.id, card.title, self.near if n else self.sure, ("a reason",))
            for n, card in enumerate(self.cards.values())
        )
        return Ranked(cards, 1 - self.sure, fits=self.sure >= 0.5)

    def raised(self, words: str) -> tuple[str, ...]:
        """The rules whose word stands in the words."""
        return tuple(rule for word, rule in self.raises.items() if word in words)

    def choose(
        self, words: str, options: Sequence[str]
    ) -> tuple[tuple[int, float], ...]:
        """What `meant` says, if that option is offered."""
        option, sure = self.meant.get(words, ("", 0.0))
        return ((list(options).index(option), sure),) if option in options else ()

    def volunteered(
        self, words: str, options: Sequence[str]
    ) -> tuple[int, float] | None:
        """The same, when it is sure enough."""
        found = self.choose(words, options)
        return found[0] if found and found[0][1] > 0.75 else None
