"""The real server as a process that is started and killed many times over one database, and its broken variants.

Each life is forked from a process that has everything imported, so that a thousand of them take minutes.
"""

from __future__ import annotations

import logging
import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

import flask

from tests.forks import FORKS
from tests.ports import free_port
from webapp import serving
from webapp.http_server import serve
from webapp.settings import Settings
from webapp.storage import database
from webapp.storage.database import Db, Store

LATE_S = 0.03


class Lives:
    """One server after the other over the same settings; `variant` breaks them on purpose."""

    def __init__(self, settings: Settings, variant: str = "", disk_log: str = "") -> None:
        self.settings, self.variant, self.disk_log = settings, variant, disk_log
        self.port = free_port()
        self._process: BaseProcess | None = None

    def starts(self) -> None:
        """Starts a server and returns when its port is open."""
        opened, tells = FORKS.Pipe(duplex=False)
        told = (self.settings, self.port, self.variant, self.disk_log, tells)
        self._process = FORKS.Process(target=live, args=told)
        self._process.start()
        tells.close()
        try:
            assert opened.poll(60), "the server did not open its port"
            opened.recv()
        finally:
            opened.close()

    def is_killed(self) -> None:
        """Ends it at once, without a word: SIGKILL."""
        if self._process and self._process.pid:
            os.kill(self._process.pid, signal.SIGKILL)
            self._process.join()
            self._process.close()
        self._process = None


def live(settings: Settings, port: int, variant: str, disk_log: str, tells: Connection) -> None:
    """Serves until it is killed."""
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # four threads are kept waiting all the time here
    if disk_log:
        from tests.trust.disk_log import keep_disk_log

        keep_disk_log(disk_log)
    BREAKS[variant]()
    serve(settings, "127.0.0.1", port, announce=lambda: tells.send("open"))


# --- variants that must be caught ---


def _as_it_is() -> None:
    """Breaks nothing."""


def _answer_before_the_commit() -> None:
    """Has each write committed a moment after its answer went out."""
    store, serving_ = database.Store, serving

    @contextmanager
    def write(self: Store, db: Db) -> Iterator[Db]:
        if db.conn.in_transaction:
            db.conn.commit()
        db.conn.execute("BEGIN IMMEDIATE")
        try:
            yield db
        except BaseException:
            db.conn.rollback()
            raise

    def close(_error: BaseException | None) -> None:
        db = flask.g.pop("db", None)
        if db is not None:
            threading.Timer(LATE_S, _commit_and_close, [db]).start()

    store.write = write  # type: ignore[method-assign]
    serving_._close = close


def _commit_and_close(db: Db) -> None:
    db.conn.commit()
    db.close()


def _pragmas(*pragmas: str) -> None:
    connect = database.connect

    def connect_otherwise(path: Path) -> Db:
        db = connect(path)
        for pragma in pragmas:
            db.conn.execute(f"PRAGMA {pragma}").fetchall()
        return db

    database.connect = connect_otherwise


# the power cut must also find the server in the middle of a checkpoint
OFTEN = "wal_autocheckpoint = 40"
BREAKS: dict[str, Callable[[], None]] = {
    "": _as_it_is,
    "answers before the commit": _answer_before_the_commit,
    "checkpoints often": lambda: _pragmas(OFTEN),
    "no fsync": lambda: _pragmas(OFTEN, "synchronous = OFF"),
    "fsync at checkpoints only": lambda: _pragmas(OFTEN, "synchronous = NORMAL"),
}
