"""What is wrong, in the person's words, and which of the cards on offer it is."""

from collections.abc import Sequence
from dataclasses import replace

from bot.job import events as e
from bot.language.line import Line
from bot.match.answers import Choice, Verdict, verdict
from bot.talk import phrases
from bot.talk.beside import shown
from bot.talk.finding import MOSTLY, Heard, lost
from bot.talk.library import Library, View
from bot.talk.messages import Candidate
from bot.talk.offer import offered_again, on_offer
from bot.talk.reply import after_tone, takes_back, tone
from bot.talk.show import understood

SHORT = 14
"""In so many words a card on offer may be named."""


def at_describe(view: View, words: str, library: Library) -> Heard:
    """What is wrong: the cards that all words so far may mean."""
    line = library.line(words)
    if not view.job.words and not line.acts.isdisjoint(IDLE):
        return lost(NO_COMPLAINT)
    ranked = library.rank(". ".join((*view.job.words, words)), view.job.truck)
    candidates = tuple((card.card, card.probability) for card in ranked.cards)
    described = e.Described(words, candidates, ranked.none)
    hidden = line.told.intersection(phrases.HIDES)
    hides = (e.FaultHid(),) if hidden else ()
    again = offered_again(view.job, words, library)
    offered = (e.CardsOfferedAgain(again),) if again else ()
    before = ". ".join(view.job.words)
    told = library.rank(before, view.job.truck).understood if before else ()
    new = replace(ranked, understood=_without(ranked.understood, told))
    return Heard((described, *offered, *hides), understood(new))


IDLE = frozenset(
    (*phrases.YES, *phrases.NO, *phrases.BACK, *phrases.WHY, *phrases.GO_ON)
)
"""What tells of no fault, said by itself before anything else."""

NO_COMPLAINT = "Nothing was told yet. Say what the truck does, or does no more."


def _without(notes: tuple[str, ...], told: tuple[str, ...]) -> tuple[str, ...]:
    """The notes that were not given before."""
    return tuple(note for note in notes if note not in told)


def at_narrow(view: View, words: str, library: Library) -> Heard:
    """A card on offer, by its name or with a yes; else more of what is wrong."""
    near = on_offer(view.job, library)
    line = library.line(words)
    if near and (len(line.words) <= SHORT or tone(line)):
        labels = [f"{card.title}. {card.look}" for card in near]
        chosen = library.choose(words, labels)
        named = verdict(chosen)
        sure = named is Verdict.TAKE or bool(tone(line))
        if named is not Verdict.NONE and (sure or _is_title(chosen[0], line, library)):
            return picked(near[chosen[0].number], library)
    leads = len(near) == 1 or _leads(near)
    if near and not leads and tone(line) is True and not after_tone(line):
        return lost(WHICH_ONE)
    if leads and tone(line) is True and not takes_back(line):
        rest = after_tone(line)
        ranked = library.rank(rest, view.job.truck).cards[:1] if rest else ()
        other = [
            c for c in ranked if c.card != near[0].card and c.probability >= LIKELY
        ]
        if not other:
            told = (e.Told(rest),) if rest else ()
            heard = picked(near[0], library)
            return Heard((*heard.events, *told), heard.says)
    return at_describe(view, words, library)


def picked(found: Candidate, library: Library) -> Heard:
    """A card that is worked by from here, or a procedure that is shown."""
    held = library.procedure(found.card) if found.is_procedure else None
    return Heard(says=shown(held)) if held else Heard((e.CardChosen(found.card),))


WHICH_ONE = "Which of them? Type its number, or > where you cannot say."


def _leads(near: Sequence[Candidate]) -> bool:
    """Whether the first of several is so far ahead that a yes can mean it alone."""
    if len(near) < 2 or near[0].probability < LIKELY:
        return False
    return near[0].probability >= FAR_AHEAD * near[1].probability


FAR_AHEAD = 3.0
"""Our choice; back takes it back."""


def _is_title(choice: Choice, line: Line, library: Library) -> bool:
    """Whether little is said but words of what is chosen: "the park brake one"."""
    met = line.stems & library.line(choice.text).stems
    return len(met) > 1 and len(met) >= MOSTLY * len(line.stems)


LIKELY = 0.5
"""So likely another card is by what stands beside a yes that it is no yes."""
