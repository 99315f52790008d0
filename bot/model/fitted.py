"""What a truck may have, and whether a page or a step is for it."""

from collections.abc import Collection

ONE_OF = (
    ("wheel valves", "hand lever", "no tyre inflation"),
    ("two circuits", "three circuits", "four circuits"),
    ("air brakes", "air over fluid", "fluid brakes"),
    ("water-cooled", "air-cooled"),
    ("manual gearbox", "automatic gearbox"),
    ("mechanical injection", "electronic injection"),
    ("cable stop", "electric stop"),
)
"""Of each row a truck has one."""

KINDS = (
    "tyre inflation",
    "brake circuits",
    "brakes",
    "cooling",
    "gearbox",
    "injection",
    "engine stop",
)
"""What each of these rows is about."""

ALONE = (
    "central tyre inflation",
    "spring brakes",
    "24 V",
    "diesel",
    "turbocharger",
    "air dryer",
    "anti-lock brakes",
    "power steering",
    "tilt cab",
    "winch",
    "trailer coupling",
)
"""A truck has each of these or has it not."""

FEATURES = (*(name for row in ONE_OF for name in row), *ALONE)

Only = tuple[tuple[str, ...], ...]
"""What a truck must have: one of each group."""


def in_words(only: Only) -> str:
    """What a truck must have, as pages say it: ``wheel valves or hand lever``."""
    return ", ".join(" or ".join(group) for group in only)


_INFLATION, _NO_INFLATION = "central tyre inflation", "no tyre inflation"


def suits(only: Only, fitted: Collection[str], without: Collection[str]) -> bool:
    """Whether a truck may have what is asked, by what is known of it.

    Args:
        only: what is asked.
        fitted: what it has for sure.
        without: what it has not for sure.

    >>> asked = (("hand lever",),)
    >>> suits(asked, (), ()), suits(asked, ("wheel valves",), ())
    (True, False)
    """
    return all(
        any(not _lacks(name, fitted, without) for name in group) for group in only
    )


def _lacks(name: str, fitted: Collection[str], without: Collection[str]) -> bool:
    if name in fitted:
        return False
    row = next((row for row in ONE_OF if name in row), ())
    if name in without or any(other in fitted for other in row):
        return True
    if name == _INFLATION:
        return _NO_INFLATION in fitted
    return row == ONE_OF[0] and name != _NO_INFLATION and _INFLATION in without
