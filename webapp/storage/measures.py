"""The clinic's own measures, and the readings of its clients."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from webapp.practice.measures import Measure, Reading
from webapp.storage.database import Db, row, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class NotedReading:
    """One reading as it was noted."""

    id: int
    reading: Reading
    noted_by_name: str


def _measure(found: Mapping[str, Any]) -> Measure:
    return Measure(number=found["id"], name=found["name"], unit=found["unit"], direction=found["direction"],
                   smallest_change=found["smallest_change"], source=found["source"])


def list_all(db: Db) -> list[Measure]:
    """Reads every measure, archived ones too: a reading names it for ever."""
    return [_measure(found) for found in rows(db, "SELECT * FROM measures ORDER BY name, id")]


def list_active(db: Db) -> list[Measure]:
    """Reads the measures that are in use."""
    return [_measure(found) for found in rows(db, "SELECT * FROM measures WHERE archived_ms IS NULL ORDER BY name, id")]


def read(db: Db, number: int) -> Measure | None:
    found = row(db, "SELECT * FROM measures WHERE id = ?", number)
    return _measure(found) if found else None


def add(db: Db, measure: Measure, made_ms: int) -> int:
    """Keeps a new measure and gives its number."""
    made = db.execute(
        "INSERT INTO measures (name, unit, direction, smallest_change, source, made_ms) VALUES (?, ?, ?, ?, ?, ?)",
        [measure.name, measure.unit, measure.direction, measure.smallest_change, measure.source, made_ms])
    return int(made.lastrowid or 0)


def change(db: Db, measure: Measure) -> None:
    """Replaces what a measure says."""
    db.execute("UPDATE measures SET name = ?, unit = ?, direction = ?, smallest_change = ?, source = ? WHERE id = ?",
               [measure.name, measure.unit, measure.direction, measure.smallest_change, measure.source,
                measure.number])


def archive(db: Db, number: int, at_ms: int | None) -> None:
    """Takes a measure out of use, or back into it."""
    db.execute("UPDATE measures SET archived_ms = ? WHERE id = ?", [at_ms, number])


def has_readings(db: Db, number: int) -> bool:
    """Tells whether anything was ever measured with it: then its unit and direction stay."""
    return row(db, "SELECT 1 FROM readings WHERE measure_id = ?", number) is not None


def readings(db: Db, client_id: int) -> list[NotedReading]:
    """Reads a client's readings in the order in which they were noted."""
    found = rows(db, "SELECT readings.*, users.name AS noted_by_name FROM readings JOIN users ON users.id = noted_by"
                     " WHERE client_id = ? AND withdrawn_ms IS NULL ORDER BY readings.id", client_id)
    return [NotedReading(id=one["id"], noted_by_name=one["noted_by_name"],
                         reading=Reading(measure=one["measure_id"], day=date.fromisoformat(one["day"]),
                                         value=one["value"], note=one["note"])) for one in found]


def add_reading(db: Db, client_id: int, reading: Reading, *, noted_ms: int, noted_by: int) -> None:
    """Keeps a reading."""
    db.execute("INSERT INTO readings (client_id, measure_id, day, value, note, noted_ms, noted_by)"
               " VALUES (?, ?, ?, ?, ?, ?, ?)",
               [client_id, reading.measure, reading.day.isoformat(), reading.value, reading.note, noted_ms, noted_by])


def withdraw_reading(db: Db, client_id: int, reading_id: int, at_ms: int) -> None:
    """Takes out what was noted wrongly; the row stays."""
    db.execute("UPDATE readings SET withdrawn_ms = coalesce(withdrawn_ms, ?) WHERE client_id = ? AND id = ?",
               [at_ms, client_id, reading_id])
