"""Erasing a client: asked for first, done in one transaction later. The trail stays, without content."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.storage.database import Db, row
from webapp.storage.held import conditions

ASKED_FOR_MS = 24 * 3_600_000  # what was asked for longer ago is asked for anew


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """An erasure that was asked for and not done."""

    id: int
    client_id: int
    asked_ms: int
    asked_by: int


def asked(db: Db, client_id: int, now_ms: int) -> Asked | None:
    """Reads whether a client's erasure was asked for within the last day."""
    found = row(db, "SELECT id, client_id, asked_ms, asked_by FROM erasures WHERE client_id = ? AND begun_ms IS NULL"
                    " AND asked_ms > ? ORDER BY id DESC LIMIT 1", client_id, now_ms - ASKED_FOR_MS)
    return Asked(**found) if found else None


def ask(db: Db, client_id: int, asked_ms: int, asked_by: int) -> None:
    """Notes that an erasure was asked for; nothing can be deleted by that alone."""
    db.execute("INSERT INTO erasures (client_id, asked_ms, asked_by) VALUES (?, ?, ?)", [client_id, asked_ms, asked_by])


def take_back(db: Db, client_id: int) -> None:
    """Forgets what was asked for and not done."""
    db.execute("DELETE FROM erasures WHERE client_id = ? AND begun_ms IS NULL", [client_id])


def erase(db: Db, request: Asked, at_ms: int, done_by: int) -> None:
    """Deletes everything held of a client, inside the caller's write transaction.

    Records and plans have triggers against deletion; they give way only while this client's erasure is begun and not
    done, and both happen in here. What is deleted is overwritten in the file (`secure_delete`), which the caller sets.
    """
    db.execute("PRAGMA defer_foreign_keys = ON")
    db.execute("UPDATE erasures SET begun_ms = ? WHERE id = ?", [at_ms, request.id])
    wheres = conditions(db)
    by_way = ("packs", "jobs", "saved_forms")  # found through plans, so before them
    for table in (*by_way, *(name for name in wheres if name not in by_way)):
        db.execute(f"DELETE FROM {table} WHERE {wheres[table]}", {"client": request.client_id})
    db.execute("UPDATE erasures SET done_ms = ?, done_by = ? WHERE id = ?", [at_ms, done_by, request.id])
