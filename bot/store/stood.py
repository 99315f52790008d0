"""How pages stood when they were last asked for: so that a question need not reckon.

A line a page: its path, how all files looked that its standing depends on, and the
words. Any other look, or another day, and it is reckoned anew, signatures and all.
"""

from __future__ import annotations

import os
import time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

KEPT = "stood.txt"
MOST_BYTES = 500_000
"""A longer file is begun anew."""

DAY_S = 86_400


def stood(
    kb: str, home: str, pages: Mapping[str, str], reckon: Callable[[str], str]
) -> dict[str, str]:
    """How some pages stand, in words; what is not known is reckoned and kept.

    Args:
        kb: the knowledge base.
        home: the person's own store.
        pages: id -> path in the knowledge base.
        reckon: tells how the page at a path stands.
    """
    path = os.path.join(home, "club", KEPT)
    held = _read(path)
    mine = _looks([os.path.join(home, "club", n) for n in ("memory.txt", "seen.txt")])
    day = int(time.time() // DAY_S)
    found, new = {}, []
    for page, at in pages.items():
        begin = f"\n{at} {day},{mine},{_look(kb, at)} "
        where = held.rfind(begin)
        if where < 0:
            found[page] = reckon(at)
            new.append(f"{begin}{found[page]}")
        else:
            ends = held.find("\n", where + 1)
            found[page] = held[where + len(begin) : ends if ends > 0 else None]
    if new:
        _keep(path, "".join(new), is_long=len(held) > MOST_BYTES)
    return found


def _read(path: str) -> str:
    try:
        with open(path, encoding="utf-8") as file:
            return file.read(2 * MOST_BYTES)
    except (OSError, UnicodeDecodeError):
        return ""


def _look(kb: str, page: str) -> str:
    """How a page looks, with its wordings and its sign-offs."""
    stem = page.removesuffix(".md")
    folder = os.path.join(kb, "club", "sign-offs", stem)
    try:
        names = sorted(os.listdir(folder))
    except OSError:
        names = []
    own = [os.path.join(kb, page), os.path.join(kb, f"{stem}.wordings.txt")]
    return _looks(own + [os.path.join(folder, name) for name in names])


def _looks(paths: list[str]) -> str:
    told = []
    for path in paths:
        try:
            stat = os.stat(path)
        except OSError:
            told.append("-")
            continue
        look = (stat.st_mtime_ns, stat.st_ctime_ns, stat.st_size, stat.st_ino)
        told.append(".".join(f"{number:x}" for number in look))
    return ",".join(told)


def _keep(path: str, text: str, *, is_long: bool) -> None:
    try:
        with open(path, "w" if is_long else "a", encoding="utf-8") as file:
            file.write(text)
    except OSError:
        return
