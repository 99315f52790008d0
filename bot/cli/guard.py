"""The one guard of the command line, for words that come in and all that is printed."""

import os
import re
import sys
from functools import lru_cache
from typing import Any, NoReturn, TextIO

_SUSPECT = (
    r"[\x00-\x08\x0b-\x1f\x7f-\x9f\xad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f"
    r"\ufe00-\ufe0f\ufeff\ufff9-\ufffb\ud800-\udfff\U000e0000-\U000e007f]"
)
"""What may be a control, a turn of direction or unseen; `clean` decides."""


@lru_cache(maxsize=1)
def _suspect() -> re.Pattern[str]:
    return re.compile(_SUSPECT)


def leave(status: int, *, at_once: bool) -> NoReturn:
    """End the process; at once: what it holds is left to the system.

    To take apart one by one what a question loaded takes half a bare start of Python.
    """
    if at_once:
        try:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(status)
        except (OSError, ValueError):  # nobody reads: the usual way says so
            pass
    sys.exit(status)


def plain(text: str) -> str:
    """The text without what a terminal would obey, or nobody can see."""
    if text.isascii() and text.replace("\n", "").isprintable():
        return text
    if not _suspect().search(text):
        return text
    from bot.talk.clean import clean

    return clean(text, len(text))


class Guarded:
    """A stream that takes text and passes on what may be shown."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        """Write the text; as many letters as it has count as written."""
        self._stream.write(plain(text))
        return len(text)

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever the stream has
        return getattr(self._stream, name)
