"""Opens the practice's database and runs write transactions, one writer at a time."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlite_utils

from webapp.storage.migrations import migrate

Db = sqlite_utils.Database


class CannotStoreError(Exception):
    """A write that the database could not take, now; nothing of it is stored. `reason`: full, read_only or busy."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


def _why(error: sqlite3.OperationalError) -> str | None:
    """Tells trouble that ends by itself or by somebody's hand from a fault of ours."""
    reasons = {"SQLITE_FULL": "full", "SQLITE_READONLY": "read_only", "SQLITE_IOERR": "read_only",
               "SQLITE_BUSY": "busy"}
    name = "_".join(getattr(error, "sqlite_errorname", "").split("_")[:2])
    return reasons.get(name)


def connect(path: Path) -> Db:
    """Opens one connection with the pragmas that every connection needs."""
    conn = sqlite3.connect(path, timeout=10, check_same_thread=False)
    conn.execute("PRAGMA foreign_keys = ON")
    conn.execute("PRAGMA synchronous = FULL")  # a receipt promises that a power cut loses nothing
    conn.execute("PRAGMA busy_timeout = 10000")
    return Db(conn, execute_plugins=False)


class Store:
    """One database file: opens connections, keeps one open, queues the writers of this process."""

    def __init__(self, path: Path) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        self.path = path
        self._lock = threading.RLock()
        first = connect(path)
        first.enable_wal()
        migrate(first)
        first.close()
        # Without it each request's close would be the last one, and would checkpoint and delete the WAL.
        self._keeper = connect(path)
        self._keeper.execute("SELECT count(*) FROM sqlite_master").fetchone()

    def connect(self) -> Db:
        return connect(self.path)

    @contextmanager
    def write(self, db: Db) -> Iterator[Db]:
        """Runs one write transaction; an error inside leaves nothing behind. Raises CannotStoreError.

        BEGIN IMMEDIATE, since a deferred transaction that reads and then writes fails at once
        (SQLITE_BUSY_SNAPSHOT) when another writer came between, whatever the busy timeout.
        """
        with self._lock:
            try:
                db.conn.execute("BEGIN IMMEDIATE")
                yield db
                db.conn.commit()
            except sqlite3.OperationalError as error:
                db.conn.rollback()
                if reason := _why(error):
                    raise CannotStoreError(reason) from error
                raise
            except BaseException:
                db.conn.rollback()
                raise

    def close(self) -> None:
        self._keeper.close()


def rows(db: Db, sql: str, *values: object) -> list[dict[str, Any]]:
    """Reads all rows at once: an unfinished query would hold a snapshot and block the checkpoint.

    Without the library's savepoint round each query, which is two statements more; for what only reads.
    """
    found = db.conn.execute(sql, values)
    names = [column[0] for column in found.description]
    return [dict(zip(names, values, strict=True)) for values in found]


def row(db: Db, sql: str, *values: object) -> dict[str, Any] | None:
    """Reads the first row, or None."""
    found = rows(db, sql, *values)
    return found[0] if found else None
