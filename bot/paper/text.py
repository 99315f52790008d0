"""Pieces set as plain text of 72 columns, for any printer and any terminal."""

import textwrap
from collections.abc import Iterable, Iterator
from itertools import pairwise

from bot.model.marked import items, plain
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

COLUMNS = 72


def set_text(pieces: Iterable[Piece], columns: int = COLUMNS) -> str:
    """The text of some pieces, ending in one line feed."""
    lines: list[str] = []
    for before, piece in pairwise((None, *pieces)):
        if piece is not None:
            close = isinstance(before, Row) and isinstance(piece, Row)
            if lines and not close:
                lines.append("")
            lines += _lines(piece, columns)
    return "\n".join(lines) + "\n"


def _lines(piece: Piece, columns: int) -> Iterator[str]:
    match piece:
        case Heading():
            yield from _heading(piece, columns)
        case Verdict():
            yield f"MAY IT MOVE: {piece.drive.value.upper()}"
        case Box():
            said = f"{piece.signal}: {plain(' '.join(piece.text.split()))}"
            yield from _wrapped(said, columns, "!! ", "   ")
        case Para() | Plain():
            yield from _paragraph(piece, columns)
        case Row():
            mark = f"{piece.mark} "
            yield from _wrapped(plain(piece.text), columns, mark, " " * len(mark))
        case Photo() | Drawing():
            yield from _shown(piece, columns)
        case Table() | Plot():
            yield from _table(piece)


def _shown(piece: Photo | Drawing, columns: int) -> Iterator[str]:
    """A diagram as it stands; of a picture its words."""
    if isinstance(piece, Drawing):
        yield from piece.lines
        return
    file = piece.path.rsplit("/", 1)[-1]
    yield from _wrapped(f"[picture: {piece.words} ({file})]", columns)


def _heading(heading: Heading, columns: int) -> Iterator[str]:
    """A line over and under a title, one under the rest; sections in capitals."""
    mark = "=" if heading.level == 1 else "-"
    text = heading.text.upper() if heading.level < 3 else heading.text
    if heading.level == 1:
        yield mark * columns
    yield from _wrapped(text, columns)
    yield mark * (columns if heading.level == 1 else min(len(text), columns))


def _paragraph(piece: Para | Plain, columns: int) -> Iterator[str]:
    """Prose, its list items kept apart."""
    if isinstance(piece, Plain):
        told = [("-" if piece.listed else "", line) for line in piece.lines]
    else:
        told = [(lead, plain(said)) for lead, said in items(piece.text)]
    for lead, said in told:
        mark = f"{lead} " if lead else ""
        yield from _wrapped(said, columns, mark, " " * len(mark))


def _table(piece: Table | Plot) -> Iterator[str]:
    if isinstance(piece, Plot):
        yield f"{piece.title} ({piece.y_says}):"
    table = Table(*table_of(piece)) if isinstance(piece, Plot) else piece
    rows = (table.head, *table.rows)
    widths = [max(len(row[n]) for row in rows) for n in range(len(table.head))]
    for row in rows:
        cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        yield f"| {' | '.join(cells)} |"


def _wrapped(text: str, columns: int, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(
        text,
        columns,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
        break_long_words=False,
    )
