"""What is suspected, may it move, how the job stands: for log, pane and status line."""

from textual.content import Content

from bot.desk.conversation import Conversation
from bot.model.card import Drive
from bot.talk.clean import clean
from bot.talk.messages import Suspicions
from bot.talk.wording import percent
from bot.tui.prose import Paragraph

BAR = 10
"""Letters in a whole bar."""

MOST = 6
"""Causes shown by name; the rest are told in one line."""


def bar(chance: float) -> str:
    """A chance as a bar that needs no colour.

    >>> bar(0.36), bar(0.02), bar(1.0)
    ('====......', '..........', '==========')
    """
    full = round(chance * BAR)
    return "=" * full + "." * (BAR - full)


def verdict(drive: Drive) -> Content:
    """The drive verdict as a label that stands out without colour."""
    ink = "$foreground" if drive is Drive.NO_LIMIT else "$warned"
    ink = "$danger" if drive.stays else ink
    return Content.styled(f" {drive.value.upper()} ", f"bold reverse {ink}")


def may_it_move(drive: Drive) -> Paragraph:
    """The drive verdict in a line of its own."""
    return Paragraph(verdict(drive), Content("May it move: "), gap=True)


def held_by(found: Suspicions) -> tuple[Paragraph, ...]:
    """What is open, and what is repaired and not proved, each in a line."""
    rows = [("Open: ", hazard) for hazard in found.hazards]
    rows += [("Repaired, not proved: ", found.unproved)] if found.unproved else []
    return tuple(
        Paragraph(Content(clean(said)), Content.styled(label, "bold"))
        for label, said in rows
    )


def suspects(found: Suspicions) -> tuple[Paragraph, ...]:
    """The causes, likeliest first, each with its bar and its chance in words."""
    rows = [_row(name, p) for name, p in found.causes[:MOST]]
    rest = found.causes[MOST:]
    if rest:
        total = sum(p for _, p in rest)
        others = "1 other cause" if len(rest) == 1 else f"{len(rest)} others together"
        rows.append(_row(others, total))
    rows.append(_row("none of these", found.none))
    return (Paragraph(Content.styled("Suspected now", "bold"), gap=True), *rows)


def _row(name: str, chance: float) -> Paragraph:
    text = Content(f"{clean(name)}, {percent(chance)}")
    return Paragraph(text, Content(f"{bar(chance)}  "))


def _drive(talk: Conversation) -> Drive | None:
    """The drive verdict; None before anything is known about the fault."""
    view = talk.view
    return view.drive if view.is_known else None


def standing(talk: Conversation) -> Content:
    """The first line of the screen: may it move, which job, whether it is saved."""
    drive = _drive(talk)
    said = [verdict(drive)] if drive else [Content("May it move? Not known yet.")]
    if talk.trouble:
        said.insert(0, Content.styled("NOT SAVED", "bold reverse"))
    if talk.number:
        said.append(Content(f"job {talk.number}"))
    return Content("  ").join(said)


def reason(talk: Conversation) -> Content:
    """The second line: what holds the truck, what is not proved, or what was found."""
    view, found = talk.view, talk.suspicions()
    if found and (found.hazards or found.unproved):
        return Content("  ").join(p.lead + p.text for p in held_by(found))
    if view.rules:
        titles = "; ".join(clean(rule.title) for rule in reversed(view.rules))
        return Content.styled("Stop: ", "bold") + titles
    if view.card is None:
        return Content("")
    answers = [clean(each.answer) for each in reversed(view.job.answers[-SO_FAR:])]
    by = Content.styled("By its page. ", "bold") + clean(view.card.title)
    if not answers:
        return by
    return Content.styled("By its page. So far: ", "bold") + " / ".join(answers)


SO_FAR = 3
"""Answers that the second line tells, the newest first."""


def sure(talk: Conversation) -> Content:
    """How sure it is, in a line: the chance before the name, which may be cut."""
    found = talk.suspicions()
    if not found:
        return Content("")
    causes = [*found.causes, ("none of these", found.none)]
    first = sorted(causes, key=lambda cause: -cause[1])[:TOLD]
    told = (f"{percent(p)} {bar(p)} {clean(name)}" for name, p in first)
    return Content("   ").join(map(Content, told))


TOLD = 2


def side(talk: Conversation) -> tuple[Paragraph, ...]:
    """Down the pane: the page, and every suspicion."""
    found = talk.suspicions()
    if not found:
        return ()
    title = Paragraph(Content.styled(clean(found.card), "bold"))
    return (title, *held_by(found), *suspects(found))
