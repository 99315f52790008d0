"""Diagrams and pictures among prose, as a terminal can show them."""

from bot.model.pictures import picture_of


def as_drawn(text: str) -> tuple[str, ...]:
    """The lines of a diagram, or a picture's words; () for other prose.

    >>> as_drawn("![The drain valve](drain.jpg)")
    ('[picture: The drain valve (drain.jpg)]',)
    """
    picture = picture_of(text)
    if picture:
        return (f"[picture: {picture.words} ({picture.file})]",)
    return tuple(text.split("\n")[1:-1]) if text.startswith("```") else ()
