"""Our two themes, and a third of the terminal's own colours for NO_COLOR.

Contrast is 7:1 or more everywhere (a test looks). The colours of the signal words lean
on ANSI Z535: red, orange, yellow, blue (from memory); the words say the same.
"""

from types import MappingProxyType

from textual.theme import Theme

INKS = ("muted", "key", "foot", "danger", "warned", "careful", "notice")
"""Our own colour names, used in the style sheet and in styled text."""

_NIGHT = ("#b4b4b4", "#ffd75f", "#1e1e1e", "#ff9090", "#ffb454", "#ffe36e", "#a8d1ff")
_SUN = ("#444444", "#00308f", "#e4e4e4", "#8f0000", "#6b3500", "#554300", "#00308f")
_PLAIN = ("ansi_default",) * len(INKS)


def _theme(name: str, fore: str, back: str, inks: tuple[str, ...]) -> Theme:
    colours = dict(zip(INKS, inks, strict=True))
    return Theme(
        name=name,
        dark=name != "sun",
        ansi=name == "plain",
        primary=fore,
        foreground=fore,
        background=back,
        surface=back,
        panel=back,
        variables=colours | _parts(fore, back, colours),
    )


def _parts(fore: str, back: str, inks: dict[str, str]) -> dict[str, str]:
    return {
        "ansi-background": back,
        "ansi-foreground": fore,
        "input-cursor-background": fore,
        "input-cursor-foreground": back,
        "input-selection-background": inks["muted"],
        "screen-selection-background": inks["muted"],
        "screen-selection-foreground": back,
        "scrollbar": inks["muted"],
        "scrollbar-hover": inks["muted"],
        "scrollbar-active": inks["muted"],
        "scrollbar-background": back,
        "scrollbar-background-hover": back,
        "scrollbar-background-active": back,
        "scrollbar-corner-color": back,
    }


THEMES = MappingProxyType(
    {
        "night": _theme("night", "#f4f4f4", "#000000", _NIGHT),
        "sun": _theme("sun", "#000000", "#ffffff", _SUN),
        "plain": _theme("plain", "ansi_default", "ansi_default", _PLAIN),
    }
)
