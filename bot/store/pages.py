"""The files of a knowledge base: what each should hold, and its text."""

from enum import Enum
from pathlib import Path
from typing import NamedTuple

from bot.model.place import Fault, Place
from bot.store.scan import EAR, RULES, SIDE, WORDS, scan


class PageKind(Enum):
    """What a file of the knowledge base should hold."""

    CARD = "card"
    RULE = "stop rule"
    WORDS = "words"
    EAR = "trained ear"
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


def page(path: Path, mtime_ns: int = 0, size: int = 0) -> Page:
    """A file of a knowledge base, by where it lies."""
    kind = PageKind.CARD
    if path.name in WORDS:
        kind = PageKind.WORDS
    elif path.name == EAR:
        kind = PageKind.EAR
    elif path.name.endswith(SIDE):
        kind = PageKind.SIDE
    elif path.parent.name == RULES:
        kind = PageKind.RULE
    return Page(path, shown(path), kind, mtime_ns, size)


def strays(kb: Path) -> list[Fault]:
    """Files that lie where no card is looked for."""
    known = {found.path for found in pages(kb)}
    faults: list[Fault] = []
    for path in sorted([*kb.glob("cards/**/*"), *kb.glob("stop-rules/**/*")]):
        hidden = path.name.startswith(".") or path.name.endswith(SIDE)
        if path.is_file() and path not in known and not hidden:
            says = (
                "not read; cards are kb/cards/<system>/<id>.md, stop rules "
                "kb/stop-rules/<id>.md"
            )
            faults.append(Fault(Place(shown(path), 1), says))
    return faults


def shown(path: Path) -> str:
    """The path as people are shown it: from the working folder when it is below."""
    try:
        return path.resolve().relative_to(Path.cwd()).as_posix()
    except ValueError:
        return path.as_posix()


def text_of(page: Page) -> str | Fault:
    """The text of a page with line feeds only, or the fault that keeps it unread."""
    try:
        text = page.path.read_bytes().decode("utf-8")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        says = "not UTF-8 text; save the file as UTF-8"
        return Fault(Place(page.shown, line), says)
    except OSError as error:
        says = f"cannot be read ({error.strerror}); check the file"
        return Fault(Place(page.shown, 1), says)
    return text.removeprefix("\ufeff").replace("\r\n", "\n")
