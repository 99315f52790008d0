"""The nouns of what a check measures: values, the wait between them, their spans."""

from dataclasses import dataclass, field

from bot.model.kinds import Sum
from bot.model.place import NOWHERE, Place


@dataclass(frozen=True, slots=True)
class Duration:
    """A time as the author wrote it, for instance ``30 s`` or ``2 h``."""

    number: str
    unit: str

    @property
    def minutes(self) -> float:
        """The same time in minutes."""
        return float(self.number) * MINUTES_IN[self.unit]

    def __str__(self) -> str:
        return f"{self.number} {self.unit}"


MINUTES_IN = {
    "s": 1 / 60,
    "min": 1.0,
    "h": 60.0,
    "day": 1440.0,
    "days": 1440.0,
}


@dataclass(frozen=True, slots=True)
class Limit:
    """The span of a reading that picks a finding: low <= value < high."""

    low: float | None
    high: float | None
    unit: str

    def holds(self, value: float) -> bool:
        """Whether a value in `unit` lies in the span."""
        above = self.low is None or value >= self.low
        return above and (self.high is None or value < self.high)

    def __str__(self) -> str:
        low, high = (
            f"{end:.3g}" if end is not None else "" for end in (self.low, self.high)
        )
        if not high:
            return f"{low} {self.unit} or more"
        return f"{low} to {high} {self.unit}" if low else f"under {high} {self.unit}"


@dataclass(frozen=True, slots=True)
class Quantity:
    """One value that a check asks for."""

    name: str
    unit: str


@dataclass(frozen=True, slots=True)
class Readings:
    """Values to measure: `wait` comes after the first; `unit` is the result's.

    What is worked out from them is a plain `sum` of two, or the first figure of the
    worksheet named `sheet`, whose other inputs stand in `fixed` as (name, typed value).
    """

    values: tuple[Quantity, ...]
    wait: Duration | None = None
    sum: Sum | None = None
    unit: str = ""
    sheet: str = ""
    fixed: tuple[tuple[str, str], ...] = ()
    place: Place = field(default=NOWHERE, compare=False)

    @property
    def sum_or_sheet(self) -> bool:
        """Whether something is worked out from the values."""
        return self.sum is not None or bool(self.sheet)
