"""The audit trail: append-only rows, each bound to the one before by a hash."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, row, rows

FIRST_HASH = "0" * 64


def _row_hash(before: str, content: Mapping[str, Any]) -> str:
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256((before + text).encode()).hexdigest()


def append(db: Db, *, at_ms: int, user_id: int | None, action: str, client_id: int | None,
           detail: Mapping[str, Any]) -> None:
    """Adds one row inside the caller's write transaction."""
    last = row(db, "SELECT hash FROM audit ORDER BY id DESC LIMIT 1")
    content = {"at_ms": at_ms, "user_id": user_id, "action": action, "client_id": client_id,
               "detail": json.dumps(dict(detail), sort_keys=True, ensure_ascii=False)}
    after = _row_hash(last["hash"] if last else FIRST_HASH, content)
    db.execute("INSERT INTO audit (at_ms, user_id, action, client_id, detail, hash) VALUES (?, ?, ?, ?, ?, ?)",
               [*content.values(), after])


def first_broken(db: Db) -> int | None:
    """Finds the first row that does not follow from the one before; None when the trail is whole."""
    before = FIRST_HASH
    for found in rows(db, "SELECT * FROM audit ORDER BY id"):
        content = {name: found[name] for name in ("at_ms", "user_id", "action", "client_id", "detail")}
        if _row_hash(before, content) != found["hash"]:
            return int(found["id"])
        before = found["hash"]
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a reader of the trail asks for; empty: everything. Times are from (included) and to (left out)."""

    user_id: int | None = None
    action: str = ""
    client_id: int | None = None
    from_ms: int | None = None
    to_ms: int | None = None


_CONDITIONS = {"user_id": "audit.user_id = ?", "action": "action = ?", "client_id": "client_id = ?",
               "from_ms": "at_ms >= ?", "to_ms": "at_ms < ?"}


def page(db: Db, asked: Asked, *, most: int, after_n: int = 0) -> tuple[list[dict[str, Any]], int]:
    """Reads the rows that fit, the newest first, and counts them all; names and codes stand beside the numbers."""
    wanted = [(text, getattr(asked, name)) for name, text in _CONDITIONS.items() if getattr(asked, name)]
    where = " AND ".join(text for text, _value in wanted) or "1"
    values = [value for _text, value in wanted]
    found = rows(db, "SELECT audit.*, users.name AS user_name, clients.code AS client_code FROM audit "
                     "LEFT JOIN users ON users.id = audit.user_id LEFT JOIN clients ON clients.id = audit.client_id "
                     f"WHERE {where} ORDER BY audit.id DESC LIMIT ? OFFSET ?", *values, most, after_n)
    counted = row(db, f"SELECT count(*) AS n FROM audit WHERE {where}", *values)
    return found, int(counted["n"]) if counted else 0


def actions(db: Db) -> list[str]:
    """Lists every action that the trail holds."""
    return [str(found["action"]) for found in rows(db, "SELECT DISTINCT action FROM audit ORDER BY action")]


def newest(db: Db, most: int = 200) -> list[dict[str, Any]]:
    return rows(db, "SELECT * FROM audit ORDER BY id DESC LIMIT ?", most)


def devices_with(db: Db, action: str, client_id: int) -> frozenset[str]:
    """Finds a client's devices that an action was noted of."""
    found = rows(db, "SELECT detail FROM audit WHERE action = ? AND client_id = ?", action, client_id)
    return frozenset(str(json.loads(one["detail"]).get("device", "")) for one in found)
