"""Stop-rule text -> StopRule, or every fault in it by its line."""

import re

from bot.cards.front import STOP_RULE, Front, read_head
from bot.cards.page import Page, read_page
from bot.cards.pieces import Piece
from bot.cards.sources import read_source
from bot.model.card import Caution
from bot.model.place import Fault, Place
from bot.model.rule import StopRule

SECTIONS = ("Do now", "Call for help when", "Who decides", "Sources")
MOST_STEPS = 6
_STEP = re.compile(r"[0-9]+[.)] +(\S.*)")


def read_rule(text: str, path: str) -> StopRule | tuple[Fault, ...]:
    """The stop rule that a text holds, or all the faults found in it, by line."""
    return read_page(text, path, _rule)


def _rule(front: Front, page: Page) -> StopRule:
    head = read_head(front, page.path, STOP_RULE)
    signs, _ = front.listing("signs")
    title = page.title()
    sections = page.sections(SECTIONS)
    drive, cautions = page.verdict(sections[""])
    return StopRule(
        id=head.id,
        title=title,
        question=front.text("question"),
        signs=signs,
        drive=drive,
        share=head.share,
        check_by=head.check_by,
        authors=head.authors,
        cautions=_rule_cautions(page, cautions),
        do_now=_steps(page, sections["Do now"]),
        call_for_help=page.blocks(sections["Call for help when"]),
        who_decides=page.blocks(sections["Who decides"]),
        sources=page.items(sections["Sources"], "sources", read_source),
        place=page.place,
    )


def _rule_cautions(page: Page, pieces: list[Piece]) -> tuple[Caution, ...]:
    cautions: list[Caution] = []
    for block in page.blocks(pieces):
        if isinstance(block, Caution):
            cautions.append(block)
        else:
            page.fault(block.place, "only cautions stand above '## Do now'; move this")
    if not cautions:
        place = Place(page.path, page.last_line)
        page.fault(place, "a stop rule begins with a caution: '> **DANGER** ...'")
    return tuple(cautions)


def _steps(page: Page, pieces: list[Piece]) -> tuple[str, ...]:
    steps: list[str] = []
    for piece in pieces:
        for number, line in enumerate(piece.text.split("\n")):
            found = _STEP.fullmatch(line)
            place = Place(piece.place.path, piece.place.line + number)
            if found:
                steps.append(found[1])
            else:
                page.fault(place, "write each thing to do on one line: '1. Stop.'")
    if pieces and len(steps) > MOST_STEPS:
        page.fault(pieces[0].place, "more than six things to do; keep the vital ones")
    return tuple(steps)
