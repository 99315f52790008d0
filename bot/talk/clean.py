"""Text from files and strangers made fit for a terminal: no escapes, no tricks."""

import re
import unicodedata

_SEQUENCE = re.compile(
    r"(?:\x1b\]|\x9d)[^\x07\x1b\x9c]*(?:\x07|\x1b\\|\x9c)?"
    r"|(?:\x1b[PX^_]|[\x90\x98\x9e\x9f])[^\x1b\x9c]*(?:\x1b\\|\x9c)?"
    r"|(?:\x1b\[|\x9b)[0-?]*[ -/]*[@-~]?"
    r"|\x1b[ -/]*[0-~]?"
)
"""Control sequences, whole (ECMA-48): OSC; DCS, SOS, PM, APC; CSI; the rest."""

_TURNERS = frozenset(
    map(
        chr,
        (*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x061C),
    )
)
"""Characters that turn the direction of writing (Unicode, bidirectional controls)."""

_UNSEEN = ("Cc", "Cs", "Co", "Cn", "Cf")


def clean(text: str, limit: int = 20_000) -> str:
    r"""The text without anything a terminal would obey; line feeds stay.

    >>> clean("a\x1b]0;title\x07b\x1b[2Jc\u202ed")
    'abcd'
    """
    plain = _SEQUENCE.sub("", text[:limit])
    plain = plain.replace("\r\n", "\n").replace("\r", "\n").expandtabs(4)
    unseen = {ord(c): None for c in set(plain) if c != "\n" and not _is_plain(c)}
    return plain.translate(unseen)


def clean_lines(text: str) -> str:
    """A long text cleaned line by line, nothing cut off."""
    return "\n".join(clean(line, len(line)) for line in text.split("\n"))


def _is_plain(character: str) -> bool:
    return character not in _TURNERS and unicodedata.category(character) not in _UNSEEN
