"""The line that says where figures come from: reader and writer side by side."""

import re

from bot.model.card import Source, Standing
from bot.model.place import Fault, Place

_SOURCE = re.compile(
    r"([^:]+): (.*?)"
    r"(?:(?<!^) ?\((seen|from memory)\)|(?:, )?(common practice, no source))\.?"
)


def read_source(text: str, place: Place) -> Source | Fault:
    """A source, such as ``4 psi: ministry, truck handbook, brakes on (seen).``."""
    found = _SOURCE.fullmatch(text)
    if found is None:
        return Fault(
            place,
            "not a source; write 'the figures: where they come from (seen).', '... "
            "(from memory).' or 'the figures: common practice, no source.'",
        )
    standing = Standing(found[3] or found[4])
    if standing is Standing.SEEN and not found[2]:
        return Fault(place, "'seen' where? write the title and the section")
    return Source(found[1], found[2], standing, place)


def write_source(source: Source) -> str:
    """The line that `read_source` takes."""
    if source.standing is Standing.COMMON_PRACTICE:
        origin = f"{source.origin}, " if source.origin else ""
        return f"{source.figures}: {origin}{source.standing.value}."
    origin = f"{source.origin} " if source.origin else ""
    return f"{source.figures}: {origin}({source.standing.value})."
