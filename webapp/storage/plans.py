"""Issued plans: every version that a client was ever given, never changed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, row, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """One issued version; `issued` is `wattlebird.issued/1` as a plain object."""

    id: int
    client_id: int
    version: int
    issued: Mapping[str, Any]
    note: str
    issued_ms: int
    issued_by: int


def _plan(found: Mapping[str, Any]) -> Plan:
    return Plan(
        id=found["id"],
        client_id=found["client_id"],
        version=found["version"],
        issued=json.loads(found["issued"]),
        note=found["note"],
        issued_ms=found["issued_ms"],
        issued_by=found["issued_by"],
    )


def read(db: Db, plan_id: int) -> Plan | None:
    """Reads a plan by its number."""
    found = row(db, "SELECT * FROM plans WHERE id = ?", plan_id)
    return _plan(found) if found else None


def read_version(db: Db, client_id: int, version: int) -> Plan | None:
    """Reads one version of a client's plan."""
    found = row(db, "SELECT * FROM plans WHERE client_id = ? AND version = ?", client_id, version)
    return _plan(found) if found else None


def newest(db: Db, client_id: int) -> Plan | None:
    """Reads the version that a client has now."""
    found = row(db, "SELECT * FROM plans WHERE client_id = ? ORDER BY version DESC LIMIT 1", client_id)
    return _plan(found) if found else None


def history(db: Db, client_id: int) -> list[Plan]:
    """Reads every version of a client's plan, the newest first."""
    return [
        _plan(found) for found in rows(db, "SELECT * FROM plans WHERE client_id = ? ORDER BY version DESC", client_id)
    ]


def live(db: Db, today: str) -> list[Plan]:
    """Reads the newest version of each client in care whose last day has not passed."""
    found = rows(
        db,
        "SELECT plans.* FROM plans JOIN clients ON clients.id = plans.client_id WHERE clients.archived_ms IS NULL"
        " AND plans.version = (SELECT max(version) FROM plans AS p WHERE p.client_id = plans.client_id)"
        " AND json_extract(plans.issued, '$.last_day') >= ? ORDER BY plans.id",
        today,
    )
    return [_plan(each) for each in found]


def next_version(db: Db, client_id: int) -> int:
    """Tells which number the next version gets."""
    found = row(db, "SELECT coalesce(max(version), 0) + 1 AS n FROM plans WHERE client_id = ?", client_id)
    return int(str(found["n"])) if found else 1


def insert(db: Db, *, client_id: int, version: int, issued: str, note: str, user_id: int, now_ms: int) -> int:
    """Adds a version (`issued`: its canonical JSON) and returns its number."""
    made = db.execute(
        "INSERT INTO plans (client_id, version, issued, note, issued_ms, issued_by) VALUES (?, ?, ?, ?, ?, ?)",
        [client_id, version, issued, note, now_ms, user_id],
    )
    return int(made.lastrowid or 0)
