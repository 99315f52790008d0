"""Pieces set as one HTML file that needs nothing else and prints on A4 and letter."""

from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping
from html import escape
from itertools import groupby
from types import MappingProxyType

from bot.model.marked import Item, Run, items, runs
from bot.paper.pieces import (
    TICK,
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
from bot.paper.plot import Plot, svg

_MARKED = MappingProxyType({"strong": "strong", "slanted": "em"})

STYLE = """
@media screen { body { padding: 5mm } }
@page { margin: 10mm 11mm }
body { font: 9.5pt/1.16 Georgia, "Times New Roman", serif; max-width: 192mm;
  margin: auto }
section { columns: 2 80mm; column-gap: 5mm; break-before: page }
section:first-child { break-before: auto }
h1, h2, h3, .verdict, .box b, .needs { font-family: Helvetica, Arial, sans-serif }
h1 { font-size: 16pt; margin: 0 0 2mm; column-span: all }
h2 { font-size: 11.5pt; margin: 2mm 0 0.5mm; border-bottom: 0.4mm solid }
h3 { font-size: 10pt; margin: 1.5mm 0 0 }
h1, h2, h3 { break-after: avoid }
p { margin: 0.5mm 0 } ol, ul { margin: 0.5mm 0; padding-left: 6mm }
.verdict { display: inline-block; border: 0.7mm solid; padding: 1mm 3mm;
  font-weight: bold }
.box { border: 0.4mm solid; border-left-width: 2mm; padding: 0.4mm 2mm;
  margin: 0.8mm 0; font-size: 9pt; line-height: 1.15 }
p > em:only-child { font-size: 9pt }
.box, .row, li, table { break-inside: avoid }
.row { display: flex; gap: 2mm; margin: 0.15mm 0 }
.tick { flex: none; width: 3.2mm; height: 3.2mm; border: 0.3mm solid;
  margin-top: 0.6mm }
.small { font-size: 8pt; line-height: 1.15 }
.small, .small p { display: inline }
table { border-collapse: collapse; margin: 1mm 0 } td, th { border: 0.3mm solid;
  padding: 0.3mm 2mm; min-width: 18mm; height: 4.5mm; text-align: left;
  font-weight: normal }
pre { font: 7.2pt/1.2 "Courier New", monospace; margin: 1.5mm 0 }
pre, figure { break-inside: avoid } figure { margin: 2mm 0 }
figure:has(svg), .full { column-span: all }
img { max-width: 100%; max-height: 90mm } figcaption { font-size: 8.5pt }
.full td, .full th { min-width: 0; font-size: 9pt; vertical-align: top }
.full td:nth-child(-n+2) { white-space: nowrap }
svg.plot { width: 100%; font-family: Helvetica, Arial, sans-serif }
a { color: inherit; text-decoration: underline 0.2mm }
""".strip()


def set_html(
    pieces: Iterable[Piece],
    title: str,
    photos: Mapping[str, bytes] = MappingProxyType({}),
) -> str:
    """A whole HTML file; links to what is not in it are set as words.

    Args:
        pieces: what is to be set.
        title: of the file.
        photos: the pictures, path -> the file's bytes; for one that is missing its
            words are set.
    """
    told = tuple(pieces)
    anchors = frozenset(p.anchor for p in told if isinstance(p, Heading) and p.anchor)
    body = "\n".join(
        line
        for section in _sections(told)
        for line in (
            "<section>",
            *(line for piece in section for line in _set(piece, anchors, photos)),
            "</section>",
        )
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{escape(title)}</title>\n<style>\n{STYLE}\n</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def _sections(pieces: Iterable[Piece]) -> Iterator[list[Piece]]:
    """Each page for itself, in two columns below its title."""
    section: list[Piece] = []
    for piece in pieces:
        if isinstance(piece, Heading) and piece.level == 1 and section:
            yield section
            section = []
        section.append(piece)
    yield section


def _set(
    piece: Piece, anchors: frozenset[str], photos: Mapping[str, bytes]
) -> Iterator[str]:
    match piece:
        case Heading():
            anchor = f' id="{escape(piece.anchor)}"' if piece.anchor else ""
            yield f"<h{piece.level}{anchor}>{escape(piece.text)}</h{piece.level}>"
        case Verdict():
            yield f'<p class="verdict">May it move: {piece.drive.value}</p>'
        case Box():
            said = _inline(" ".join(piece.text.split()), anchors)
            yield f'<div class="box"><b>{escape(piece.signal)}</b> {said}</div>'
        case Para() | Plain():
            yield _running(piece, anchors)
        case Row():
            mark = '<span class="tick"></span>'
            mark = mark if piece.mark == TICK else f"<span>{escape(piece.mark)}</span>"
            said = _inline(piece.text, anchors)
            yield f'<div class="row">{mark}<span>{said}</span></div>'
        case Photo() | Drawing() | Plot():
            yield _shown(piece, photos)
        case Table():
            yield from _table(piece)


def _running(piece: Para | Plain, anchors: frozenset[str]) -> str:
    """Running text; of plain words no sign is a mark."""
    if isinstance(piece, Plain):
        tag = "li" if piece.listed else "p"
        said = "\n".join(f"<{tag}>{escape(line)}</{tag}>" for line in piece.lines)
        return f"<ul>{said}</ul>" if piece.listed else said
    kind = ' class="small"' if piece.small else ""
    said = "\n".join(_rendered(piece.text, anchors))
    return f"<div{kind}>{said}</div>"


def _shown(piece: Photo | Drawing | Plot, photos: Mapping[str, bytes]) -> str:
    """A picture within the file, so that it needs nothing else; or its words."""
    if isinstance(piece, Plot):
        caption = f"<figcaption>{escape(piece.title)}</figcaption>"
        return f"<figure>{svg(piece)}{caption}</figure>"
    if isinstance(piece, Drawing):
        return f"<pre>{escape(chr(10).join(piece.lines))}</pre>"
    data = photos.get(piece.path)
    words = escape(piece.words)
    if data is None:
        return f"<p>[picture: {words}]</p>"
    kind = "png" if piece.path.endswith(".png") else "jpeg"
    source = f"data:image/{kind};base64,{b64encode(data).decode()}"
    image = f'<img src="{source}" alt="{words}">'
    return f"<figure>{image}<figcaption>{words}</figcaption></figure>"


def _table(table: Table) -> Iterator[str]:
    yield '<table class="full">' if table.is_full else "<table>"
    for tag, rows in (("th", (table.head,)), ("td", table.rows)):
        for row in rows:
            cells = "".join(f"<{tag}>{escape(cell)}</{tag}>" for cell in row)
            yield f"<tr>{cells}</tr>"
    yield "</table>"


def _rendered(markdown: str, anchors: frozenset[str]) -> Iterator[str]:
    """Running text as paragraphs and lists."""
    for tag, run in groupby(items(markdown), key=_tag):
        yield from (f"<{tag}>",) if tag != "p" else ()
        for lead, text in run:
            said = _inline(text, anchors)
            number = f' value="{lead[:-1]}"' if tag == "ol" else ""
            yield f"<p>{said}</p>" if tag == "p" else f"<li{number}>{said}</li>"
        yield from (f"</{tag}>",) if tag != "p" else ()


def _tag(item: Item) -> str:
    return {"": "p", "-": "ul"}.get(item.lead, "ol")


def _inline(markdown: str, anchors: frozenset[str]) -> str:
    """A line of running text; links lead to what is in this file, or are words."""
    return "".join(_run_of(run, anchors) for run in runs(markdown))


def _run_of(run: Run, anchors: frozenset[str]) -> str:
    said = escape(run.text)
    target = run.target.rsplit("/", 1)[-1].removesuffix(".md").removeprefix("#")
    if target in anchors and target:
        return f'<a href="#{escape(target)}">{said}</a>'
    tag = _MARKED.get(run.mark)
    return f"<{tag}>{said}</{tag}>" if tag else said
