"""What `mutate` does to a knowledge base: one kind of damage a function.

Each takes the file it hurts and the lots to draw, and leaves something at its path or
beside it. Text kinds write what an editor, a careless hand or an enemy may leave.
"""

from __future__ import annotations

import os
import re
import shutil
from typing import TYPE_CHECKING

from hostile import ESCAPES, TOWER, UNSEEN

if TYPE_CHECKING:
    import random
    from collections.abc import Callable
    from pathlib import Path

    Harm = Callable[[Path, random.Random], None]


def _anew(path: Path, data: bytes) -> None:
    """Write a file anew: the old one may be shared with others by a hard link."""
    path.unlink()
    path.write_bytes(data)


def _by_lines(
    change: Callable[[list[str], random.Random], None],
) -> Harm:
    """Damage to the lines of a text."""

    def harm(path: Path, lots: random.Random) -> None:
        lines = path.read_text(encoding="utf-8", errors="replace").split("\n")
        change(lines, lots)
        _anew(path, "\n".join(lines).encode("utf-8", "surrogatepass"))

    harm.__name__ = change.__name__.removeprefix("_")
    return harm


def _at(lines: list[str], lots: random.Random) -> int:
    return lots.randrange(len(lines))


def _drop_lines(lines: list[str], lots: random.Random) -> None:
    for _ in range(lots.choice((1, 1, 3, 10))):
        if len(lines) > 1:
            del lines[_at(lines, lots)]


def _double_lines(lines: list[str], lots: random.Random) -> None:
    for _ in range(lots.choice((1, 1, 3))):
        at = _at(lines, lots)
        lines.insert(at, lines[at])


def _swap_lines(lines: list[str], lots: random.Random) -> None:
    one, other = _at(lines, lots), _at(lines, lots)
    lines[one], lines[other] = lines[other], lines[one]


def _put(lines: list[str], lots: random.Random, sign: str) -> None:
    at = _at(lines, lots)
    within = lots.randrange(len(lines[at]) + 1)
    lines[at] = lines[at][:within] + sign + lines[at][within:]


def _escapes(lines: list[str], lots: random.Random) -> None:
    _put(lines, lots, lots.choice(ESCAPES))


def _unseen(lines: list[str], lots: random.Random) -> None:
    _put(lines, lots, lots.choice(UNSEEN))


def _tower(lines: list[str], lots: random.Random) -> None:
    _put(lines, lots, TOWER)


def _markup(lines: list[str], lots: random.Random) -> None:
    signs = ("[/x]", "[@click=app.quit]x[/]", "<b>", "&lt;", "`", "\\", "**", "[a]: b")
    _put(lines, lots, lots.choice(signs))


def _long_line(lines: list[str], lots: random.Random) -> None:
    _put(lines, lots, lots.choice("a[*> -9") * 1_000_000)


def _nested(lines: list[str], lots: random.Random) -> None:
    deep = lots.choice((9, 19, 100, 900))
    at = _at(lines, lots)
    if lots.random() < 0.5:
        lines[at] = "> " * deep + lines[at]
    else:
        lines[at:at] = [f"{'  ' * n}- x" for n in range(min(deep, 400))]


def _numbers(lines: list[str], lots: random.Random) -> None:
    with_figure = [n for n, line in enumerate(lines) if re.search(r"\d", line)]
    if with_figure:
        at = lots.choice(with_figure)
        big = lots.choice(("9" * 5_000, "1e999", "-1", "0", "9" * 30, "1_000", "0x1F"))
        lines[at] = re.sub(r"\d+", big, lines[at], count=1)


def _yaml_bomb(lines: list[str], lots: random.Random) -> None:
    bomb = ["a: &a [x, x, x, x, x, x, x, x, x]"]
    for one, other in zip("abcdefgh", "bcdefghi", strict=True):
        bomb.append(f"{other}: &{other} [{', '.join(f'*{one}' for _ in range(9))}]")
    lines[1:1] = bomb if lots.random() < 0.5 else [f"a: {'[' * 5_000}"]


def _verdict(lines: list[str], lots: random.Random) -> None:
    """Take out what says that the truck may not move."""
    for n, line in enumerate(lines):
        lines[n] = line.replace("do not move", lots.choice(("", "no limit", "fly")))


def _links(lines: list[str], lots: random.Random) -> None:
    """Turn the links of a page on itself, or to nowhere."""
    to = lots.choice(("", "#", "x.md", "../../../../etc/passwd", "javascript:x"))
    for n, line in enumerate(lines):
        lines[n] = re.sub(r"\]\([^)]+\)", f"]({to})", line)


def flipped(path: Path, lots: random.Random) -> None:
    """Some bits of some bytes."""
    data = bytearray(path.read_bytes())
    for _ in range(lots.choice((1, 1, 5, 50)) if data else 0):
        data[lots.randrange(len(data))] ^= 1 << lots.randrange(8)
    _anew(path, bytes(data))


def cut(path: Path, lots: random.Random) -> None:
    """Its end."""
    data = path.read_bytes()
    _anew(path, data[: lots.randrange(len(data) + 1)])


def emptied(path: Path, lots: random.Random) -> None:
    """All of it, or all but blanks."""
    _anew(path, lots.choice((b"", b"\n\n\n", b" ")))


def gone(path: Path, _: random.Random) -> None:
    """The file."""
    path.unlink()


def renamed(path: Path, lots: random.Random) -> None:
    """Its name; an odd one is an enemy's."""
    names = (b"other.md", b"A B.md", b"a\x1b[2J.md", b"a\xff.md", b"a\n.md", b"..md")
    path.rename(path.with_name(os.fsdecode(lots.choice(names))))


def folder(path: Path, _: random.Random) -> None:
    """A folder in its place."""
    path.unlink()
    path.mkdir()


def looped(path: Path, lots: random.Random) -> None:
    """A link to itself, to nothing, to the folder, to what cannot be read."""
    path.unlink()
    path.symlink_to(lots.choice((path.name, "gone", "..", "/proc/self/mem")))


def pipe(path: Path, _: random.Random) -> None:
    """A pipe in its place, at which a reader waits for ever."""
    path.unlink()
    os.mkfifo(path)


def endless(path: Path, _: random.Random) -> None:
    """A link to what never ends."""
    path.unlink()
    path.symlink_to("/dev/zero")


def huge(path: Path, lots: random.Random) -> None:
    """Far more of the same."""
    data = path.read_bytes() or b"x\n"
    size = lots.choice((300_000, 5_000_000))
    _anew(path, data * (size // len(data) + 1))


def sparse(path: Path, _: random.Random) -> None:
    """So many noughts that no memory holds them, on no disk space at all."""
    data = path.read_bytes()
    _anew(path, data)
    os.truncate(path, 1 << 34)


def binary(path: Path, lots: random.Random) -> None:
    """No text at all."""
    _anew(path, lots.randbytes(lots.choice((10, 10_000))))


def recoded(path: Path, lots: random.Random) -> None:
    """Another way to write text down."""
    text = path.read_text(encoding="utf-8") + "\u00e4\u00b0\n"
    way = lots.choice(("latin-1", "utf-16", "utf-8-sig", "cr", "crlf"))
    if way in ("cr", "crlf"):
        end = "\r" if way == "cr" else "\r\n"
        _anew(path, text.replace("\n", end).encode())
    else:
        _anew(path, text.encode(way, "replace"))


def nul(path: Path, lots: random.Random) -> None:
    """A nought among the letters."""
    data = path.read_bytes()
    at = lots.randrange(len(data) + 1)
    _anew(path, data[:at] + b"\x00" + data[at:])


def doubled(path: Path, lots: random.Random) -> None:
    """The same page in another place, or under another name."""
    other = path.with_name(f"copy-of-{path.name}")
    if lots.random() < 0.5 and path.parent.parent.name == "cards":
        other = path.parent.with_name("zz-other") / path.name
        other.parent.mkdir(exist_ok=True)
    shutil.copy2(path, other)


HARMS: tuple[Harm, ...] = (
    flipped,
    cut,
    emptied,
    gone,
    renamed,
    folder,
    looped,
    pipe,
    endless,
    huge,
    sparse,
    binary,
    recoded,
    nul,
    doubled,
    *(
        _by_lines(change)
        for change in (
            _drop_lines,
            _double_lines,
            _swap_lines,
            _escapes,
            _unseen,
            _tower,
            _markup,
            _long_line,
            _nested,
            _numbers,
            _yaml_bomb,
            _verdict,
            _links,
        )
    ),
)
