"""The closed sets of words that a page is written with."""

from enum import Enum


class Drive(Enum):
    """May the truck move? Ordered from the strictest."""

    ENGINE_OFF = "do not move, engine off"
    DO_NOT_MOVE = "do not move"
    CREEP = "creep to safety"
    CARE = "drive with care"
    NO_LIMIT = "no limit"

    @property
    def stays(self) -> bool:
        """Whether the truck stays where it is."""
        return self in (Drive.ENGINE_OFF, Drive.DO_NOT_MOVE)


def stricter(one: Drive, other: Drive) -> Drive:
    """The stricter of two drive verdicts."""
    order = list(Drive)
    return min(one, other, key=order.index)


class Act(Enum):
    """What a step does that can hurt somebody, as its slanted line names it.

    `kb/cautions.md` keeps the caution for each.
    """

    LIFTING = "lifting"
    GOING_UNDER = "going under"
    AIR_PRESSURE = "air pressure"
    FILLING_A_TYRE = "filling a tyre"
    WHEEL_OR_RIM = "wheel or rim"
    SPRING_CHAMBER = "spring chamber"
    ENGINE_RUNNING = "engine running"
    FUEL = "fuel"
    INJECTION_PRESSURE = "injection pressure"
    HOT_COOLANT = "hot coolant"
    BATTERY = "battery"
    NAKED_FLAME = "naked flame"
    HYDRAULICS = "hydraulics"
    MOVING_THE_TRUCK = "moving the truck"
    TRIAL_DRIVE = "trial drive"
    BRAKES_OR_STEERING = "brakes or steering"

    @property
    def key(self) -> str:
        """Its name in `kb/cautions.md` and to the ear: "going-under"."""
        return self.value.replace(" ", "-")


class Often(Enum):
    """How often a cause is the culprit when this complaint is made."""

    USUAL = "usual"
    COMMON = "common"
    NOW_AND_THEN = "now and then"
    RARE = "rare"


class Strength(Enum):
    """How strongly a finding bears on a cause."""

    SURE = "sure"
    LIKELY = "likely"
    HARDLY = "hardly"
    NOT = "not"


class Signal(Enum):
    """Signal words for hazards, graded as in ANSI Z535.4."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"


class Share(Enum):
    """Who may be given a card."""

    OPEN = "open"
    CLUB = "club"
    PRIVATE = "private"


class Price(Enum):
    """What a part costs a private owner."""

    CHEAP = "cheap"
    FAIR = "fair"
    DEAR = "dear"
    SCARCE = "scarce"


class Sum(Enum):
    """What is worked out from two readings."""

    FALL = "the fall"
    RISE = "the rise"
    FALL_PER_MINUTE = "the fall per minute"
    RISE_PER_MINUTE = "the rise per minute"
    DIFFERENCE = "the difference"
    EXCESS = "the excess"


class Standing(Enum):
    """How well a document is known."""

    SEEN = "seen"
    SECOND_HAND = "second-hand"
    FROM_MEMORY = "from memory"
