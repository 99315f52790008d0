"""What was worked out before, by the digest of all that it was worked out from.

A cache of its own: where it cannot be read or written all is worked out anew. The
program's own text is part of every digest, so that another version begins afresh.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import cache
from pathlib import Path

MOST = 5_000
"""So many results are kept; then all are let go and made anew. Our choice."""


class Memo:
    """The open cache; `path` None keeps nothing."""

    def __init__(self, path: Path | None = None) -> None:
        self._database: sqlite3.Connection | None = None
        self._new: dict[str, str] = {}
        if path is None:
            return
        with suppress(sqlite3.Error):
            self._database = _opened(path)

    def close(self) -> None:
        """Write what was worked out meanwhile, in one go, and close the file."""
        if self._database is None:
            return
        with suppress(sqlite3.Error), self._database:
            many = self._database.execute("SELECT COUNT(*) FROM made").fetchone()
            if many[0] >= MOST:
                self._database.execute("DELETE FROM made")
            self._database.executemany(
                "INSERT OR REPLACE INTO made VALUES (?, ?)", self._new.items()
            )
        self._database.close()
        self._database = None

    def of(self, parts: Iterable[str], make: Callable[[], str]) -> str:
        """What `make` gives, worked out once for the same parts.

        Args:
            parts: all that the result depends on, the name of its kind among them.
            make: works it out.
        """
        key = digest(parts)
        found = self._known(key)
        if found is None:
            found = self._new[key] = make()
        return found

    def _known(self, key: str) -> str | None:
        if key in self._new or self._database is None:
            return self._new.get(key)
        query = "SELECT result FROM made WHERE digest = ?"
        try:
            row = self._database.execute(query, (key,)).fetchone()
        except sqlite3.Error:
            return None
        return row[0] if row and isinstance(row[0], str) else None


NOTHING_KEPT = Memo()


def _opened(path: Path) -> sqlite3.Connection:
    """The file; one that is no cache of ours is thrown away and made anew."""
    for _ in range(2):
        database = sqlite3.connect(path, timeout=2.0)
        try:
            database.execute("PRAGMA synchronous = OFF")
            database.execute(
                "CREATE TABLE IF NOT EXISTS made (digest TEXT PRIMARY KEY, result TEXT)"
                " WITHOUT ROWID"
            )
            return database
        except sqlite3.DatabaseError:
            database.close()
            with suppress(OSError):
                path.unlink()
    raise sqlite3.OperationalError


def digest(parts: Iterable[str]) -> str:
    """The digest of some texts in order, and of the program's own."""
    whole = hashlib.sha256(_program())
    for part in parts:
        held = part.encode("utf-8", "surrogatepass")
        whole.update(b"%d " % len(held))
        whole.update(held)
    return whole.hexdigest()


@cache
def _program() -> bytes:
    """The digest of the program's own text."""
    whole = hashlib.sha256()
    for path in sorted(Path(__file__).parents[1].rglob("*.py")):
        whole.update(path.read_bytes())
    return whole.digest()
