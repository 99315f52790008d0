"""Whether a fault that comes again comes ever faster."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.calc.trend import ONE_WAY_5, laplace_z

LEAST_EVENTS = 5
"""So many events are needed before a trend is spoken of. Our choice."""

DAY_S = 86_400.0


@dataclass(frozen=True, slots=True)
class Trend:
    """Events of one kind over the days that were watched.

    `z` is Laplace's figure, positive when they crowd towards the end; `by_luck` the
    chance of one as strong, that way, at a steady rate.
    """

    events: int
    days: float
    z: float

    @property
    def by_luck(self) -> float:
        """By the normal law; good from four events or so on."""
        return math.erfc(abs(self.z) / math.sqrt(2)) / 2

    @property
    def is_faster(self) -> bool:
        """Whether they may be coming ever faster."""
        return self.z > ONE_WAY_5

    @property
    def is_rarer(self) -> bool:
        """Whether they may be coming ever more rarely."""
        return self.z < -ONE_WAY_5


def trend(
    moments: Sequence[datetime], until: datetime, since: datetime | None = None
) -> Trend | None:
    """The trend of events up to a moment; None where they are too few.

    Args:
        moments: when they happened, in any order; those outside the watch are left out.
        until: when the watch ended.
        since: when it began; without it, at the first event, which then does not count.

    Source: Laplace's trend test, as in `bot.calc.trend.laplace_z`.
    """
    seen = sorted(moments)
    start, later = (since, seen) if since else (seen[0] if seen else until, seen[1:])
    watched = (until - start).total_seconds() / DAY_S
    days = [(moment - start).total_seconds() / DAY_S for moment in later]
    days = [day for day in days if 0 <= day <= watched]
    if len(days) < LEAST_EVENTS or watched <= 0:
        return None
    mean = sum(days) / len(days)
    return Trend(len(days), watched, laplace_z(mean, watched, len(days)))
