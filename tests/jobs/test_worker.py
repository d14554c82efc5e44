"""The worker: one job after another, failures kept apart, nothing lost by a restart."""

from __future__ import annotations

from pathlib import Path

from tests.waiting import until
from webapp.jobs import Progress, Worker
from webapp.storage import jobs
from webapp.storage.database import Db, Store


def store_at(folder: Path) -> Store:
    """Opens a practice's store."""
    return Store(folder / "wattlebird.db")


def add(store: Store, kind: str, subject_id: int) -> int:
    """Queues a job."""
    db = store.connect()
    with store.write(db):
        job_id = jobs.add(db, kind, subject_id, 1)
    db.close()
    return job_id


def state(store: Store, kind: str, subject_id: int) -> str:
    """Reads how far a job is."""
    db = store.connect()
    job = jobs.latest(db, kind, subject_id)
    db.close()
    return f"{job.state} {job.done_n}/{job.of_n} {job.message}".strip() if job else ""


def test_a_failing_job_does_not_stop_the_next(tmp_path: Path) -> None:
    """Its text is kept, and the worker goes on."""
    store = store_at(tmp_path)

    def work(_db: Db, subject_id: int, progress: Progress) -> None:
        progress(1, 2)
        if subject_id == 1:
            raise ValueError("no voice for this language")
        progress(2, 2)

    worker = Worker(store, {"make": work}, lambda: 5)
    add(store, "make", 1)
    add(store, "make", 2)
    worker.start()
    until(lambda: state(store, "make", 2).startswith("done"))
    worker.stop()
    assert state(store, "make", 1) == "failed 1/2 no voice for this language"
    assert state(store, "make", 2) == "done 2/2"
    store.close()


def test_a_job_under_way_when_the_server_died_is_taken_up_again(tmp_path: Path) -> None:
    """From its beginning."""
    store = store_at(tmp_path)
    add(store, "make", 7)
    db = store.connect()
    with store.write(db):
        assert jobs.take_next(db) is not None
    db.close()
    done: list[int] = []
    worker = Worker(store, {"make": lambda _db, subject_id, _progress: done.append(subject_id)}, lambda: 5)
    worker.start()
    until(lambda: done == [7])
    worker.stop()
    store.close()


def test_the_same_work_waits_once(tmp_path: Path) -> None:
    """Asked for twice before it began, it is done once."""
    store = store_at(tmp_path)
    assert add(store, "make", 3) == add(store, "make", 3)
    store.close()
