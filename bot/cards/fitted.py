"""The words by which a page, a cause or a step says which trucks it is for."""

from bot.model.fitted import FEATURES, Only
from bot.model.place import Fault, Place


def read_only(said: str, place: Place) -> Only | Fault:
    """Which trucks, such as ``wheel valves or hand lever, air dryer``."""
    groups = tuple(tuple(group.split(" or ")) for group in said.split(", "))
    for name in (name for group in groups for name in group):
        if name not in FEATURES:
            known = ", ".join(FEATURES)
            return Fault(place, f"'{name[:40]}' is not known of trucks; use {known}")
    return groups
