"""The only place that reads the clock."""

from datetime import UTC, date, datetime


def now() -> str:
    """The present moment in UTC, to the second, as ISO 8601."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def today() -> date:
    """Today's date by the local clock."""
    return datetime.now(UTC).astimezone().date()
