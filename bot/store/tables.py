"""The file of the index: its tables, opened as it is, made afresh, or thrown away."""

import os
import sqlite3

from bot.language.lexicon import VERSION as LEXICON_VERSION
from bot.match.danger import VERSION as STOPS_VERSION
from bot.match.records import VERSION as RECORDS_VERSION
from bot.store.lessons import TABLES as LESSONS

LAYOUT = 12
CODE = f"{LAYOUT}.{RECORDS_VERSION}.{LEXICON_VERSION}.{STOPS_VERSION}"
"""What the rows were made by; rows made by another version are thrown away."""

MEMORY = ":memory:"

PATIENCE_S = 2.0
"""How long another chock may be writing before this one gives up."""

_TABLES = """
BEGIN;
CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE files (
    path TEXT PRIMARY KEY, mtime_ns INTEGER NOT NULL, size INTEGER NOT NULL,
    hash TEXT NOT NULL, faults TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE cards (
    number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, path TEXT NOT NULL UNIQUE,
    title TEXT NOT NULL
);
CREATE TABLE told_on (
    number INTEGER PRIMARY KEY, signs TEXT NOT NULL, kept BLOB NOT NULL
);
CREATE TABLE shelf (block INTEGER PRIMARY KEY, signs BLOB NOT NULL);
CREATE TABLE rows (
    feature TEXT, block INTEGER, packed BLOB NOT NULL, PRIMARY KEY (feature, block)
) WITHOUT ROWID;
CREATE TABLE vocabulary (
    word TEXT PRIMARY KEY, tail TEXT, stem TEXT, cards INTEGER
) WITHOUT ROWID;
CREATE INDEX vocabulary_tails ON vocabulary (tail);
CREATE INDEX vocabulary_stems ON vocabulary (stem);
CREATE TABLE ear (feature TEXT PRIMARY KEY, weights TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE wordings (
    path TEXT, card TEXT, check_id TEXT, answer TEXT, said TEXT NOT NULL,
    PRIMARY KEY (card, check_id, answer)
) WITHOUT ROWID;
CREATE TABLE phrases (key TEXT PRIMARY KEY, lines TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE notes (
    id TEXT PRIMARY KEY, path TEXT NOT NULL UNIQUE, about TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE rules (
    id TEXT PRIMARY KEY, path TEXT NOT NULL UNIQUE, content TEXT NOT NULL
) WITHOUT ROWID;
"""


def discard(path: str) -> None:
    """Throw away a damaged index; the next `open` makes it anew."""
    for name in (path, path + "-journal"):
        if os.path.exists(name):
            os.remove(name)


def _connect(path: str) -> sqlite3.Connection:
    """A connection that leaves transactions to us; a cache need not survive a crash."""
    database = sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None)
    database.execute("PRAGMA synchronous = OFF")
    return database


def existing(path: str) -> sqlite3.Connection:
    """The file as it is, or an error when it is missing, damaged or older."""
    if not os.path.isfile(path):
        raise FileNotFoundError(path)
    database = _connect(path)
    try:
        _check(database, os.path.getsize(path))
        if os.access(path, os.W_OK) and os.access(
            os.path.dirname(path) or ".", os.W_OK
        ):
            return database
        copy = _connect(MEMORY)
        database.backup(copy)
    except sqlite3.Error:
        database.close()
        raise
    database.close()
    return copy


def _check(database: sqlite3.Connection, size: int) -> None:
    """Raise an error when the tables were made by other code, or the file was cut."""
    row = database.execute("SELECT value FROM about WHERE name = 'code'").fetchone()
    if row is None or row[0] != CODE:
        raise sqlite3.DatabaseError("made by another version")
    pages, page_size = (
        database.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("page_count", "page_size")
    )
    if pages * page_size != size:
        raise sqlite3.DatabaseError("cut off")


def fresh(path: str) -> sqlite3.Connection:
    """Empty tables in a new file, or in memory."""
    if path != MEMORY:
        discard(path)
    database = _connect(path)
    try:
        database.executescript(f"{_TABLES}{LESSONS}COMMIT;")
        database.execute("INSERT INTO about VALUES ('code', ?)", (CODE,))
    except sqlite3.Error:
        database.close()
        raise
    return database
