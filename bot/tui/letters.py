"""Plain letters only, for terminals and fonts that draw lines and blocks badly."""

from functools import lru_cache

from rich.cells import cell_len
from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

_LYING, _STANDING, _CORNERS = "─━═╌╴╶", "│┃║▎▏▌▐█▉▊▋▍▕", "┌┐└┘├┤┬┴┼╔╗╚╝"
_BLOCKS = "▁▂▃▄▅▆▇▀"
_PLAIN = str.maketrans(
    dict.fromkeys(_LYING, "-")
    | dict.fromkeys(_STANDING, "|")
    | dict.fromkeys(_CORNERS, "+")
    | dict.fromkeys(_BLOCKS, "#")
    | {"…": ".", "°": "o", "•": "*", "·": ".", "\N{EM DASH}": "-"}
    | {"\N{EN DASH}": "-", "\N{MINUS SIGN}": "-"}
    | dict.fromkeys(
        "\N{LEFT SINGLE QUOTATION MARK}\N{RIGHT SINGLE QUOTATION MARK}", "'"
    )
    | dict.fromkeys("“”", '"')
)


@lru_cache(4096)
def plain(text: str) -> str:
    """The text in ASCII, as many columns wide; what has no likeness is a "?".

    >>> plain("── 20 °C…"), plain("水")
    ('-- 20 oC.', '??')
    """
    if text.isascii():
        return text
    alike = text.translate(_PLAIN)
    return "".join(c if c.isascii() else "?" * cell_len(c) for c in alike)


class PlainLetters(LineFilter):
    """Whatever is drawn, in ASCII."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The same segments, their text in plain letters."""
        return [s if s.control else s._replace(text=plain(s.text)) for s in segments]
