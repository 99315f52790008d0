"""The files of a knowledge base: what each should hold, and its text."""

from enum import Enum
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from bot.model.place import Fault, Place
from bot.store.files import read_whole
from bot.store.scan import (
    CARDS,
    CONTENTS,
    EAR,
    NOTES,
    PROCEDURES,
    RULES,
    SIDE,
    WORDS,
    scan,
)

PICTURES = (".jpg", ".jpeg", ".png")
"""How the names of pictures end that may lie beside a page."""


class PageKind(Enum):
    """What a file of the knowledge base should hold."""

    CARD = "card"
    PROCEDURE = "procedure"
    NOTE = "field note"
    RULE = "stop rule"
    WORDS = "words"
    EAR = "trained ear"
    CONTENTS = "contents"
    SIDE = "wordings"


class Page(NamedTuple):
    """One file: where it is, how people are shown its path, its age and size."""

    path: Path
    shown: str
    kind: PageKind
    mtime_ns: int
    size: int

    @property
    def id(self) -> str:
        """The file's name without its ending."""
        return self.path.name.removesuffix(SIDE).removesuffix(".md")


def pages(kb: Path) -> list[Page]:
    """Every file of the knowledge base that chock reads, in order of their paths."""
    return [page(Path(path), *look) for path, look in scan(str(kb)).items()]


def contents_of(kb: Path) -> set[str]:
    """The files of a knowledge base that chock reads, by their paths in it."""
    found = (Path(path).relative_to(kb).as_posix() for path in scan(str(kb)))
    return {name for name in found if name != CONTENTS}


_FOLDERS = MappingProxyType(
    {
        RULES: PageKind.RULE,
        PROCEDURES: PageKind.PROCEDURE,
        NOTES: PageKind.NOTE,
    }
)
"""Whatever lies in other folders is a card."""


def page(path: Path, mtime_ns: int = 0, size: int = 0) -> Page:
    """A file of a knowledge base, by where it lies."""
    kind = PageKind.CARD
    if path.name in WORDS:
        kind = PageKind.WORDS
    elif path.name == CONTENTS:
        kind = PageKind.CONTENTS
    elif path.name == EAR:
        kind = PageKind.EAR
    elif path.name.endswith(SIDE):
        kind = PageKind.SIDE
    elif path.parent.name in _FOLDERS:
        kind = _FOLDERS[path.parent.name]
    return Page(path, shown(path), kind, mtime_ns, size)


def strays(kb: Path) -> list[Fault]:
    """Files that lie where no page is looked for."""
    known = {found.path for found in pages(kb)}
    faults: list[Fault] = []
    folders = (CARDS, *_FOLDERS)
    for path in sorted(p for name in folders for p in kb.glob(f"{name}/**/*")):
        hidden = path.name.startswith(".") or path.name.endswith((SIDE, *PICTURES))
        if path.is_file() and path not in known and not hidden:
            says = (
                "not read; fault pages are kb/cards/<system>/<id>.md, others "
                f"kb/{PROCEDURES}/<id>.md, kb/{NOTES}/<id>.md, kb/{RULES}/<id>.md"
            )
            faults.append(Fault(Place(shown(path), 1), says))
    return faults


def shown(path: Path) -> str:
    """The path as people are shown it: from the working folder when it is below."""
    try:
        return path.resolve().relative_to(Path.cwd()).as_posix()
    except (ValueError, OSError, RuntimeError):  # a link to itself resolves to nothing
        return path.as_posix()


def text_of(page: Page) -> str | Fault:
    """The text of a page with line feeds only, or the fault that keeps it unread."""
    try:
        text = read_whole(page.path).decode("utf-8")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        says = "not UTF-8 text; save the file as UTF-8"
        return Fault(Place(page.shown, line), says)
    except OSError as error:
        says = f"cannot be read ({error.strerror}); check the file"
        return Fault(Place(page.shown, 1), says)
    return text.removeprefix("\ufeff").replace("\r\n", "\n")
