"""One worker thread for what takes longer than a page may; its queue is a table, so a restart loses nothing."""

from __future__ import annotations

import errno
import logging
import threading
from collections.abc import Callable, Mapping

from webapp.storage import jobs
from webapp.storage.database import CannotStoreError, Db, Store

Progress = Callable[[int, int], None]
Kind = Callable[[Db, int, Progress], None]
log = logging.getLogger(__name__)


class Worker:
    """Does the waiting jobs of a store one after another, and in between what `between` keeps up to date.

    `kinds` maps a job's kind to the function that does it: it gets a connection of its own, the subject's
    number and `progress(done, of)`. An error ends that job as failed, with its text, and the next one begins.
    """

    def __init__(self, store: Store, kinds: Mapping[str, Kind], now_ms: Callable[[], int],
                 between: Callable[[Db], None] = lambda _db: None) -> None:
        self._store, self._kinds, self._now_ms, self._between = store, kinds, now_ms, between
        self._wake, self._stopping = threading.Event(), threading.Event()
        self._thread: threading.Thread | None = None
        self._was_stopped = False

    def start(self) -> None:
        """Takes up what was waiting or under way when the server stopped, and goes on from there."""
        db = self._store.connect()
        with self._store.write(db):
            jobs.take_up_again(db)
        db.close()
        self._thread = threading.Thread(target=self._run, name="wattlebird-jobs", daemon=True)
        self._thread.start()
        self._wake.set()

    def wake(self) -> None:
        """Says that a job was added."""
        self._wake.set()

    def stop(self, timeout_s: float = 10) -> None:
        """Lets the job under way end, for at most `timeout_s`."""
        self._stopping.set()
        self._wake.set()
        if self._thread:
            self._thread.join(timeout_s)

    def _run(self) -> None:
        while not self._stopping.is_set():
            self._wake.wait(timeout=30)
            self._wake.clear()
            while not self._stopping.is_set() and self._goes_on():
                pass
            self.do_between()

    def do_between(self) -> None:
        """Does what is kept up to date between jobs; an error there ends neither the thread nor a job."""
        db = self._store.connect()
        try:
            self._between(db)
        except Exception:
            log.exception("what is kept up to date between jobs could not be")
        finally:
            db.close()

    def _goes_on(self) -> bool:
        """Does one job; when the disk is full it waits, and takes up again what was under way."""
        try:
            return self.do_one()
        except CannotStoreError as error:
            log.error("jobs wait: the database cannot take it: %s", error.reason)
            self._was_stopped = True
            return False

    def do_one(self) -> bool:
        """Does the oldest waiting job; False where none waits."""
        db = self._store.connect()
        try:
            with self._store.write(db):
                if self._was_stopped:
                    jobs.take_up_again(db)
                job = jobs.take_next(db)
            self._was_stopped = False
            if job:
                self._do(db, job)
        finally:
            db.close()
        return job is not None

    def _do(self, db: Db, job: jobs.Job) -> None:
        def progress(done: int, of: int) -> None:
            with self._store.write(db):
                jobs.note_progress(db, job.id, done, of)

        state, message = "done", ""
        try:
            self._kinds[job.kind](db, job.subject_id, progress)
        except CannotStoreError:
            raise
        except Exception as error:
            if isinstance(error, OSError) and error.errno == errno.ENOSPC:
                raise CannotStoreError("full") from error
            log.exception("job %s of kind %s failed", job.id, job.kind)
            state, message = "failed", str(error) or type(error).__name__
        with self._store.write(db):
            jobs.end(db, job.id, state, message, self._now_ms())
