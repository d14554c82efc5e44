"""Work that takes longer than a page may: what waits, what runs, how far it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, row


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One piece of work: `done_n` of `of_n` steps done; `message` says why it failed."""

    id: int
    kind: str
    subject_id: int
    state: str
    done_n: int
    of_n: int
    message: str
    made_ms: int
    ended_ms: int | None


def _job(found: Mapping[str, Any] | None) -> Job | None:
    return Job(**{name: found[name] for name in Job.__slots__}) if found else None


def add(db: Db, kind: str, subject_id: int, now_ms: int) -> int:
    """Puts a piece of work in the queue; the same one still waiting is not queued twice."""
    waiting = row(db, "SELECT id FROM jobs WHERE kind = ? AND subject_id = ? AND state = 'waiting'", kind, subject_id)
    if waiting:
        return int(str(waiting["id"]))
    made = db.execute(
        "INSERT INTO jobs (kind, subject_id, state, done_n, of_n, message, made_ms)"
        " VALUES (?, ?, 'waiting', 0, 1, '', ?)",
        [kind, subject_id, now_ms],
    )
    return int(made.lastrowid or 0)


def take_next(db: Db) -> Job | None:
    """Takes the oldest waiting job and marks it as running; a pack, which somebody looks at, goes first."""
    oldest = "SELECT * FROM jobs WHERE state = 'waiting' ORDER BY kind != 'make_pack', id LIMIT 1"
    found = _job(row(db, oldest))
    if found:
        db.execute("UPDATE jobs SET state = 'running' WHERE id = ?", [found.id])
    return found


def waits(db: Db, kind: str) -> bool:
    """Tells whether work of a kind waits."""
    return row(db, "SELECT id FROM jobs WHERE kind = ? AND state = 'waiting' LIMIT 1", kind) is not None


def waits_for(db: Db, kind: str, subject_id: int) -> bool:
    """Tells whether work of a kind for a subject waits or is under way."""
    return row(db, "SELECT id FROM jobs WHERE kind = ? AND subject_id = ? AND state IN ('waiting', 'running') LIMIT 1",
               kind, subject_id) is not None


def note_progress(db: Db, job_id: int, done_n: int, of_n: int) -> None:
    """Says how far a running job is."""
    db.execute("UPDATE jobs SET done_n = ?, of_n = ? WHERE id = ?", [done_n, of_n, job_id])


def end(db: Db, job_id: int, state: str, message: str, now_ms: int) -> None:
    """Closes a job as done or failed."""
    db.execute("UPDATE jobs SET state = ?, message = ?, ended_ms = ? WHERE id = ?", [state, message, now_ms, job_id])


def take_up_again(db: Db) -> None:
    """Puts back in the queue what was under way when the server stopped."""
    db.execute("UPDATE jobs SET state = 'waiting', done_n = 0 WHERE state = 'running'")


def latest(db: Db, kind: str, subject_id: int) -> Job | None:
    """Reads the last job of a kind for a subject."""
    return _job(
        row(db, "SELECT * FROM jobs WHERE kind = ? AND subject_id = ? ORDER BY id DESC LIMIT 1", kind, subject_id)
    )
