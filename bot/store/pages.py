"""The files of a knowledge base: which there are, and their text as it is on disk."""

from enum import Enum
from pathlib import Path
from typing import NamedTuple

from bot.model import Fault, Place


class PageKind(Enum):
    """What a file of the knowledge base should hold."""

    CARD = "card"
    RULE = "stop rule"
    WORDS = "thesaurus"


class Page(NamedTuple):
    """One file, where it is, how people are shown its path, and its age and size."""

    path: Path
    shown: str
    kind: PageKind
    mtime_ns: int
    size: int

    @property
    def id(self) -> str:
        """The file's name without its ending."""
        return self.path.stem


def pages(kb: Path) -> list[Page]:
    """Every file of the knowledge base that chock reads, in order of their paths."""
    found = [(path, PageKind.CARD) for path in kb.glob("cards/*/*.md")]
    found += [(path, PageKind.RULE) for path in kb.glob("stop-rules/*.md")]
    found += [(path, PageKind.WORDS) for path in kb.glob("words.yaml")]
    out: list[Page] = []
    for path, kind in sorted(found):
        stat = path.stat()
        out.append(Page(path, shown(path), kind, stat.st_mtime_ns, stat.st_size))
    return out


def strays(kb: Path) -> list[Fault]:
    """Files that lie where no card is looked for."""
    known = {page.path for page in pages(kb)}
    faults: list[Fault] = []
    for path in sorted([*kb.glob("cards/**/*"), *kb.glob("stop-rules/**/*")]):
        if path.is_file() and path not in known and not path.name.startswith("."):
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
