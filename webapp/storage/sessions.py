"""Server-side sign-in sessions, and the waits after wrong passwords. Only hashes of ids and names are kept."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from webapp.storage.database import Db, row

DAY_MS = 86_400_000
FIRST_WAIT_MS = 1_000
LONGEST_WAIT_MS = 900_000  # the owner of an account is never kept out longer than a quarter of an hour


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredSession:
    """One row: it may have ended, then it still tells whose it was."""

    id_sha256: str
    user_id: int | None
    content: str
    created_ms: int
    seen_ms: int
    ends_ms: int


def id_hash(session_id: str) -> str:
    return hashlib.sha256(session_id.encode()).hexdigest()


def read(db: Db, session_id: str) -> StoredSession | None:
    found = row(db, "SELECT * FROM sessions WHERE id_sha256 = ?", id_hash(session_id))
    return StoredSession(**found) if found else None


def add(db: Db, session_id: str, *, user_id: int | None, content: str, created_ms: int, ends_ms: int) -> None:
    db.execute("INSERT INTO sessions VALUES (?, ?, ?, ?, ?, ?)",
               [id_hash(session_id), user_id, content, created_ms, created_ms, ends_ms])


def change(db: Db, session_id: str, *, user_id: int | None, content: str, seen_ms: int) -> None:
    """Writes what a session holds; one that was ended meanwhile stays ended."""
    db.execute("UPDATE sessions SET user_id = ?, content = ?, seen_ms = ? WHERE id_sha256 = ? AND ends_ms > ?",
               [user_id, content, seen_ms, id_hash(session_id), seen_ms])


def end(db: Db, session_id: str, now_ms: int) -> None:
    """Ends one session at once; its row stays a day, empty, so that a form sent too late finds its owner."""
    db.execute("UPDATE sessions SET content = '{}', ends_ms = ? WHERE id_sha256 = ?", [now_ms, id_hash(session_id)])


def end_of_user(db: Db, user_id: int, now_ms: int, but_not: str = "") -> None:
    """Ends all sessions of a person at once (password changed, account disabled)."""
    db.execute("UPDATE sessions SET content = '{}', ends_ms = ? WHERE user_id = ? AND ends_ms > ? AND id_sha256 <> ?",
               [now_ms, user_id, now_ms, id_hash(but_not)])


def forget_old(db: Db, now_ms: int) -> None:
    """Removes what ended more than a day ago: sessions and waits."""
    db.execute("DELETE FROM sessions WHERE ends_ms < ? OR (user_id IS NULL AND seen_ms < ?)", [now_ms - DAY_MS] * 2)
    db.execute("DELETE FROM sign_in_failures WHERE wait_until_ms < ?", [now_ms - DAY_MS])


def _who_hash(who: str) -> str:
    # a password typed into the name field must not be readable in the database
    return hashlib.sha256(who.casefold().encode()).hexdigest()


def wait_ms(db: Db, who: str, now_ms: int) -> int:
    """Tells how long this account or address has to wait before its next try."""
    found = row(db, "SELECT wait_until_ms FROM sign_in_failures WHERE who = ?", _who_hash(who))
    return max(0, int(found["wait_until_ms"]) - now_ms) if found else 0


def count_try(db: Db, who: str, now_ms: int, free_tries: int = 0) -> None:
    """Counts a try before it is judged, so that many at once count too; the wait doubles with each."""
    found = row(db, "SELECT failures FROM sign_in_failures WHERE who = ?", _who_hash(who))
    failures = (int(found["failures"]) if found else 0) + 1
    doublings = min(failures - 1 - free_tries, 10)
    wait = min(FIRST_WAIT_MS << doublings, LONGEST_WAIT_MS) if doublings >= 0 else 0
    db.execute("INSERT OR REPLACE INTO sign_in_failures VALUES (?, ?, ?)", [_who_hash(who), failures, now_ms + wait])


def clear_tries(db: Db, who: str) -> None:
    db.execute("DELETE FROM sign_in_failures WHERE who = ?", [_who_hash(who)])
