"""Pieces set as one HTML file that needs nothing else and prints on A4 and letter."""

from collections.abc import Iterable, Iterator
from html import escape

from markdown_it import MarkdownIt
from markdown_it.token import Token

from bot.paper.sheet import TICK, Box, Heading, Para, Piece, Row, Table, Verdict

_PARSER = MarkdownIt("commonmark", {"html": False, "maxNesting": 100})
_PARSER.enable("table").disable(["image", "html_block", "html_inline", "reference"])

STYLE = """
@page { margin: 13mm 14mm 15mm }
body { font: 10pt/1.3 Georgia, "Times New Roman", serif; max-width: 182mm;
  margin: auto }
h1, h2, h3, .verdict, .box b, .needs { font-family: Helvetica, Arial, sans-serif }
h1 { font-size: 16pt; margin: 0 0 2mm; break-before: page }
h1:first-child { break-before: auto }
h2 { font-size: 12pt; margin: 4mm 0 1mm; border-bottom: 0.4mm solid }
h3 { font-size: 10.5pt; margin: 3mm 0 0.5mm }
h1, h2, h3 { break-after: avoid }
p { margin: 1mm 0 } ol, ul { margin: 1mm 0; padding-left: 6mm }
.verdict { display: inline-block; border: 0.7mm solid; padding: 1mm 3mm;
  font-weight: bold }
.box { border: 0.4mm solid; border-left-width: 2mm; padding: 1mm 2mm; margin: 1.5mm 0 }
.box, .row, li, table { break-inside: avoid }
.row { display: flex; gap: 2mm; margin: 0.7mm 0 }
.tick { flex: none; width: 3.2mm; height: 3.2mm; border: 0.3mm solid;
  margin-top: 0.6mm }
.small { font-size: 8.5pt }
table { border-collapse: collapse; margin: 2mm 0 } td, th { border: 0.3mm solid;
  padding: 1mm 3mm; min-width: 18mm; height: 5mm; text-align: left;
  font-weight: normal }
a { color: inherit; text-decoration: underline 0.2mm }
""".strip()


def set_html(pieces: Iterable[Piece], title: str) -> str:
    """A whole HTML file; links to what is not in it are set as words."""
    told = tuple(pieces)
    anchors = frozenset(p.anchor for p in told if isinstance(p, Heading) and p.anchor)
    body = "\n".join(line for piece in told for line in _set(piece, anchors))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{escape(title)}</title>\n<style>\n{STYLE}\n</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def _set(piece: Piece, anchors: frozenset[str]) -> Iterator[str]:
    match piece:
        case Heading():
            anchor = f' id="{escape(piece.anchor)}"' if piece.anchor else ""
            yield f"<h{piece.level}{anchor}>{escape(piece.text)}</h{piece.level}>"
        case Verdict():
            yield f'<p class="verdict">May it move: {piece.drive.value}</p>'
        case Box():
            said = _inline(" ".join(piece.text.split()), anchors)
            yield f'<div class="box"><b>{escape(piece.signal)}</b> {said}</div>'
        case Para():
            kind = ' class="small"' if piece.small else ""
            yield f"<div{kind}>{_rendered(piece.text, anchors)}</div>"
        case Row():
            mark = '<span class="tick"></span>'
            mark = mark if piece.mark == TICK else f"<span>{escape(piece.mark)}</span>"
            said = _inline(piece.text, anchors)
            yield f'<div class="row">{mark}<span>{said}</span></div>'
        case Table():
            yield from _table(piece)


def _table(table: Table) -> Iterator[str]:
    yield "<table>"
    for tag, rows in (("th", (table.head,)), ("td", table.rows)):
        for row in rows:
            cells = "".join(f"<{tag}>{escape(cell)}</{tag}>" for cell in row)
            yield f"<tr>{cells}</tr>"
    yield "</table>"


def _rendered(markdown: str, anchors: frozenset[str]) -> str:
    return _kept(_PARSER.parse(markdown), anchors).strip()


def _inline(markdown: str, anchors: frozenset[str]) -> str:
    return _kept(_PARSER.parseInline(markdown), anchors)


def _kept(tokens: list[Token], anchors: frozenset[str]) -> str:
    """The HTML of some tokens, links led to what is in this file or set as words."""
    for token in tokens:
        if token.children:
            token.children = list(_linked(token.children, anchors))
    return str(_PARSER.renderer.render(tokens, _PARSER.options, {}))


def _linked(tokens: list[Token], anchors: frozenset[str]) -> Iterator[Token]:
    kept = False
    for token in tokens:
        if token.type == "link_open":
            target = str(token.attrGet("href") or "")
            inside = target.rsplit("/", 1)[-1].removesuffix(".md").removeprefix("#")
            kept = inside in anchors or target.startswith("https:")
            if inside in anchors:
                token.attrSet("href", f"#{inside}")
        if token.type not in ("link_open", "link_close") or kept:
            yield token
