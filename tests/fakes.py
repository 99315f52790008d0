"""A library made of a few values, for the conversation without disk or matcher."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from bot.cards.words import read_words
from bot.diagnose.learning import Outcomes
from bot.language.compare import bears_on
from bot.language.compile import compiled
from bot.language.lexicon import Lexicon
from bot.language.line import Line, listen
from bot.match.agreement import confirms
from bot.match.answers import Choice
from bot.match.danger import SOUNDS, Band, Hit
from bot.match.features import answer
from bot.model.card import Card
from bot.model.pages import Note, Procedure
from bot.model.rule import StopRule
from bot.model.truck import Truck
from bot.model.words import Words
from bot.store.scan import WORDS
from bot.talk.library import NOWHERE, Earlier, Ranked, Where
from bot.talk.messages import Candidate


@dataclass
class FakeLibrary:
    """Keeps `bot.talk.library.Library` with plain dictionaries.

    `meant` maps typed words to the option they mean and how surely; `raises` maps a
    word to the rule that it raises, in doubt if it is one of `doubts`; with `by_ear` as
    the trained ear does, with no sign met.
    """

    cards: dict[str, Card] = field(default_factory=dict)
    rules: dict[str, StopRule] = field(default_factory=dict)
    meant: dict[str, tuple[str, float]] = field(default_factory=dict)
    raises: dict[str, str] = field(default_factory=dict)
    doubts: frozenset[str] = frozenset()
    by_ear: bool = False
    named: dict[str, float] = field(default_factory=dict)
    sure: float = 0.9
    near: float = 0.01
    lorry: Truck | None = None
    since: str = ""
    moment: str = "2026-11-26T10:00:00+00:00"
    procedures: dict[str, Procedure] = field(default_factory=dict)
    told: tuple[Note, ...] = ()
    before: tuple[Earlier, ...] = ()
    in_use: str = ""

    def card(self, card_id: str) -> Card | None:
        """As promised."""
        return self.cards.get(card_id)

    def rule(self, rule_id: str) -> StopRule | None:
        """As promised."""
        return self.rules.get(rule_id)

    def procedure(self, page_id: str) -> Procedure | None:
        """As promised."""
        return self.procedures.get(page_id)

    def notes(self, card_id: str) -> tuple[Note, ...]:
        """As promised."""
        return tuple(note for note in self.told if note.about == card_id)

    def now(self) -> str:
        """The moment set by the test."""
        return self.moment

    def steady(self) -> str:
        """The steady clock set by the test."""
        return self.since

    def wall_clock(self, moment: str) -> str:
        """Hours and minutes of the moment, in UTC."""
        return moment[11:16]

    def truck(self, truck_id: str = "") -> Truck | None:
        """As promised; the same for every truck."""
        return self.lorry

    def earlier(self, card_id: str, truck_id: str) -> tuple[Earlier, ...]:
        """As promised; the same for every card and truck."""
        return self.before

    def outcomes(self, card_id: str) -> Outcomes:
        """As promised; the same for every card."""
        return Outcomes(self.named)

    def rank(self, words: str, truck_id: str = "") -> Ranked:
        """The cards in order, the first with `sure`."""
        cards = tuple(
            Candidate(card.id, card.title, self.near if n else self.sure, ("a reason",))
            for n, card in enumerate(self.cards.values())
        )
        return Ranked(cards, 1 - self.sure, fits=self.sure >= 0.5)

    def learn(self) -> None:
        """Nothing is learnt."""

    def line(self, words: str) -> Line:
        """The words as the real reader reads them."""
        return listen(words, real_lexicon())

    def danger(self, words: str) -> tuple[Hit, ...]:
        """The rules whose word stands in the words; a doubt where it ends in "?"."""
        return tuple(
            Hit(
                rule,
                Band.MAYBE if word in self.doubts else Band.SURE,
                1.0,
                SOUNDS if self.by_ear else "a word",
            )
            for word, rule in self.raises.items()
            if word in words
        )

    def confirms(self, words: str, tone: bool | None, guess: str) -> bool | None:
        """As the real reader compares them."""
        lexicon = real_lexicon()
        line = listen(words, lexicon)
        return confirms(line, tone, answer(guess, lexicon), lexicon)

    def standing(self, page_id: str) -> tuple[str, str]:
        return "", ""

    def bears(self, words: str, text: str) -> tuple[float, float]:
        """As the real reader compares them."""
        lexicon = real_lexicon()
        return bears_on(listen(words, lexicon), listen(text, lexicon), lexicon)

    def choose(
        self, words: str, options: Sequence[str], where: Where = NOWHERE
    ) -> tuple[Choice, ...]:
        """What `meant` says, if that option is offered."""
        option, sure = self.meant.get(words, ("", 0.0))
        if option not in options:
            return ()
        return (Choice(list(options).index(option), option, sure, 0.0, (words,)),)

    def prepare(self, card_id: str) -> bool:
        """Nothing to be read."""
        return False

    def volunteered(
        self, words: str, options: Sequence[str], where: Where = NOWHERE
    ) -> Choice | None:
        """The same, when it is sure enough."""
        found = self.choose(words, options)
        return found[0] if found and found[0].sureness > 0.75 else None


@cache
def real_lexicon() -> Lexicon:
    """The project's own lexicon."""
    kb = Path(__file__).parent.parent / "kb"
    words = Words()
    for name in WORDS:
        found = read_words((kb / name).read_text(), name)
        assert isinstance(found, Words), found
        words += found
    return compiled(words)
