"""Card text -> Card, or every fault in it by its line.

The reader walks the pieces of the page in the order that `kb/README.md` lays down.
"""

import re

from bot.cards.evidence import LINK, read_cause, read_finding
from bot.cards.front import (
    FAULT,
    STUB,
    Front,
    read_fits,
    read_head,
    read_system,
)
from bot.cards.meant import (
    Steps,
    meant_cause,
    meant_finding,
    meant_letter,
    meant_title,
)
from bot.cards.page import NO_TIME, Page, read_page
from bot.cards.pieces import Item, Kind, Piece
from bot.cards.readings import read_readings
from bot.cards.sources import read_source
from bot.cards.strict_yaml import Text
from bot.model.card import (
    Card,
    Cause,
    Check,
    Finding,
    Link,
    LookAlike,
    Proof,
    Readings,
    Repair,
)
from bot.model.place import Fault, Place, slug

SIGNS, LOOK_ALIKES = "What people notice", "It is not this when"
NOTHING_FOUND, HEARSAY, REMARKS = "If nothing was found", "What some say", "Remarks"
SECTIONS = (
    SIGNS,
    LOOK_ALIKES,
    "Causes",
    "Checks",
    "Repairs",
    "Proof",
    NOTHING_FOUND,
    HEARSAY,
    REMARKS,
    "Sources",
)
TO_PROVOKE, TO_WATCH = "**To make it show:** ", "**When it shows:** "
HOW_TO_STRIKE = (
    "Note the letters. At *not* strike one out, at *sure* ring it, at *likely* and "
    "*hardly* add a plus or a minus."
)
"""The one line that tells a reader on paper what to do with the letters."""

_LOOK_ALIKE = re.compile(rf"(\S.*): {LINK}")


def read_card(text: str, path: str) -> Card | tuple[Fault, ...]:
    """The card that a text holds, or all the faults found in it, by line.

    Args:
        text: the whole file, lines parted by a line feed.
        path: the file's path as shown to people; its last part makes the id.
    """
    return read_page(text, path, _card)


def _card(front: Front, page: Page) -> Card:
    kind = front.tree.get("kind")
    if isinstance(kind, Text) and kind.value == STUB:
        return _stub(front, page)
    head = read_head(front, page.path, FAULT)
    system, title = read_system(front), page.title()
    sections = page.sections(SECTIONS, spare=(LOOK_ALIKES, HEARSAY, REMARKS))
    drive, opening = page.verdict(sections[""])
    signs, sign_places, remarks = _signs(page, sections[SIGNS])
    steps = _steps(sections)
    causes = _causes(page, sections["Causes"], steps)
    letters = _half_read(sections["Causes"])
    letters |= {cause.letter: cause.id for cause in causes}
    checks = _checks(page, sections["Checks"], letters, steps)
    repairs = _repairs(page, sections["Repairs"])
    titles = [(check.id, check.title, check.place) for check in checks]
    titles += [(repair.id, repair.title, repair.place) for repair in repairs]
    _unique(page, titles)
    return Card(
        id=head.id,
        title=title,
        system=system,
        signs=signs,
        look_alikes=page.items(sections[LOOK_ALIKES], "look-alikes", _look_alike),
        fits=read_fits(front),
        drive=drive,
        share=head.share,
        check_by=head.check_by,
        authors=head.authors,
        opening=page.blocks(opening),
        causes=causes,
        checks=checks,
        repairs=repairs,
        proof=_proof(page, sections["Proof"]),
        nothing=page.blocks(sections[NOTHING_FOUND]),
        hearsay=page.blocks(sections[HEARSAY]),
        remarks=page.blocks(sections[REMARKS]),
        sources=page.items(sections["Sources"], "sources", read_source),
        place=page.place,
        sign_places=sign_places,
        provoke=remarks.get(TO_PROVOKE, ""),
        watch=remarks.get(TO_WATCH, ""),
    )


def _stub(front: Front, page: Page) -> Card:
    """A fault that is known and has no page yet."""
    head = read_head(front, page.path, STUB)
    system, title = read_system(front), page.title()
    sections = page.sections((SIGNS,))
    drive, meanwhile = page.verdict(sections[""])
    signs, places = signs_of(page, sections[SIGNS], SIGNS)
    return Card(
        id=head.id,
        title=title,
        system=system,
        signs=signs,
        look_alikes=(),
        fits=read_fits(front),
        drive=drive,
        share=head.share,
        check_by=head.check_by,
        authors=head.authors,
        opening=page.blocks(meanwhile),
        causes=(),
        checks=(),
        repairs=(),
        proof=NO_PROOF,
        nothing=(),
        sources=(),
        place=page.place,
        sign_places=places,
        is_stub=True,
    )


NO_PROOF = Proof(NO_TIME, (), "", "")
"""That of a stub."""


def signs_of(
    page: Page, pieces: list[Piece], name: str
) -> tuple[tuple[str, ...], tuple[Place, ...]]:
    """The lines with a dash that a section of ways to say it consists of."""
    for piece in pieces:
        if piece.kind is not Kind.BULLETS:
            page.fault(piece.place, f"write '## {name}' as lines with a dash, no more")
    items = [item for piece in pieces for item in piece.items]
    return tuple(i.text for i in items), tuple(i.place for i in items)


def _signs(
    page: Page, pieces: list[Piece]
) -> tuple[tuple[str, ...], tuple[Place, ...], dict[str, str]]:
    """How people say the complaint, where that stands, and what is said of showing."""
    items = [item for piece in pieces for item in piece.items]
    remarks: dict[str, str] = {}
    for piece in pieces:
        lead = next((w for w in (TO_PROVOKE, TO_WATCH) if piece.text.startswith(w)), "")
        if lead and lead not in remarks:
            remarks[lead] = " ".join(piece.text.removeprefix(lead).split("\n"))
        elif piece.kind is not Kind.BULLETS:
            says = (
                "write what people notice as lines with a dash; after them at most "
                f"'{TO_PROVOKE}...' and '{TO_WATCH}...'"
            )
            page.fault(piece.place, says)
    return tuple(i.text for i in items), tuple(i.place for i in items), remarks


def _look_alike(text: str, place: Place) -> LookAlike | Fault:
    found = _LOOK_ALIKE.fullmatch(text)
    if found is None:
        return Fault(
            place,
            "not a look-alike; write 'what it looks like: [the other page](../system/"
            "its-name.md)', or leave it out where no page is about it",
        )
    return LookAlike(found[1], Link(found[2], found[3]), place)


def _steps(sections: dict[str, list[Piece]]) -> Steps:
    """The link to each check and repair, by how a reader on paper calls it."""
    links: dict[str, str] = {}
    for section, noun in (("Checks", "check"), ("Repairs", "repair")):
        headings = (p for p in sections[section] if p.kind is Kind.HEADING)
        for number, heading in enumerate(headings, 1):
            name, anchor = f"{noun} {number}", slug(meant_title(heading.title))
            links[name] = f"[{name}](#{number}-{anchor})"
    return links


def _causes(page: Page, pieces: list[Piece], steps: Steps) -> tuple[Cause, ...]:
    """The causes under the line that says what to do with their letters."""
    first = pieces[0] if pieces else None
    if first is None or " ".join(first.text.split("\n")) != HOW_TO_STRIKE:
        place = first.place if first else Place(page.path, page.last_line)
        page.fault(place, f"write above the causes: '{HOW_TO_STRIKE}'")
    else:
        pieces = pieces[1:]
    causes = page.items(
        pieces, "causes", read_cause, lambda said: meant_cause(said, steps)
    )
    _unique(page, [(cause.id, cause.name, cause.place) for cause in causes])
    _unique(page, [(cause.letter, cause.letter, cause.place) for cause in causes])
    return causes


def _unique(page: Page, named: list[tuple[str, str, Place]]) -> None:
    """Report every name that makes the same anchor as one before it."""
    seen: set[str] = set()
    for anchor, name, place in named:
        if anchor in seen:
            page.fault(place, f"'{name}' stands twice; give the second another name")
        seen.add(anchor)


def _half_read(pieces: list[Piece]) -> dict[str, str]:
    """Causes whose lines have a fault, lest every finding on them have one too."""
    said = [item.text for piece in pieces for item in piece.items]
    return {letter: letter for text in said if (letter := meant_letter(text))}


def _checks(
    page: Page, pieces: list[Piece], letters: dict[str, str], steps: Steps
) -> tuple[Check, ...]:
    return tuple(
        _check(page, heading, under, letters, steps)
        for heading, under in page.parts(pieces)
    )


def _check(
    page: Page,
    heading: Piece,
    pieces: list[Piece],
    letters: dict[str, str],
    steps: Steps,
) -> Check:
    needs, pieces = page.needs(pieces, heading.place)
    lists = [piece for piece in pieces if piece.kind is Kind.BULLETS]
    findings: tuple[Finding, ...] | None = None
    readings: Readings | None = None
    body: list[Piece] = []
    for piece in pieces:
        if piece.kind is Kind.BULLETS and piece is not lists[-1]:
            says = (
                "dashes are for findings, in one list at the end of the check; number "
                "the steps: '1. ', '2. '"
            )
            page.fault(piece.place, says)
        elif piece.kind is Kind.BULLETS:
            findings = _findings(page, piece.items, letters, steps)
        elif findings is not None:
            says = "the findings come last in a check; move this above them"
            page.fault(piece.place, says)
        elif piece.kind is Kind.PARAGRAPH and piece.text.startswith("Readings:"):
            said = " ".join(piece.text.split("\n"))
            readings = page.keep(read_readings(said, piece.place))
        else:
            body.append(piece)
    if findings is None:
        says = f"check '{heading.title}' has no findings; add lines with a dash"
        page.fault(heading.place, says)
    return Check(
        heading.title, needs, page.blocks(body), findings or (), readings, heading.place
    )


def _findings(
    page: Page, items: tuple[Item, ...], letters: dict[str, str], steps: Steps
) -> tuple[Finding, ...]:
    def read(text: str, place: Place) -> Finding | Fault:
        return read_finding(text, place, letters)

    found = (
        page.nearly(read, item.text, meant_finding(item.text, steps), item.place)
        for item in items
    )
    findings = tuple(finding for finding in found if finding is not None)
    answers = [(f.answer.lower(), f.answer, f.place) for f in findings]
    _unique(page, answers)
    return findings


def _repairs(page: Page, pieces: list[Piece]) -> tuple[Repair, ...]:
    repairs: list[Repair] = []
    for heading, under in page.parts(pieces):
        needs, rest = page.needs(under, heading.place)
        if (needs.after is None) is (needs.home is None) and needs is not NO_TIME:
            says = (
                "say what the truck may do afterwards: '; after: drive with care' for "
                "a cure, '; home: creep to safety' for what only takes it home"
            )
            page.fault(needs.place, says)
        no_bullets(page, rest)
        body = page.blocks(rest)
        repairs.append(Repair(heading.title, needs, body, heading.place))
    return tuple(repairs)


def no_bullets(page: Page, pieces: list[Piece]) -> None:
    """Note a list with dashes among steps, which are numbered."""
    for piece in pieces:
        if piece.kind is Kind.BULLETS:
            says = "dashes are for findings; number the steps: '1. ', '2. '"
            page.fault(piece.place, says)


def _proof(page: Page, pieces: list[Piece]) -> Proof:
    place = pieces[0].place if pieces else Place(page.path, page.last_line)
    needs, rest = page.needs(pieces, place)
    body = [piece for piece in rest if piece.kind is not Kind.BULLETS]
    items = [item.text for piece in rest for item in piece.items]
    clean, not_clean = "", ""
    if len(items) == 2 and rest[-1].kind is Kind.BULLETS:
        clean = items[0].removeprefix("Clean: ")
        not_clean = items[1].removeprefix("Not clean: ")
    if items != [f"Clean: {clean}", f"Not clean: {not_clean}"]:
        says = "end the proof with two lines: '- Clean: ...' and '- Not clean: ...'"
        page.fault(place, says)
    return Proof(needs, page.blocks(body), clean, not_clean, place)
