"""The clinic's stimulators, each in its own words: a wattlebird.stimulator/1 object."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, row, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredStimulator:
    """One stimulator; `description` is the JSON object as it was written."""

    id: int
    name: str
    description: dict[str, Any]
    created_ms: int
    changed_ms: int
    archived_ms: int | None


def _stimulator(found: dict[str, Any]) -> StoredStimulator:
    return StoredStimulator(**{**found, "description": json.loads(found["description"])})


def read(db: Db, stimulator_id: int) -> StoredStimulator | None:
    found = row(db, "SELECT * FROM stimulators WHERE id = ?", stimulator_id)
    return _stimulator(found) if found else None


def list_active(db: Db) -> list[StoredStimulator]:
    found = rows(db, "SELECT * FROM stimulators WHERE archived_ms IS NULL ORDER BY name, id")
    return [_stimulator(one) for one in found]


def list_archived(db: Db) -> list[StoredStimulator]:
    found = rows(db, "SELECT * FROM stimulators WHERE archived_ms IS NOT NULL ORDER BY name, id")
    return [_stimulator(one) for one in found]


def add(db: Db, description: dict[str, Any], now_ms: int) -> int:
    cursor = db.execute("INSERT INTO stimulators (name, description, created_ms, changed_ms) VALUES (?, ?, ?, ?)",
                        [description["name"], json.dumps(description, ensure_ascii=False), now_ms, now_ms])
    return int(cursor.lastrowid or 0)


def change(db: Db, stimulator_id: int, description: dict[str, Any], now_ms: int) -> None:
    """Writes a new description; issued plans hold the one that they were issued with."""
    db.execute("UPDATE stimulators SET name = ?, description = ?, changed_ms = ? WHERE id = ?",
               [description["name"], json.dumps(description, ensure_ascii=False), now_ms, stimulator_id])


def archive(db: Db, stimulator_id: int, at_ms: int) -> None:
    db.execute("UPDATE stimulators SET archived_ms = ? WHERE id = ? AND archived_ms IS NULL", [at_ms, stimulator_id])


def take_back(db: Db, stimulator_id: int) -> None:
    db.execute("UPDATE stimulators SET archived_ms = NULL WHERE id = ?", [stimulator_id])
