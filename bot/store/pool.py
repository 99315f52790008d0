"""What many devices shared, kept added up: a question reads one row of it.

One SQLite file in the person's own store, a cache: when it is missing, damaged or made
by another edition, it is made anew from the devices' files. Of these only those are
read whose age or size changed; what a device said before is taken away, and what it
says now added. Who is forgotten stays so in this store, also where an old copy of a
knowledge base brings the lines back without the paper. This person's own devices are
left out: own jobs count by themselves.
"""

from __future__ import annotations

import json
import os
import sqlite3
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, suppress
from pathlib import Path
from typing import NamedTuple

from bot.club.outcomes import MOST_BYTES, Clean, Read, read
from bot.club.tally import (
    DEVICE,
    Figure,
    OfDevice,
    add,
    fit_to_show,
    of_device,
    proves,
    votes_in,
)
from bot.store.device import CLUB, FORGOTTEN, OUTCOMES, own_ids
from bot.store.files import read_whole, write_whole
from bot.store.habits import checksum, rows_of
from bot.store.transaction import transaction

EDITION = 1
PATIENCE_S = 5.0
"""So long another window may write. Our choice."""

REMARKS = "remarks"
"""The folder of the club in which other lines of a device lie, a file a page."""

_TABLES = f"""
BEGIN;
CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE device (
    id TEXT PRIMARY KEY, mtime_ns INTEGER NOT NULL, size INTEGER NOT NULL,
    skipped INTEGER NOT NULL, votes TEXT NOT NULL, crc INTEGER NOT NULL
) WITHOUT ROWID;
CREATE TABLE page (
    id TEXT PRIMARY KEY, figures TEXT NOT NULL, crc INTEGER NOT NULL
) WITHOUT ROWID;
CREATE TABLE wording (
    page TEXT, words TEXT, device TEXT, PRIMARY KEY (page, words, device)
) WITHOUT ROWID;
CREATE INDEX of_device ON wording (device);
PRAGMA user_version = {EDITION};
COMMIT;
"""

Look = tuple[int, int]
"""The age of a file (mtime_ns) and its size in bytes."""

NOT_DAMAGED = (
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_LOCKED,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_CANTOPEN,
)
"""Errors that say nothing against the file: it stays."""

UNREADABLE = Read((), (), 1)


class DamagedError(sqlite3.DatabaseError):
    """A row is not as it was written."""

    sqlite_errorcode = sqlite3.SQLITE_CORRUPT


class NoRoomError(sqlite3.OperationalError):
    """The cache cannot be made there."""

    sqlite_errorcode = sqlite3.SQLITE_CANTOPEN


class Refreshed(NamedTuple):
    """How many devices' files were read anew, how many lines of all say nothing."""

    read: int
    skipped: int


class Pool:
    """What was shared in one knowledge base, as one person's store has it added up."""

    def __init__(self, kb: str | Path, home: str | Path) -> None:
        """Nothing is read or made yet.

        Args:
            kb: the folder of the knowledge base.
            home: the person's own store.
        """
        self._club = Path(kb, CLUB)
        self._home = Path(home)
        which = zlib.crc32(str(Path(kb).resolve()).encode("utf-8", "replace"))
        self.path = self._home / CLUB / f"pool-{which:08x}.db"

    def pool(self, page: str) -> Mapping[str, int]:
        """The votes of other devices on a page, by cause: for learning alone."""
        return votes_in(self._figures(page))

    def shown(self, page: str) -> Mapping[str, int]:
        """The votes on a page that people may be shown, by cause."""
        return fit_to_show(self._figures(page))

    def wordings(self, page: str, clean: Clean) -> Mapping[str, int]:
        """What was said of a page's fault, each looked through; by how many devices."""
        query = "SELECT words, COUNT(*) FROM wording WHERE page = ? GROUP BY words"
        rows = rows_of(str(self.path), query, page)
        return {str(words): int(n) for words, n in rows if clean(str(words))}

    def said(self, clean: Clean, most: int) -> tuple[tuple[str, str], ...]:
        """Wordings of all pages, each looked through: (page, words), each once."""
        query = "SELECT DISTINCT page, words FROM wording ORDER BY page, words LIMIT ?"
        rows = rows_of(str(self.path), query, most)
        return tuple((str(p), str(words)) for p, words in rows if clean(str(words)))

    def _figures(self, page: str) -> dict[str, Figure]:
        """One row; nothing where it is missing, or not as it was written."""
        query = "SELECT figures, crc FROM page WHERE id = ?"
        for told, crc in rows_of(str(self.path), query, page):
            if crc == checksum(page, told):
                return _unpacked(told)
            _discard(self.path)  # the next refresh makes it anew
        return {}

    def is_stale(self) -> bool:
        """Whether devices' files came or went since the last refresh: two looks.

        A file that only grew is not seen so.
        """
        return self._looked() != _about(self.path)

    def _looked(self) -> str:
        """How the club's two folders look; "" where nothing was ever shared."""
        ages = [_age(self._club / name) for name in (OUTCOMES, FORGOTTEN)]
        return " ".join(map(str, ages)) if any(ages) else ""

    def refresh(self) -> Refreshed:
        """Take in what changed: after an import, a sync, or lines of one's own.

        Where nothing can be kept, nothing is learnt of others.
        """
        for _ in range(2):
            try:
                return self._refreshed()
            except sqlite3.Error as error:
                code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT)
                if code & 0xFF in NOT_DAMAGED:
                    break
                _discard(self.path)
        return Refreshed(0, 0)

    def _refreshed(self) -> Refreshed:
        looked = self._looked()
        if not looked and not self.path.exists():
            return Refreshed(0, 0)
        gone = self.forgotten()
        left_out = gone | own_ids(self._home)
        now = {who: at for who, at in self._devices() if who not in left_out}
        with closing(_opened(self.path)) as database, transaction(database):
            kept = Kept(database)
            before = kept.looks()
            changed = [who for who, look in now.items() if before.get(who) != look]
            for who in before.keys() - now.keys():
                kept.take_out(who)
            for who in changed:
                kept.put(who, now[who], self._read(who))
            kept.settle(looked)
            return Refreshed(len(changed), kept.skipped())

    def _devices(self) -> Iterator[tuple[str, Look]]:
        yield from _looks(self._club / OUTCOMES)

    def _read(self, device: str) -> Read:
        try:
            data = read_whole(self._club / OUTCOMES / f"{device}.txt", MOST_BYTES)
        except OSError:
            return UNREADABLE
        return read(data.decode("utf-8", "replace"))

    def forgotten(self) -> frozenset[str]:
        """All devices that proved, here or once, that they are to be forgotten."""
        path = self._home / CLUB / "forgotten.txt"
        try:
            known = frozenset(read_whole(path).decode("ascii", "replace").split("\n"))
        except OSError:
            known = frozenset()
        found = {who for who, _ in _looks(self._club / FORGOTTEN) if who not in known}
        new = {who for who in found if self._proves(who)}
        if new:
            with suppress(OSError):
                path.parent.mkdir(0o700, parents=True, exist_ok=True)
                write_whole(path, "\n".join(sorted({*known, *new} - {""})) + "\n")
        return frozenset(who for who in known | new if who)

    def _proves(self, device: str) -> bool:
        try:
            data = read_whole(self._club / FORGOTTEN / f"{device}.txt", 1024)
        except OSError:
            return False
        return proves(device, data)

    def sweep(self) -> int:
        """Take the files of forgotten devices off the knowledge base; how many."""
        swept = 0
        gone = self.forgotten()
        there = (self._club / OUTCOMES).glob("*.txt")
        beside = (self._club / REMARKS).glob("**/*.txt")
        for path in (*there, *beside):
            if path.stem in gone:
                with suppress(OSError):
                    path.unlink()
                    swept += 1
        return swept


class Kept:
    """The open cache, within a transaction."""

    def __init__(self, database: sqlite3.Connection) -> None:
        self._run: Callable[..., sqlite3.Cursor] = database.execute
        self._many = database.executemany
        self._more: dict[str, dict[str, Figure]] = {}

    def looks(self) -> dict[str, Look]:
        """How each device's file looked when it was read."""
        rows = self._run("SELECT id, mtime_ns, size FROM device")
        return {who: (age, size) for who, age, size in rows}

    def take_out(self, device: str) -> None:
        """All that a device said."""
        query = "SELECT votes, crc FROM device WHERE id = ?"
        row = self._run(query, (device,)).fetchone()
        if row:
            if row[1] != checksum(device, row[0]):
                raise DamagedError
            add(self._more, OfDevice(json.loads(row[0]), {}), -1)
            self._run("DELETE FROM device WHERE id = ?", (device,))
            self._run("DELETE FROM wording WHERE device = ?", (device,))

    def put(self, device: str, look: Look, told: Read) -> None:
        """What a device says, in place of what it said."""
        self.take_out(device)
        added = of_device(told)
        add(self._more, added, 1)
        votes = json.dumps(added.votes)
        row = (device, *look, told.skipped, votes, checksum(device, votes))
        self._run("INSERT INTO device VALUES (?, ?, ?, ?, ?, ?)", row)
        rows = ((page, one, device) for page in added.said for one in added.said[page])
        self._many("INSERT INTO wording VALUES (?, ?, ?)", rows)

    def settle(self, looked: str) -> None:
        """Add to the pages what came and went; the folders looked so."""
        for page, more in self._more.items():
            figures = self._of(page)
            for cause, figure in more.items():
                old = figures.get(cause, Figure(0, 0))
                figures[cause] = Figure(
                    old.votes + figure.votes, old.devices + figure.devices
                )
            told = {cause: f for cause, f in sorted(figures.items()) if f.devices > 0}
            self._run("DELETE FROM page WHERE id = ?", (page,))
            if told:
                text = json.dumps(told)
                row = (page, text, checksum(page, text))
                self._run("INSERT INTO page VALUES (?, ?, ?)", row)
        self._run("INSERT OR REPLACE INTO about VALUES ('looked', ?)", (looked,))

    def _of(self, page: str) -> dict[str, Figure]:
        query = "SELECT figures, crc FROM page WHERE id = ?"
        row = self._run(query, (page,)).fetchone()
        if row and row[1] != checksum(page, row[0]):
            raise DamagedError
        return _unpacked(row[0]) if row else {}

    def skipped(self) -> int:
        """Lines of all devices that say nothing."""
        row = self._run("SELECT TOTAL(skipped) FROM device").fetchone()
        return int(row[0])


def _unpacked(told: str) -> dict[str, Figure]:
    return {cause: Figure(*figure) for cause, figure in json.loads(told).items()}


def _opened(path: Path) -> sqlite3.Connection:
    """The cache, made where it is missing.

    Raises:
        sqlite3.Error: it is damaged, of another edition, or cannot be made.
    """
    try:
        path.parent.mkdir(0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise NoRoomError from error
    database = sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None)
    try:
        database.execute("PRAGMA synchronous = OFF")
        edition = int(database.execute("PRAGMA user_version").fetchone()[0])
        if not edition:
            database.executescript(_TABLES)
        elif edition != EDITION:
            raise DamagedError
    except sqlite3.Error:
        database.close()
        raise
    return database


def _discard(path: Path) -> None:
    for name in (path, path.with_name(f"{path.name}-journal")):
        with suppress(OSError):
            name.unlink()


def _about(path: Path) -> str:
    rows = rows_of(str(path), "SELECT value FROM about WHERE name = 'looked'")
    return str(rows[0][0]) if rows else ""


def _age(folder: Path) -> int:
    try:
        return folder.stat().st_mtime_ns
    except OSError:
        return 0


def _looks(folder: Path) -> Iterator[tuple[str, Look]]:
    """The devices that have a file in a folder, and how it looks."""
    try:
        entries = list(os.scandir(folder))
    except OSError:
        return
    for entry in entries:
        who, dot, ending = entry.name.partition(".")
        if dot and ending == "txt" and DEVICE.fullmatch(who):
            with suppress(OSError):
                if entry.is_file(follow_symlinks=False):
                    stat = entry.stat(follow_symlinks=False)
                    yield who, (stat.st_mtime_ns, stat.st_size)
