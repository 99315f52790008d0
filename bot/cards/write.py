"""Card -> card text, in the one layout that `kb/README.md` lays down.

Prose and cautions come out letter for letter; everything else is written afresh. For a
tidy card, writing what was read gives the same text.
"""

from collections.abc import Iterable, Iterator
from itertools import chain

from bot.cards.evidence import write_cause, write_finding
from bot.cards.front import scalar, write_front
from bot.cards.needs import write_needs
from bot.cards.readings import write_readings
from bot.cards.sources import write_source
from bot.model.card import Block, Card, Caution, Check, Proof, Repair, Source
from bot.model.rule import StopRule


def write_card(card: Card) -> str:
    """The text of a card, ending in one line feed."""
    front = write_front(
        [
            ("id", card.id),
            ("title", scalar(card.title)),
            ("system", card.system),
            ("signs", tuple(map(scalar, card.signs))),
            (
                "not",
                tuple(f"{scalar(a.phrase)}: {a.card}" for a in card.look_alikes),
            ),
            ("fits", card.fits),
            ("provoke", scalar(card.provoke) if card.provoke else ""),
            ("watch", scalar(card.watch) if card.watch else ""),
            ("drive", card.drive.value),
            ("distribution", card.distribution.value),
            ("review-by", card.review_by.isoformat()),
            ("authors", tuple(map(scalar, card.authors))),
        ]
    )
    names = {cause.id: cause.name for cause in card.causes}
    pieces = chain(
        (front, f"# {card.title}"),
        _blocks(card.opening),
        ("## Causes", _dashes(map(write_cause, card.causes)), "## Checks"),
        chain.from_iterable(_check(check, names) for check in card.checks),
        ("## Repairs",),
        chain.from_iterable(_repair(repair) for repair in card.repairs),
        ("## Proof",),
        _proof(card.proof),
        _sources(card.sources),
    )
    return "\n\n".join(piece for piece in pieces if piece) + "\n"


def write_rule(rule: StopRule) -> str:
    """The text of a stop rule, ending in one line feed."""
    front = write_front(
        [
            ("id", rule.id),
            ("title", scalar(rule.title)),
            ("question", scalar(rule.question)),
            ("signs", tuple(map(scalar, rule.signs))),
            ("drive", rule.drive.value),
            ("distribution", rule.distribution.value),
            ("review-by", rule.review_by.isoformat()),
            ("authors", tuple(map(scalar, rule.authors))),
        ]
    )
    steps = "\n".join(f"{n}. {step}" for n, step in enumerate(rule.do_now, 1))
    pieces = chain(
        (front, f"# {rule.title}"),
        _blocks(rule.cautions),
        ("## Do now", steps, "## Call for help when"),
        _blocks(rule.call_for_help),
        ("## Who decides",),
        _blocks(rule.who_decides),
        _sources(rule.sources),
    )
    return "\n\n".join(piece for piece in pieces if piece) + "\n"


def untidy_line(text: str, tidy: str) -> tuple[int, str] | None:
    """The first line, from 1, where a text differs from its tidy form, and that form.

    None when the two are the same.
    """
    if text == tidy:
        return None
    lines, wanted = text.split("\n"), tidy.split("\n")
    for number, (line, other) in enumerate(zip(lines, wanted, strict=False), 1):
        if line != other:
            return number, other
    return min(len(lines), len(wanted)), "(one line feed at the end)"


def _dashes(lines: Iterable[str]) -> str:
    return "\n".join(f"- {line}" for line in lines)


def _blocks(blocks: tuple[Block, ...]) -> Iterator[str]:
    for block in blocks:
        if isinstance(block, Caution):
            said = f"**{block.signal.value}** {block.text}"
            yield "\n".join(f"> {line}" for line in said.split("\n"))
        else:
            yield block.text


def _check(check: Check, names: dict[str, str]) -> Iterator[str]:
    yield f"### {check.title}"
    yield f"*{write_needs(check.needs)}*"
    yield from _blocks(check.body)
    if check.readings:
        yield write_readings(check.readings)
    yield _dashes(write_finding(finding, names) for finding in check.findings)


def _repair(repair: Repair) -> Iterator[str]:
    yield f"### {repair.title}"
    yield f"*{write_needs(repair.needs)}*"
    yield from _blocks(repair.body)


def _proof(proof: Proof) -> Iterator[str]:
    yield f"*{write_needs(proof.needs)}*"
    yield from _blocks(proof.body)
    yield _dashes((f"Clean: {proof.clean}", f"Not clean: {proof.not_clean}"))


def _sources(sources: tuple[Source, ...]) -> Iterator[str]:
    yield "## Sources"
    yield _dashes(map(write_source, sources))
