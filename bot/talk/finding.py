"""Which finding words mean: of the check on the table, or of another one.

What could hurt somebody if it were misheard, what is said with a doubt, and what is
only half understood is played back for a yes.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce

from bot.job import events as e
from bot.job.moves import NEXT_STAGE, advance
from bot.language.line import Line
from bot.language.quantities import Quantity
from bot.match.answers import Choice, Verdict, verdict
from bot.model.card import Card, Check, Drive
from bot.talk.aside import is_doubtful
from bot.talk.follow import stated
from bot.talk.library import STAY, Library, View, Where, finding_of, sayable
from bot.talk.messages import Message, Say

OUTRIGHT = 0.95
"""So outright a finding of another check must be told to come before this one."""


@dataclass(frozen=True, slots=True)
class Heard:
    """What typed words came to: events to record, and words back.

    `lost`: no ear could use them.
    """

    events: tuple[e.Event, ...] = ()
    says: tuple[Message, ...] = ()
    lost: bool = False


def say(text: str) -> Heard:
    """Words back, and nothing that happened."""
    return Heard(says=(Say(text),))


def lost(text: str) -> Heard:
    """Words back where no ear could use what was typed."""
    return Heard(says=(Say(text),), lost=True)


def found_events(view: View, event: e.Found, library: Library) -> tuple[e.Event, ...]:
    """A finding, and the stop rule that it raises.

    One whose page is not here stops too, by the name that the finding gives it.
    """
    finding = finding_of(view.card, event.check, event.answer) if view.card else None
    if finding is None or finding.stop is None:
        return (event,)
    rule = finding.stop_rule
    title = f"{finding.stop.label.capitalize()}: the page of this rule is not here"
    kept = ((rule, title, Drive.DO_NOT_MOVE.value, STAY),)
    return event, e.StopRaised((rule,), () if library.rule(rule) else kept)


def is_found(view: View, rule: str, library: Library) -> bool:
    """Whether a finding of this job raises a stop rule."""
    return any(
        finding.stop_rule == rule
        for answer in view.job.answers
        if (card := library.card(answer.card))
        and (finding := finding_of(card, answer.check, answer.answer))
    )


def guards(check: Check) -> bool:
    """Whether an answer misheard could hurt somebody: then it is always played back."""
    grave = any(f.stop or f.drive for f in check.findings)
    return check.needs.first or grave


def in_words(view: View, check: Check, words: str, library: Library) -> Heard | None:
    """The finding of the check on the table that words mean, or None."""
    line = library.line(words)
    options = sayable(check)
    if line.is_spoken and not _answers_by_a_word(line, options):
        return None
    choices = library.choose(words, options, where(view, check))
    found = verdict(choices)
    if found is Verdict.NONE or line.is_question:
        return None
    first = choices[0]
    if (check.id, first.text) in view.job.denied:
        return None
    doubted = is_doubtful(line) or _tells_figures(line.quantities)
    if found is Verdict.TAKE and not guards(check) and not doubted:
        event = e.Found(check.id, first.text, words, first.why)
        heard = Heard(found_events(view, event, library))
        return beside(view, heard, _unused(line, first), library)
    return Heard((e.Guessed(check.id, first.text, words, first.why),))


def _answers_by_a_word(line: Line, options: Sequence[str]) -> bool:
    """Whether a mere yes, no or none tells which answer is meant."""
    begins = [o.split(",")[0].split(" ")[0].lower() for o in options]
    said = {word for act, word in ONE_WORD.items() if act in line.told}
    return any(begins.count(word) == 1 for word in said)


ONE_WORD = {"yes": "yes", "no": "no", "none_of_these": "none"}
"""Acts that an answer may begin with, and how it does."""


def where(view: View, check: Check) -> Where:
    """Of which check answers are, for it may know more wordings of them."""
    return Where(view.card.id if view.card else "", check.id)


def _tells_figures(quantities: Sequence[Quantity]) -> bool:
    """Whether two measured values are told, which were meant for another check."""
    kinds = [found.unit.kind for found in quantities if found.unit]
    return sum(kind in ("pressure", "voltage", "temperature") for kind in kinds) > 1


def _unused(line: Line, choice: Choice) -> str:
    """The clauses of a line that nothing was made of."""
    used = {
        number
        for number, clause in enumerate(line.clauses)
        if len(clause.mentions) < FEWEST_LEFT
        or any(mention.said in choice.why for mention in clause.mentions)
    }
    return line.but(used)


def unused_rest(line: Line) -> str:
    """What stands beside an answer and no ear could use, if it says much."""
    little = {
        number
        for number, clause in enumerate(line.clauses)
        if len(clause.mentions) < FEWEST_LEFT
    }
    return line.but({*little, *line.courtesies})


def beside(view: View, heard: Heard, text: str, library: Library) -> Heard:
    """What was heard, with words beside it that are said back and kept for later.

    What was said before, or is the card's own title, is known: it is not said back.
    """
    if not text or _is_known(view, text, library):
        return heard
    stage = reduce(advance, heard.events, view.job).stage
    kept = (e.Told(text),) if (stage, e.Told) in NEXT_STAGE else ()
    later = " I keep it for later checks." if kept else ""
    told = Say(f'I could not use: "{text}".{later}')
    return Heard((*heard.events, *kept), (*heard.says, told))


def kept_for_a_page(view: View, words: str, library: Library) -> Heard | None:
    """What is told of a fault whose page is not written, kept as was promised there."""
    line = library.line(words)
    if view.card is None or not view.card.is_stub or line.is_question or line.is_spoken:
        return None
    return Heard((e.Told(words),), (Say(KEPT),))


KEPT = "Noted, for the club to begin its page. Nothing more to tell? Type 1."


def _is_known(view: View, text: str, library: Library) -> bool:
    """Whether words repeat what was said before, or what the card is called."""
    job, card = view.job, view.card
    said = (*job.words, *job.told, *(answer.words for answer in job.answers))
    written = (card.title,) if card else ()
    told = library.line(text).stems
    return any(
        len(told & library.line(known).stems) >= MOSTLY * len(told)
        for known in (*said, *written)
    )


MOSTLY = 2 / 3
"""So much of what is said stands elsewhere: then it is known. Our choice."""

FEWEST_LEFT = 2
"""A clause that says less is small talk."""


def is_verbatim(view: View, words: str, library: Library) -> bool:
    """Whether words are an answer of the check on the table, letter for letter."""
    bare = plainly(words)
    return view.check is not None and bare in map(plainly, sayable(view.check))


def plainly(words: str) -> str:
    """Small letters and figures, one blank between words."""
    kept = "".join(c if c.isalnum() else " " for c in words.lower())
    return " ".join(kept.split())


def elsewhere(
    view: View, card: Card, words: str, library: Library
) -> tuple[float, Heard] | None:
    """How outright a finding of another check is stated; it is to be played back."""
    found = [
        (sure, e.Guessed(check.id, answer, words))
        for check in card.checks
        if view.job.answered(check.id) is None and check is not view.check
        for sure, answer in stated(card, check, words, library)
        if (check.id, answer) not in view.job.denied
    ]
    if not found:
        return None
    sure, guess = max(found, key=lambda pair: pair[0])
    return sure, Heard((guess,))


def by_name(line: Line, names: Sequence[Line], likely: int | None = None) -> int | None:
    """The number of the only name of which two words or more were said, undenied.

    Of the `likely` one a single word is enough, if no other name has more of them.
    """
    said = frozenset(
        word.stem
        for mention in line.mentions
        if not mention.denied
        for word in line.words[mention.first : mention.last]
    )
    met = [len(said & name.stems) for name in names]
    most = max(met, default=0)
    if likely is not None and met[likely] == most > 0:
        return likely
    return met.index(most) if most >= NAMED_BY and met.count(most) == 1 else None


NAMED_BY = 2
"""So many words of its name name a cause. Our choice."""


NOT_UNDERSTOOD = (
    "I cannot tell which answer that is. Type its number, say it another way, or type "
    "keys to see what else can be said."
)


def not_understood() -> Heard:
    """What is said where no ear could use the words."""
    return lost(NOT_UNDERSTOOD)
