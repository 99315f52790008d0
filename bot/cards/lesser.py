"""The text of a procedure or a field note -> the noun, or its faults by line."""

from bot.cards.front import (
    NOTE,
    PROCEDURE,
    SYSTEMS,
    WHOLE_TRUCK,
    Front,
    read_fits,
    read_head,
    read_system,
)
from bot.cards.page import Page, read_page
from bot.cards.read import no_bullets, signs_of
from bot.cards.sources import read_source
from bot.model.pages import Note, Procedure, ProcedureStep
from bot.model.place import Fault

WHEN, STEPS, DONE = "When you need it", "Steps", "Done when"
MOST_NOTE_LINES = 12


def read_procedure(text: str, path: str) -> Procedure | tuple[Fault, ...]:
    """The procedure that a text holds, or all the faults found in it, by line."""
    return read_page(text, path, _procedure)


def read_note(text: str, path: str) -> Note | tuple[Fault, ...]:
    """The field note that a text holds, or all the faults found in it, by line."""
    return read_page(text, path, _note)


def _procedure(front: Front, page: Page) -> Procedure:
    head = read_head(front, page.path, PROCEDURE)
    system, title = read_system(front, (*SYSTEMS, WHOLE_TRUCK)), page.title()
    sections = page.sections((WHEN, STEPS, DONE, "Sources"))
    drive, opening = page.verdict(sections[""])
    signs, places = signs_of(page, sections[WHEN], WHEN)
    steps = []
    for heading, under in page.parts(sections[STEPS]):
        needs, rest = page.needs(under, heading.place)
        no_bullets(page, rest)
        steps.append(
            ProcedureStep(heading.title, needs, page.blocks(rest), heading.place)
        )
    if not steps:
        page.fault(page.place, f"write under '## {STEPS}' at least one step")
    return Procedure(
        id=head.id,
        title=title,
        system=system,
        signs=signs,
        fits=read_fits(front),
        drive=drive,
        share=head.share,
        check_by=head.check_by,
        authors=head.authors,
        opening=page.blocks(opening),
        steps=tuple(steps),
        done=page.blocks(sections[DONE]),
        sources=page.items(sections["Sources"], "sources", read_source),
        place=page.place,
        sign_places=places,
    )


def _note(front: Front, page: Page) -> Note:
    head = read_head(front, page.path, NOTE, is_dated=False)
    title = page.title()
    body = page.blocks(page.pieces[1:])
    lines = sum(block.text.count("\n") + 1 for block in body)
    if not body or lines > MOST_NOTE_LINES:
        says = f"{lines} lines; write two to {MOST_NOTE_LINES}: what you saw and did"
        page.fault(page.place, says)
    return Note(
        id=head.id,
        title=title,
        about=front.text("about"),
        seen=front.day("seen"),
        share=head.share,
        authors=head.authors,
        body=body,
        place=page.place,
    )
