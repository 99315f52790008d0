"""A picture in running text: a line of its own, with words in its stead."""

import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from bot.model.card import Block, Prose
from bot.model.place import Place

_PICTURE = re.compile(r"!\[([^\[\]]*)\]\(([^()\s]*)\)")


class Picture(NamedTuple):
    """What it shows, in words, and its file's name beside the page."""

    words: str
    file: str


def picture_of(text: str) -> Picture | None:
    """The picture that a block of text is; None when it is other text."""
    found = _PICTURE.fullmatch(text.strip())
    return Picture(found[1].strip(), found[2]) if found else None


def pictures_in(blocks: Iterable[Block]) -> Iterator[tuple[Picture, Place, bool]]:
    """Each picture among some blocks, where it stands, and whether it stands alone."""
    for block in blocks:
        if isinstance(block, Prose):
            for words, file in _PICTURE.findall(block.text):
                alone = picture_of(block.text) is not None
                yield Picture(words.strip(), file), block.place, alone
