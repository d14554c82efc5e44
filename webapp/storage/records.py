"""What the phones recorded: append-only, the bytes as they came."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from webapp.storage.database import Db, row, rows

Road = Literal["sync", "code", "file", "paper"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredRecord:
    """One record as it came; `aside`: its place was taken by other content; `late`: its phone had been withdrawn."""

    id: int
    device: str
    client_id: int
    seq: int
    kind: str
    at_min: int
    utc_q: int
    content: bytes
    content_sha256: bytes
    road: Road
    store: str
    received_ms: int
    aside: bool
    late: bool


def _record(found: Mapping[str, Any]) -> StoredRecord:
    return StoredRecord(**{**found, "aside": found["aside"] == 1, "late": found["late"] == 1})


def of_client(db: Db, client_id: int) -> list[StoredRecord]:
    """Reads a client's records in the order in which they were made, set-aside ones included."""
    return [_record(found) for found in rows(
        db, "SELECT * FROM records WHERE client_id = ? ORDER BY at_min - utc_q * 15, device, seq, aside, id",
        client_id)]


def of_client_needed(db: Db, client_id: int, at_min: int, ids: Iterable[int], after_id: int,
                     too_early_min: int) -> list[StoredRecord]:
    """Reads a client's records from a local minute on, those named, and those that came after one, in the same order.

    A correction brings the record that it corrects. Sessions from before `too_early_min` are of a phone whose clock was
    wrong: they are counted as such, whatever days are looked at.
    """
    return [_record(found) for found in rows(db, """
        WITH needed AS (
          SELECT id FROM records WHERE client_id = ?1 AND at_min >= ?2
          UNION SELECT value FROM json_each(?3)
          UNION SELECT id FROM records WHERE client_id = ?1 AND id > ?4
          UNION SELECT id FROM records WHERE client_id = ?1 AND at_min < ?5 AND kind = 'session')
        SELECT * FROM records WHERE id IN (
          SELECT id FROM needed
          UNION SELECT other.id FROM needed JOIN records AS fix ON fix.id = needed.id AND fix.kind = 'correction'
            JOIN records AS other ON other.device = fix.device AND other.aside = 0
              AND other.seq = CASE WHEN json_valid(CAST(fix.content AS TEXT))
                THEN json_extract(CAST(fix.content AS TEXT), '$.corrects_seq') END)
        ORDER BY at_min - utc_q * 15, device, seq, aside, id""",
        client_id, at_min, json.dumps(sorted(ids)), after_id, too_early_min)]


def newest_session_min(db: Db, client_id: int) -> int | None:
    """Reads the local minute of a client's last session that is neither aside nor late."""
    found = row(db, "SELECT at_min FROM records WHERE client_id = ? AND kind = 'session' AND aside = 0 AND late = 0"
                    " ORDER BY at_min DESC LIMIT 1", client_id)
    return int(found["at_min"]) if found else None


def of_device(db: Db, device: str) -> list[StoredRecord]:
    """Reads a device's records by number, the main one of each number first."""
    return [_record(found) for found in rows(
        db, "SELECT * FROM records WHERE device = ? ORDER BY seq, aside, id", device)]


def already(db: Db, device: str, seq: int, content_sha256: bytes) -> bool:
    """Tells whether this very content is stored."""
    return row(db, "SELECT 1 FROM records WHERE device = ? AND seq = ? AND content_sha256 = ?", device, seq,
               content_sha256) is not None


def hash_like(db: Db, device: str, seq: int, begins: str) -> bytes | None:
    """Finds the hash of a content stored at a number, main or set aside, by how it begins; None where there is none."""
    found = rows(db, "SELECT content_sha256 FROM records WHERE device = ? AND seq = ?", device, seq)
    return next((bytes(one["content_sha256"]) for one in found if one["content_sha256"].hex().startswith(begins)), None)


def taken(db: Db, device: str, seq: int) -> bool:
    """Tells whether a number of a device has its record."""
    return row(db, "SELECT 1 FROM records WHERE device = ? AND seq = ? AND aside = 0", device, seq) is not None


def add(db: Db, values: Mapping[str, object]) -> None:
    """Keeps one record; the columns of the table but `id`."""
    names = ("device", "client_id", "seq", "kind", "at_min", "utc_q", "content", "content_sha256", "road", "store",
             "received_ms", "aside", "late")
    db.execute(f"INSERT INTO records ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})",
               [values[name] for name in names])


def hashes(db: Db, device: str, store: str) -> dict[int, bytes]:
    """Reads the content hash at each number as one sender knows it: its own set-aside record, else the main one."""
    found = rows(db, "SELECT seq, content_sha256 FROM records WHERE device = ? AND (aside = 0 OR store = ?)"
                     " ORDER BY seq, aside, id", device, store)
    return {one["seq"]: one["content_sha256"] for one in found}


def newest_of_kind(db: Db, device: str, kind: str) -> bytes | None:
    """Reads the content of a device's last record of a kind."""
    found = row(db, "SELECT content FROM records WHERE device = ? AND kind = ? AND aside = 0 ORDER BY seq DESC LIMIT 1",
                device, kind)
    return bytes(found["content"]) if found else None


def highest(db: Db, device: str) -> int:
    """Reads the highest number stored of a device; 0 where there is none."""
    found = row(db, "SELECT coalesce(max(seq), 0) AS seq FROM records WHERE device = ?", device)
    return int(found["seq"]) if found else 0


def count_by_device(db: Db, client_id: int) -> dict[str, int]:
    """Counts the records that each of a client's phones brought home."""
    found = rows(db, "SELECT device, count(*) AS n FROM records WHERE device IN (SELECT device FROM devices"
                     " WHERE client_id = ?) GROUP BY device", client_id)  # by an index alone
    return {one["device"]: int(one["n"]) for one in found}


def numbers(db: Db, device: str) -> list[int]:
    """Lists the numbers of a device that have their record."""
    return [int(one["seq"]) for one in rows(db, "SELECT seq FROM records WHERE device = ? AND aside = 0", device)]


def gaps(db: Db, device: str) -> tuple[tuple[int, int], ...]:
    """Lists the numbers (first, last) of a device that lack; most often none does, which counting tells."""
    found = row(db, "SELECT count(*) AS n, max(seq) AS most FROM records WHERE device = ? AND aside = 0", device)
    return missing_numbers(numbers(db, device)) if found and found["n"] != (found["most"] or 0) else ()


def missing_numbers(present: Iterable[int]) -> tuple[tuple[int, int], ...]:
    """Lists the gaps (first, last) below the highest of some numbers that count from 1."""
    gaps, expected = [], 1
    for number in sorted(present):
        if number > expected:
            gaps.append((expected, number - 1))
        expected = number + 1
    return tuple(gaps)


def store_epoch(db: Db) -> str:
    """Reads the epoch of this store: new after a restore, so that phones offer what the backup lacks."""
    found = row(db, "SELECT store_epoch FROM clinic WHERE id = 1")
    return str(found["store_epoch"]) if found else ""
