"""Characters that nobody can see, found in a text before anything reads it."""

import unicodedata

from bot.model.place import Fault, Place

_BLANKS = frozenset("\u3164\u2800")
"""Count as printable, and show nothing."""


def hidden(
    text: str, path: str, first_line: int = 1, allowed: str = ""
) -> Fault | None:
    """A fault for the first character that would show nothing, or something else.

    Args:
        text: the text, which begins on the file's line `first_line`.
        path: shown in the fault's place.
        first_line: see `text`.
        allowed: such characters as may stand all the same.
    """
    kept = {"\n", *allowed}
    unseen = [c for c in set(text) - kept if _shows_nothing(c)]
    if not unseen:
        return None
    first = min(unseen, key=text.index)
    number = first_line + text.count("\n", 0, text.index(first))
    name = unicodedata.name(first, "unnamed")
    says = f"hidden character U+{ord(first):04X} ({name})"
    return Fault(Place(path, number), f"{says}; type the line afresh")


def _shows_nothing(character: str) -> bool:
    return not character.isprintable() or character in _BLANKS
