"""Pictures beside a page: there, small enough, and with words in their stead."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from bot.model.card import Block
from bot.model.pictures import pictures_in
from bot.model.place import Fault
from bot.store.pages import PICTURES

MOST_BYTES = 400_000
"""A page goes by mail and on paper. Our choice."""


def lint_pictures(blocks: Iterable[Block], path: Path) -> Iterator[Fault]:
    """Pictures of a page that cannot be shown, or say nothing in a terminal.

    Args:
        blocks: the running text of the page.
        path: the page's own file, beside which they lie.
    """
    for picture, place, alone in pictures_in(blocks):
        file = path.with_name(picture.file)
        if not alone:
            yield Fault(place, "a picture is a line of its own; leave one line empty")
        if not picture.words:
            yield Fault(place, "say between the brackets what the picture shows")
        if "/" in picture.file or not picture.file.endswith(PICTURES):
            says = f"'{picture.file}' is no picture beside this page; write 'name.jpg'"
            yield Fault(place, says)
        elif not file.is_file():
            yield Fault(
                place, f"no file '{picture.file}' beside this page; put it there"
            )
        elif file.stat().st_size > MOST_BYTES:
            size = file.stat().st_size // 1000
            says = f"'{picture.file}' has {size} kB; make it smaller than 400"
            yield Fault(place, says)
