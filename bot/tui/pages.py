"""Messages as parts of a page: each a kind for the style sheet, and its paragraphs."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from textual.content import Content

from bot.model.card import Block, Caution, Needs, Signal
from bot.model.fitted import in_words
from bot.model.rule import StopRule
from bot.talk.clean import clean
from bot.talk.drawn import as_drawn
from bot.talk.messages import (
    Ask,
    Candidates,
    Chart,
    Done,
    Message,
    NotSaved,
    Say,
    ShowStep,
    Stop,
    Suspicions,
    Tell,
    Warn,
)
from bot.talk.wording import percent, span
from bot.tui.prose import Paragraph, marked, phrase, prose
from bot.tui.suspects import held_by, may_it_move, suspects

INK = {
    Signal.DANGER: "danger",
    Signal.WARNING: "warned",
    Signal.CAUTION: "careful",
    Signal.NOTICE: "notice",
}
"""Signal word -> the ink of its label and its edge."""


@dataclass(frozen=True, slots=True)
class Part:
    """Some paragraphs that are shown as one piece; `kind` are style sheet classes.

    `heads`: the first paragraph is the heading of a step or a stop. `lay` sets a text
    that is no paragraphs, line for line, for so many columns.
    """

    kind: str
    paragraphs: tuple[Paragraph, ...]
    heads: bool = False
    lay: Callable[[int], str] | None = None


SEARCHED = "/"
"""How the keys of rows begin that were found for words which are still typed."""


@dataclass(frozen=True, slots=True)
class Option:
    """One answer on offer: its key, its words, and what helps to choose it."""

    key: str
    label: str
    help: tuple[Content, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked. `options` are rows; `marks` the moves beside them.

    `has_numbers`: a number may be typed, so a digit alone is not yet an answer. `words`
    is what Enter does with words, where it does not just say them.
    """

    text: str
    options: tuple[Option, ...] = ()
    marks: tuple[Option, ...] = ()
    has_numbers: bool = False
    due: str = ""
    words: str = ""

    def label(self, key: str) -> str | None:
        """The words behind a key, or None when it is not on offer."""
        offered = (*self.options, *self.marks)
        return next((option.label for option in offered if option.key == key), None)


@dataclass(frozen=True, slots=True)
class Matter:
    """What is on the table: its heading, its danger in a line, and all of it.

    `guards`: a life may hang on it, so that it is read before it is answered.
    `is_read_through`: it is there to be read, and its rows stand back.
    """

    head: Content = field(default_factory=Content)
    danger: Content = field(default_factory=Content)
    parts: tuple[Part, ...] = ()
    guards: bool = False
    is_read_through: bool = False


def parts(messages: Iterable[Message]) -> Iterator[Part]:
    """Everything but the question, in order."""
    messages = tuple(messages)
    for message in messages:
        yield from _parts(message, messages)


OF_THE_STEP = (Stop, ShowStep, Warn, Tell, Candidates)
"""Messages with a place of their own; the others belong to the talk."""

SHORT = 160
"""Letters of a remark that finds room in the talk beside the step. Our choice."""


def matter(messages: Iterable[Message]) -> Matter | None:
    """What the messages put on the table; None when they put nothing there."""
    found = tuple(messages)
    if not any(isinstance(m, OF_THE_STEP) for m in found):
        return None
    kept = [m for m in found if isinstance(m, OF_THE_STEP) or _is_long(m)]
    heading = next((m for m in kept if isinstance(m, Stop | ShowStep)), None)
    shown = [part for m in kept for part in _parts(m, found)]
    if isinstance(heading, Stop | ShowStep):
        at = next(n for n, part in enumerate(shown) if part.heads)
        first = shown[at]
        shown[at] = replace(first, paragraphs=first.paragraphs[1:])
    warned = [*_cautions(kept)]
    return Matter(
        _headed(heading),
        _in_a_line(heading, warned),
        tuple(part for part in shown if part.paragraphs),
        guards=bool(warned) or isinstance(heading, Stop),
    )


def remarks(messages: Iterable[Message]) -> tuple[Part, ...]:
    """What is said beside the step."""
    found = tuple(messages)
    said = [m for m in found if isinstance(m, Say | Chart | Done | NotSaved)]
    return tuple(_plain(m) for m in said)


def is_long(messages: Iterable[Message]) -> bool:
    """Whether an answer to an aside finds no room in the talk beside the step."""
    found = [m for m in messages if not isinstance(m, Ask)]
    said = sum(len(m.text) for m in found if isinstance(m, Say))
    return said > SHORT or not all(isinstance(m, Say) for m in found)


def _is_long(message: Message) -> bool:
    return isinstance(message, Say) and len(message.text) > SHORT


def _cautions(messages: Iterable[Message]) -> Iterator[Caution]:
    for message in messages:
        match message:
            case Warn(caution):
                yield caution
            case ShowStep():
                yield from (b for b in message.body if isinstance(b, Caution))
            case Stop(rule):
                yield from rule.cautions
            case _:
                pass


def _headed(heading: Stop | ShowStep | None) -> Content:
    match heading:
        case Stop(rule):
            label = _label("! STOP", "danger")
            return Content.assemble(label, " ", clean(rule.title), ".").stylize("bold")
        case ShowStep():
            kind = Content.styled(f"{heading.called}: ", "bold")
            return kind + Content.styled(clean(heading.title), "bold")
        case _:
            return Content("")


def _in_a_line(heading: Stop | ShowStep | None, warned: Sequence[Caution]) -> Content:
    """What to do at once, or the gravest caution, as it begins."""
    if isinstance(heading, Stop) and heading.rule.do_now:
        return Content("Do now: ") + phrase(heading.rule.do_now[0])
    if not warned:
        return Content("")
    gravest = min(warned, key=lambda caution: [*INK].index(caution.signal))
    label = _label(f"! {gravest.signal.value}", INK[gravest.signal])
    return Content.assemble(label, " ", marked(gravest.text))


def _parts(message: Message, beside: tuple[Message, ...]) -> Iterator[Part]:
    match message:
        case Say() | Chart() | Done() | NotSaved():
            yield _plain(message)
        case Tell(block) | Warn(block):
            yield _block(block)
        case Stop(rule, whole):
            yield from _stop(rule, whole=whole)
        case Candidates():
            yield from _candidates(message, _offered(beside))
        case Suspicions():
            yield from _in_full(message, beside)
        case ShowStep():
            yield from _step(message)
        case Ask():
            return


def _plain(message: Say | Chart | Done | NotSaved) -> Part:
    """Plain words, or lines that stay as they are."""
    if isinstance(message, Chart):
        return Part("say", tuple(Paragraph(Content(row)) for row in message.lines))
    kind = "done" if isinstance(message, Done) else "say"
    return Part(kind, (Paragraph(phrase(message.text)),))


def question(messages: Iterable[Message]) -> Question | None:
    """The question that ends the messages; cards on offer say how likely they are."""
    messages = tuple(messages)
    found = [m for m in messages if isinstance(m, Ask)]
    if not found:
        return None
    ask = found[-1]
    near = next((m for m in messages if isinstance(m, Candidates)), None)
    options = tuple(_option(c.key, clean(c.label), near) for c in ask.choices)
    marks = tuple(Option(c.key, clean(c.label)) for c in ask.more)
    return Question(clean(ask.text), options, marks, ask.numbers, ask.due)


def _offered(messages: tuple[Message, ...]) -> set[str]:
    """Titles of the cards that stand among the answers."""
    asks = [m for m in messages if isinstance(m, Ask)]
    cards = [c for m in messages if isinstance(m, Candidates) for c in m.cards]
    labels = [choice.label for ask in asks for choice in ask.choices]
    return {c.title for c in cards if any(x.startswith(c.title) for x in labels)}


def _option(key: str, label: str, near: Candidates | None) -> Option:
    """A row; a card says how likely it is, what tells it apart, and why it is here."""
    for card in near.cards if near else ():
        title = clean(card.title)
        if title and label.startswith(title):
            look = label.removeprefix(title).strip(" ()")
            says = (("if: ", look), ("because: ", "".join(card.why[:1])))
            help_ = tuple(Content(name + clean(text)) for name, text in says if text)
            stands = f", {card.standing}" if card.standing else ""
            told = f"{title}, {percent(card.probability)}{stands}"
            return Option(key, told, help_)
    if near and key == "0":
        return Option(key, f"{label}, {percent(near.none)}")
    return Option(key, label)


def _candidates(found: Candidates, offered: set[str]) -> Iterator[Part]:
    rows = [
        Paragraph(Content(f"{clean(c.title)}, {percent(c.probability)}"))
        for c in found.cards
        if c.title not in offered
    ]
    if rows:
        head = Paragraph(Content("Less likely:"))
        yield Part("cards", (head, *rows))


def _in_full(found: Suspicions, beside: tuple[Message, ...]) -> Iterator[Part]:
    """All that is suspected, unless a step is shown, beside which it always stands."""
    if not any(isinstance(other, ShowStep) for other in beside):
        verdict = may_it_move(found.drive)
        yield Part("suspects", (*suspects(found), verdict, *held_by(found)))


def _label(words: str, ink: str) -> Content:
    return Content.styled(f" {words} ", f"bold reverse ${ink}")


def _caution(caution: Caution) -> Part:
    ink = INK[caution.signal]
    label = _label(f"! {caution.signal.value}", ink)
    text = Content.assemble(label, " ", marked(caution.text))
    return Part(f"caution {ink}", (Paragraph(text),))


def _stop(rule: StopRule, *, whole: bool) -> Iterator[Part]:
    head = Content.assemble(_label("! STOP", "danger"), " ", clean(rule.title), ".")
    yield Part("stop danger", (Paragraph(head.stylize("bold")),), heads=True)
    for caution in rule.cautions:
        yield _caution(caution)
    steps = [
        Paragraph(phrase(step), Content(f"{number}. "))
        for number, step in enumerate(rule.do_now, 1)
    ]
    do_now = Paragraph(Content.styled("Do now", "bold"))
    yield Part("stop danger", (do_now, *steps, may_it_move(rule.drive)))
    rest = (
        ("Call for help when", rule.call_for_help),
        ("Who decides", rule.who_decides),
    )
    for title, blocks in rest if whole else ():
        said = tuple(p for block in blocks for p in prose(block.text))
        head = Content.styled(title, "bold")
        close = (replace(p, gap=n > 0 and p.gap) for n, p in enumerate(said))
        yield Part("stop danger", (Paragraph(head), *close))


def _step(step: ShowStep) -> Iterator[Part]:
    title = Content.styled(clean(step.title), "bold")
    lead = Content.styled(f"{step.called}: ", "bold")
    yield Part("step", (Paragraph(title, lead), *_takes(step)), heads=True)
    for block in step.body:
        yield _block(block)
    if step.note:
        yield Part("say", (Paragraph(phrase(step.note)),))


def _block(block: Block) -> Part:
    if isinstance(block, Caution):
        return _caution(block)
    drawn = as_drawn(block.text)
    if drawn:
        rows = tuple(Paragraph(Content(clean(row))) for row in drawn)
        return Part("prose", rows)
    return Part("prose", prose(block.text))


def _takes(step: ShowStep) -> Iterator[Paragraph]:
    needs = step.needs
    rows = [
        ("Time", f"about {span(needs.time.minutes)}"),
        ("Parts", _uses(needs)),
        ("Tools", ", ".join(needs.tools)),
        ("Truck", _truck(needs)),
        ("Only", in_words(needs.only)),
    ]
    if step.readings and step.readings.wait:
        rows.append(("Wait", f"{span(step.readings.wait.minutes)} between readings"))
    if needs.after and step.kind == "Repair":
        rows.append(("After", f"drive verdict: {needs.after.value}"))
    for name, value in rows:
        if value:
            lead = Content.styled(f"{name:7}", "$muted")
            yield Paragraph(Content(clean(value)), lead)


def _uses(needs: Needs) -> str:
    return ", ".join(
        " or ".join(f"{c.name} ({c.price.value})" for c in part.choices)
        for part in needs.parts
    )


def _truck(needs: Needs) -> str:
    return ", ".join(
        f"{s.name} ({span(s.setup.minutes)} to get there)" if s.setup else s.name
        for s in needs.truck
    )
