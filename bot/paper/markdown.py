"""Pieces set as Markdown, to be read, kept in a folder, or sent to somebody."""

import re
from collections.abc import Iterable, Iterator

from bot.paper.pieces import (
    Box,
    Drawing,
    Heading,
    Para,
    Photo,
    Piece,
    Plain,
    Row,
    Table,
    Verdict,
)
from bot.paper.plot import Plot, table_of

_SPECIAL = re.compile(r"([\\`*_\[\]<>#|~&!])")


def literal(text: str) -> str:
    r"""Words of a person as Markdown that shows them letter for letter, in one line.

    >>> print(literal("it *hisses* <loud>"))
    it \*hisses\* \<loud\>
    """
    return _SPECIAL.sub(r"\\\1", " ".join(text.split()))


def set_markdown(pieces: Iterable[Piece]) -> str:
    """The Markdown of some pieces, ending in one line feed."""
    blocks: list[str] = []
    before: Piece | None = None
    for piece in pieces:
        close = isinstance(before, Row) and isinstance(piece, Row)
        text = "\n".join(_lines(piece))
        if close:
            blocks[-1] += f"\n{text}"
        else:
            blocks.append(text)
        before = piece
    return "\n\n".join(blocks) + "\n"


def _lines(piece: Piece) -> Iterator[str]:
    match piece:
        case Heading():
            yield f"{'#' * piece.level} {literal(piece.text)}"
        case Verdict():
            yield f"**May it move:** {piece.drive.value}"
        case Box():
            yield f"> **{piece.signal}** {piece.text}"
        case Para() | Plain():
            yield from _running(piece)
        case Row():
            yield f"- {piece.text}"
        case Photo() | Drawing():
            yield from _shown(piece)
        case Table() | Plot():
            yield from _tabled(piece)


def _running(piece: Para | Plain) -> Iterator[str]:
    if isinstance(piece, Para):
        yield piece.text
        return
    lead = "- " if piece.listed else ""
    yield from (f"{lead}{literal(line)}" for line in piece.lines)


def _shown(piece: Photo | Drawing) -> Iterator[str]:
    if isinstance(piece, Drawing):
        yield from ("```", *piece.lines, "```")
    else:
        yield f"![{literal(piece.words)}]({piece.path})"


def _tabled(piece: Table | Plot) -> Iterator[str]:
    """A table; of a plot its figures."""
    if isinstance(piece, Plot):
        yield f"{literal(piece.title)} ({literal(piece.y_says)}):"
        yield ""
    table = Table(*table_of(piece)) if isinstance(piece, Plot) else piece
    yield _cells(map(literal, table.head))
    yield _cells("---" for _ in table.head)
    for row in table.rows:
        yield _cells(map(literal, row))


def _cells(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"
