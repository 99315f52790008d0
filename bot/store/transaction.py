"""One transaction of a database: all of it, or nothing."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def transaction(database: sqlite3.Connection) -> Iterator[None]:
    """All of what is written meanwhile, or nothing; within another one a part of it.

    Raises:
        sqlite3.Error: another chock is writing, or nothing can be written.
    """
    if database.in_transaction:
        yield
        return
    database.execute("BEGIN IMMEDIATE")
    try:
        yield
        database.execute("COMMIT")
    finally:
        if database.in_transaction:
            database.execute("ROLLBACK")
