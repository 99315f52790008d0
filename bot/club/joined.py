"""What becomes of one file of a knowledge base that two members changed.

Pages, wordings and words are merged unit by unit. A file that one device appends to
keeps every line, one that is written once stays as it was, and what one side took out
and the other changed stays. What cannot be put together is kept twice: theirs in its
place, ours aside.
"""

import re
from collections.abc import Callable, Iterable
from hashlib import sha256
from types import MappingProxyType
from typing import NamedTuple

from bot.club import names
from bot.club.clashes import Clash
from bot.club.merge import merge, union
from bot.model.place import BotError

ATTRIBUTES = ".gitattributes"
AS_THEY_ARE = b"* -text\n*.md diff\n"
"""What that file says: no end of line is ever rewritten, or no digest would fit."""

SHORT = 12

KINDS = MappingProxyType(
    {
        "page": (names.PAGE,),
        "wordings file": (names.WORDINGS, names.LINES_OF_RULE),
        "outcome file": (names.OUTCOMES,),
        "sign-off": (names.SIGN_OFF,),
        "remark file": (names.REMARKS,),
        "paper of the rule": (names.RULE, names.RULE_SIGNED),
        "forgotten device": (names.FORGOTTEN,),
        "text set aside": (names.ASIDE, names.ASIDE_WHOLE),
    }
)
OTHER = "other file"

Reads = Callable[[str, str], bool]
"""Whether a file of that path with that text can be read without fault."""


class Joined(NamedTuple):
    """What a file is from now on, None for gone; and what of ours is set aside."""

    kept: bytes | None
    aside: bytes | None = None
    clashes: tuple[Clash, ...] = ()


def kind_of(path: str) -> str:
    """What people call a file of that path.

    >>> kind_of("cards/brakes/brake-drags.md")
    'page'
    """
    return next((kind for kind, some in KINDS.items() if _is(path, some)), OTHER)


def counted(paths: Iterable[str]) -> str:
    """Files by kind, as in "2 pages, 1 outcome file"."""
    kinds = [kind_of(path) for path in paths]
    rows = [(kinds.count(kind), kind) for kind in (*KINDS, OTHER) if kind in kinds]
    return ", ".join(f"{n} {_plural(kind) if n > 1 else kind}" for n, kind in rows)


def _plural(kind: str) -> str:
    first, blank, rest = kind.partition(" ")
    if first in ("paper", "text"):
        return f"{first}s{blank}{rest}"
    return f"{kind}s"


def join(
    path: str,
    base: bytes | None,
    ours: bytes | None,
    theirs: bytes | None,
    reads: Reads,
) -> Joined:
    """What becomes of a file; None stands for no file.

    Args:
        path: where it lies in the knowledge base.
        base: what both began with.
        ours: what it is here, UTF-8 text.
        theirs: what it is there, UTF-8 text.
        reads: tells a page that can be read.

    Raises:
        BotError: what must not be lost would be longer than such a file may be.
    """
    if path == ATTRIBUTES:
        return Joined(AS_THEY_ARE)
    if ours is None or theirs is None:
        left = theirs if ours is None else ours
        return Joined(None if left == base else left)
    if _is(path, names.WRITTEN_ONCE):
        return Joined(min(ours, theirs) if base is None else base)
    if _is(path, names.APPENDED):
        return Joined(_grown(path, ours, theirs))
    if base == ours or ours == theirs:
        return Joined(theirs)
    return Joined(ours) if base == theirs else _merged(path, base, ours, theirs, reads)


def needs_content(path: str) -> bool:
    """Whether what is in a file decides even where one side alone changed it."""
    return path == ATTRIBUTES or _is(path, (*names.WRITTEN_ONCE, *names.APPENDED))


def _is(path: str, patterns: Iterable[re.Pattern[str]]) -> bool:
    return any(pattern.fullmatch(path) for pattern in patterns)


def _grown(path: str, ours: bytes, theirs: bytes) -> bytes:
    text = union(ours.decode("utf-8"), theirs.decode("utf-8")).encode("utf-8")
    most = names.most_bytes(path)
    if len(text) > most:
        raise BotError(
            f"'{path}' would be longer than {most >> 10} KiB with all lines that two "
            "copies of it have; take old lines out of one of them, then try again"
        )
    return text


def _merged(
    path: str, base: bytes | None, ours: bytes, theirs: bytes, reads: Reads
) -> Joined:
    merged = merge(
        None if base is None else base.decode("utf-8"),
        ours.decode("utf-8"),
        theirs.decode("utf-8"),
        path=path,
        reads=lambda text: reads(path, text),
    )
    kept, most = merged.text.encode("utf-8"), names.most_bytes(path)
    if merged.conflicts:
        return Joined(theirs, ours, merged.conflicts)
    if len(kept) > most:
        says = f"put together it is longer than {most >> 10} KiB"
        return Joined(theirs, ours, (Clash("the whole page", says),))
    return Joined(kept)


def aside_path(path: str, data: bytes) -> str:
    """Where a text is kept that did not become the file it was written for.

    >>> aside_path("words.yaml", b"")
    'club/aside/words-yaml.e3b0c44298fc.txt'
    """
    digest = sha256(data).hexdigest()[:SHORT]
    if names.PAGE.fullmatch(path) or names.WORDINGS.fullmatch(path):
        ending = path.rsplit(".", 1)[1]
        return f"club/aside/{names.stem(path)}.{digest}.{ending}"
    name = re.sub(r"[^a-z0-9]+", "-", path.lower()).strip("-")
    return f"club/aside/{name}.{digest}.txt"


def page_of_aside(aside: str) -> str:
    """The file that a text set aside was written for.

    >>> page_of_aside("club/aside/cards/brakes/brake-drags.0123456789ab.md")
    'cards/brakes/brake-drags.md'
    """
    stem, _, ending = aside.removeprefix("club/aside/").rsplit(".", 2)
    if "/" in stem:
        return f"{stem}.md" if ending == "md" else f"{stem}.wordings.txt"
    known = {aside_path(name, b"").split(".")[0]: name for name in sorted(names.WHOLE)}
    return known.get(f"club/aside/{stem}", aside)
