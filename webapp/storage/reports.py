"""The reports that were made of a client: what was chosen, and what was said, as it left the house."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, row, rows

SELECTED = ("SELECT reports.*, users.name AS made_by_name FROM reports JOIN users ON users.id = made_by"
            " WHERE client_id = ?")


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredReport:
    """One report; `content` is its canonical JSON, `chosen` the form that it was made from."""

    id: int
    client_id: int
    chosen: Mapping[str, Any]
    content: str
    made_ms: int
    made_by: int
    made_by_name: str


def _report(found: Mapping[str, Any]) -> StoredReport:
    return StoredReport(**{**found, "chosen": json.loads(found["chosen"])})


def of_client(db: Db, client_id: int) -> list[StoredReport]:
    """Reads a client's reports, the newest first."""
    return [_report(found) for found in rows(db, f"{SELECTED} ORDER BY reports.id DESC", client_id)]


def read(db: Db, client_id: int, report_id: int) -> StoredReport | None:
    found = row(db, f"{SELECTED} AND reports.id = ?", client_id, report_id)
    return _report(found) if found else None


def add(db: Db, *, client_id: int, chosen: Mapping[str, Any], content: str, made_ms: int, made_by: int) -> int:
    """Keeps a report and gives its number."""
    made = db.execute("INSERT INTO reports (client_id, chosen, content, made_ms, made_by) VALUES (?, ?, ?, ?, ?)",
                      [client_id, json.dumps(chosen, ensure_ascii=False, sort_keys=True), content, made_ms, made_by])
    return int(made.lastrowid or 0)
