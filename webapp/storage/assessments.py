"""What a therapist found out and decided about a client: append-only, each row dated and signed."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, row, rows

SCREENING_DAYS = 180  # common practice, no source; each clinic sets its own


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """One answer, mark or decision: of a kind (screening, override, teach_back, ready), about a subject."""

    id: int
    client_id: int
    kind: str
    subject: str
    content: Mapping[str, Any]
    made_ms: int
    made_by: int
    made_by_name: str


_READ = "SELECT assessments.*, users.name AS made_by_name FROM assessments JOIN users ON users.id = made_by"


def _assessment(found: Mapping[str, Any]) -> Assessment:
    return Assessment(**{**found, "content": json.loads(found["content"])})


def add(db: Db, *, client_id: int, kind: str, subject: str, content: Mapping[str, Any], made_ms: int,
        made_by: int) -> int:
    """Keeps an assessment and returns its number; what was there before stays."""
    text = json.dumps(dict(content), ensure_ascii=False, sort_keys=True)
    db.execute("UPDATE caseload_rows SET stale = 1 WHERE client_id = ?", [client_id])
    made = db.execute(
        "INSERT INTO assessments (client_id, kind, subject, content, made_ms, made_by) VALUES (?, ?, ?, ?, ?, ?)",
        [client_id, kind, subject, text, made_ms, made_by])
    return int(made.lastrowid or 0)


def newest(db: Db, client_id: int, kind: str) -> dict[str, Assessment]:
    """Reads the newest of a kind for each subject."""
    return {one.subject: one for one in reversed(of_client(db, client_id, kind))}


def of_client(db: Db, client_id: int, kind: str) -> list[Assessment]:
    """Reads every one of a kind, the newest first."""
    found = rows(db, f"{_READ} WHERE client_id = ? AND kind = ? ORDER BY assessments.id DESC", client_id, kind)
    return [_assessment(one) for one in found]


def of_kinds(db: Db, client_id: int, kinds: Iterable[str]) -> list[Assessment]:
    """Reads every one of some kinds, the oldest first."""
    found = rows(db, f"{_READ} WHERE client_id = ? AND kind IN (SELECT value FROM json_each(?))"
                     " ORDER BY assessments.id", client_id, json.dumps(list(kinds)))
    return [_assessment(one) for one in found]


def screening_days(db: Db) -> int:
    """Tells after how many days this clinic asks its screening again."""
    found = row(db, "SELECT json_extract(details, '$.screening_days') AS told FROM clinic WHERE id = 1")
    return int(found["told"]) if found and found["told"] else SCREENING_DAYS


def set_screening_days(db: Db, days: int) -> None:
    db.execute("UPDATE clinic SET details = json_set(details, '$.screening_days', ?) WHERE id = 1", [days])
