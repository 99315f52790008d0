"""The nouns of a procedure card: from its signs to its proof and its sources.

A card is built valid by `bot.cards.read` or not at all; every part of it knows the line
it stands on.
"""

import re
from dataclasses import dataclass, field
from datetime import date

from bot.model.fitted import Only
from bot.model.kinds import (
    Act as Act,
)
from bot.model.kinds import (
    Drive as Drive,
)
from bot.model.kinds import (
    Often as Often,
)
from bot.model.kinds import (
    Price as Price,
)
from bot.model.kinds import (
    Share as Share,
)
from bot.model.kinds import (
    Signal as Signal,
)
from bot.model.kinds import (
    Strength as Strength,
)
from bot.model.kinds import (
    Sum as Sum,
)
from bot.model.kinds import (
    stricter as stricter,
)
from bot.model.place import NOWHERE, Place, slug
from bot.model.reading import (
    MINUTES_IN as MINUTES_IN,
)
from bot.model.reading import (
    Duration as Duration,
)
from bot.model.reading import (
    Limit as Limit,
)
from bot.model.reading import (
    Quantity as Quantity,
)
from bot.model.reading import (
    Readings as Readings,
)
from bot.model.sources import Source


@dataclass(frozen=True, slots=True)
class Caution:
    """A hazard, what it does to you, how to avoid it; `text` keeps its line breaks.

    `act` is the dangerous act whose caution, kept for all pages, this is; None for one
    of the author's own.
    """

    signal: Signal
    text: str
    act: Act | None = None
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Prose:
    """Ordinary Markdown, kept letter for letter."""

    text: str
    place: Place = field(default=NOWHERE, compare=False)


Block = Caution | Prose


@dataclass(frozen=True, slots=True)
class Link:
    """A Markdown link as written; `target` is the address between the brackets."""

    label: str
    target: str


@dataclass(frozen=True, slots=True)
class LookAlike:
    """What seems to belong here and belongs to another card; `link` leads there."""

    phrase: str
    link: Link
    place: Place = field(default=NOWHERE, compare=False)

    @property
    def card(self) -> str:
        """The id of the card it belongs to."""
        return self.link.target.rsplit("/", 1)[-1].removesuffix(".md")


@dataclass(frozen=True, slots=True)
class Cause:
    """What may be broken, how often it is, and the links to what cures it.

    `letter` is what the findings of its card call it by; `only` says which trucks can
    have it.
    """

    name: str
    often: Often
    repairs: tuple[Link, ...]
    note: str = ""
    letter: str = ""
    only: Only = ()
    place: Place = field(default=NOWHERE, compare=False)

    @property
    def id(self) -> str:
        """The name as an anchor; two cards that name one cause alike mean the same."""
        return slug(self.name)

    def cured_by(self, repair_id: str) -> bool:
        """Whether the cause leads to that repair."""
        return any(link.target == f"#{repair_id}" for link in self.repairs)


REST = "the rest"
"""In a finding: every cause that the line does not name."""


@dataclass(frozen=True, slots=True)
class Bearing:
    """What a finding says about one cause; `cause` is its id, or `REST`."""

    strength: Strength
    cause: str


_UNTOLD = re.compile(
    r"\b(?:nobody (?:knows|here|can (?:tell|say|help)|to (?:press|help|watch))"
    r"|not (?:tried|tested|run|made|done|measured|looked at|compared)"
    r"|no (?:\w+ ){0,2}(?:stands?|ground|chocks|helper|meter|gauge|tools?|place)\b"
    r"(?:, [\w ]+? or [\w ]+?)? here|no (?:\w+ )?(?:level|firm|loose) (?:\w+ )?ground"
    r"|too dark|I (?:do not|don't|cannot|can't) (?:know|tell|see|say|measure)"
    r"|more I cannot tell"
    r"|cannot (?:tell|see|measure|be (?:seen|read|reached|told|measured)))\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Finding:
    """One answer to a check and what follows from it.

    `drive` below no limit opens a hazard; `until` links the repairs and checks that
    close it: a repair once it is made and proved, a check once its answer opens none.
    Without `until` these are its own check, and what cures the causes it speaks for.
    """

    answer: str
    bearings: tuple[Bearing, ...]
    next: Link | None = None
    go_to: Link | None = None
    stop: Link | None = None
    drive: Drive | None = None
    until: tuple[Link, ...] = ()
    limit: Limit | None = None
    place: Place = field(default=NOWHERE, compare=False)

    @property
    def is_in_order(self) -> bool:
        """Whether it finds all in order: no verdict, and no stop rule behind it."""
        free = self.drive in (None, Drive.NO_LIMIT)
        return free and self.stop is None and not self.is_untold

    @property
    def stop_rule(self) -> str:
        """The id of the stop rule that it raises, "" for none."""
        target = self.stop.target if self.stop else ""
        return target.rpartition("/")[2].removesuffix(".md")

    @property
    def is_untold(self) -> bool:
        """Whether it only says that nobody can tell: that puts nothing in order."""
        return not self.bearings and bool(_UNTOLD.search(self.answer))

    def on(self, cause: str) -> Strength | None:
        """How strongly this finding bears on the cause with that id; None: not."""
        rest = None
        for bearing in self.bearings:
            if bearing.cause == cause:
                return bearing.strength
            if bearing.cause == REST:
                rest = bearing.strength
        return rest


@dataclass(frozen=True, slots=True)
class State:
    """What the truck must be like; `setup` is the work to get it there, if any."""

    name: str
    setup: Duration | None = None


@dataclass(frozen=True, slots=True)
class PartChoice:
    """One part that would do."""

    name: str
    price: Price


@dataclass(frozen=True, slots=True)
class Part:
    """One thing a repair uses up: the choices, best first."""

    choices: tuple[PartChoice, ...]


@dataclass(frozen=True, slots=True)
class Needs:
    """What a heading's slanted line says it takes, and what it does.

    `only` says which trucks it is for, `not_before` which checks (numbers on the page)
    must be answered first. `after` is the drive verdict once a repair is made and
    proved; `home` stands in its place on a get-home measure, which never counts as a
    cure. `is_harmless`: its author vouches that nothing dangerous is done.
    """

    time: Duration
    first: bool = False
    only: Only = ()
    not_before: tuple[int, ...] = ()
    parts: tuple[Part, ...] = ()
    tools: tuple[str, ...] = ()
    truck: tuple[State, ...] = ()
    fact: str = ""
    does: tuple[Act, ...] = ()
    is_harmless: bool = False
    after: Drive | None = None
    home: Drive | None = None
    place: Place = field(default=NOWHERE, compare=False)


SHOWING = "fault showing"
"""The state of a truck that does what it is complained of, at this moment."""


@dataclass(frozen=True, slots=True)
class Check:
    """One thing to do or look at, and what may be found."""

    title: str
    needs: Needs
    body: tuple[Block, ...]
    findings: tuple[Finding, ...]
    readings: Readings | None = None
    place: Place = field(default=NOWHERE, compare=False)

    @property
    def needs_showing(self) -> bool:
        """Whether it waits while the fault hides; what guards a life never does."""
        showing = any(state.name == SHOWING for state in self.needs.truck)
        return showing and not self.needs.first

    @property
    def id(self) -> str:
        """The anchor of its heading."""
        return slug(self.title)


@dataclass(frozen=True, slots=True)
class Repair:
    """What cures a cause, or, with a verdict in `needs.home`, only takes it home."""

    title: str
    needs: Needs
    body: tuple[Block, ...]
    place: Place = field(default=NOWHERE, compare=False)

    @property
    def is_get_home(self) -> bool:
        """Whether it takes the truck to help and cures nothing."""
        return self.needs.home is not None

    @property
    def id(self) -> str:
        """The anchor of its heading."""
        return slug(self.title)


@dataclass(frozen=True, slots=True)
class Proof:
    """The trial that shows the fault is gone; `needs.time` is one cycle."""

    needs: Needs
    body: tuple[Block, ...]
    clean: str
    not_clean: str
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class Card:
    """One authored procedure: one fault from its signs to its proof.

    `provoke` says how to make the fault show, `watch` what to note when it does;
    `nothing` is what then, if nothing was found; `hearsay` a rumour with what speaks
    for it and against it. A stub is a fault that is known and has no page yet: no
    causes, no checks, no repairs; its opening is what to do meanwhile.
    """

    id: str
    title: str
    system: str
    signs: tuple[str, ...]
    look_alikes: tuple[LookAlike, ...]
    fits: Only
    drive: Drive
    share: Share
    check_by: date
    authors: tuple[str, ...]
    opening: tuple[Block, ...]
    causes: tuple[Cause, ...]
    checks: tuple[Check, ...]
    repairs: tuple[Repair, ...]
    proof: Proof
    nothing: tuple[Block, ...]
    sources: tuple[Source, ...]
    hearsay: tuple[Block, ...] = ()
    remarks: tuple[Block, ...] = ()
    place: Place = field(default=NOWHERE, compare=False)
    sign_places: tuple[Place, ...] = field(default=(), compare=False)
    provoke: str = ""
    watch: str = ""
    is_stub: bool = False

    def check(self, check_id: str) -> Check | None:
        """The check with that id, or None when the card no longer has it."""
        return next((c for c in self.checks if c.id == check_id), None)

    def repair(self, repair_id: str) -> Repair | None:
        """The repair with that id, or None when the card no longer has it."""
        return next((r for r in self.repairs if r.id == repair_id), None)

    def cause(self, cause_id: str) -> Cause | None:
        """The cause with that id, or None when the card no longer has it."""
        return next((c for c in self.causes if c.id == cause_id), None)

    def repairs_for(self, cause: Cause) -> tuple[Repair, ...]:
        """The repairs that the cause links to, in the author's order."""
        wanted = [link.target.removeprefix("#") for link in cause.repairs]
        found = (self.repair(repair_id) for repair_id in wanted)
        return tuple(repair for repair in found if repair is not None)
