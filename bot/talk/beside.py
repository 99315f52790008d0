"""What stands beside a fault page: procedures that it sends one to, and field notes."""

import re
from collections.abc import Iterable, Iterator
from itertools import chain

from bot.model.card import Act, Block, Card, Caution, Needs
from bot.model.pages import Note, Procedure
from bot.talk import phrases, table
from bot.talk.library import Library, View, last_finding
from bot.talk.messages import (
    Choice,
    Message,
    PageAsked,
    Say,
    ShowStep,
    Tell,
    Warn,
)

_TO_PROCEDURE = re.compile(r"\]\((?:[^()\s]*/)?procedures/([a-z0-9-]+)\.md\)")


def blocks(body: Iterable[Block]) -> tuple[Message, ...]:
    """Cautions and prose, as they stand."""
    return tuple(Warn(b) if isinstance(b, Caution) else Tell(b) for b in body)


def shown(held: Procedure) -> tuple[Message, ...]:
    """A procedure in full, after which the same question stands."""
    steps = (
        ShowStep(f"Step {n}", step.title, step.needs, step.body)
        for n, step in enumerate(held.steps, 1)
    )
    return (
        Say(f"{held.title}. While it is done: {held.drive.value}."),
        *blocks(held.opening),
        *steps,
        Say("Done when:"),
        *blocks(held.done),
        Say("Back to where we were."),
    )


def cautions_for(
    card: Card, needs: Needs, body: tuple[Block, ...]
) -> tuple[Block, ...]:
    """A step with the cautions of the page's opening that guard what it does."""
    here = {block.act for block in body if isinstance(block, Caution)}
    wanted: set[Act] = set(needs.does) - {act for act in here if act}
    above = (b for b in card.opening if isinstance(b, Caution) and b.act in wanted)
    return (*above, *body)


def procedures(view: View, library: Library) -> Iterator[Procedure]:
    """The procedures that the step on the table, or the last finding, leads to."""
    step = view.check or view.repair
    finding = last_finding(view)
    leads = (finding.go_to,) if finding and finding.go_to else ()
    told = [block.text for block in step.body] if step else []
    if step is None and view.card:
        told += (block.text for block in view.card.nothing)
    ids = chain(
        (link.target.rsplit("/", 1)[-1].removesuffix(".md") for link in leads),
        (found for text in told for found in _TO_PROCEDURE.findall(text)),
    )
    for page in dict.fromkeys(ids):
        held = library.procedure(page)
        if held:
            yield held


def lead(view: View, library: Library) -> tuple[Choice, ...]:
    """The first procedure that is led to, to be shown."""
    held = next(procedures(view, library), None)
    if held is None:
        return ()
    label = f"show '{held.title}'"
    return (Choice(table.LEAD.mark, label, PageAsked(held.id), phrases.GO_TO),)


def hearsay(notes: Iterable[Note]) -> tuple[Message, ...]:
    """What members saw of a fault: with their names, and never weighed."""
    told = tuple(notes)
    if not told:
        return (Say("No member has written down anything of this fault."),)
    said: list[Message] = [Say("What members saw: hearsay, not vetted, not weighed.")]
    for note in told:
        said.append(Say(f"{note.title} ({', '.join(note.authors)}, {note.seen})"))
        said += blocks(note.body)
    return tuple(said)
