"""What therapists recorded for their clients' cues: levelled WAV files, named by the hash that a plan says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, row, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """One recording of a client's plan; `said` is what was to be said when it was made."""

    sha256: str
    said: str
    dur_ms: int


def _recording(found: Mapping[str, Any]) -> Recording:
    return Recording(sha256=found["sha256"], said=found["said"], dur_ms=found["dur_ms"])


def add(
    db: Db, client_id: int, recording: Recording, wav: bytes, *, user_id: int, now_ms: int
) -> None:
    """Keeps a recording; the same one again only says what it was made for now."""
    db.execute(
        "INSERT OR REPLACE INTO recordings (client_id, sha256, said, wav, dur_ms, made_ms, made_by) "
        "VALUES (?, ?, ?, ?, ?, ?, ?)",
        [client_id, recording.sha256, recording.said, wav, recording.dur_ms, now_ms, user_id])


def of_client(db: Db, client_id: int) -> dict[str, Recording]:
    """Lists a client's recordings by their hash, without the sound."""
    found = rows(db, "SELECT sha256, said, dur_ms FROM recordings WHERE client_id = ?", client_id)
    return {one["sha256"]: _recording(one) for one in found}


def wav(db: Db, client_id: int, sha256: str) -> bytes | None:
    """Reads the sound of a recording."""
    found = row(db, "SELECT wav FROM recordings WHERE client_id = ? AND sha256 = ?", client_id, sha256)
    return bytes(found["wav"]) if found else None


def forget_unissued(db: Db, client_id: int, sha256: str | None = None) -> int:
    """Deletes one recording, or all, that no issued plan plays; tells how many went."""
    gone = db.execute(
        "DELETE FROM recordings WHERE client_id = ? AND (? IS NULL OR sha256 = ?) AND NOT EXISTS ("
        "SELECT 1 FROM plans WHERE plans.client_id = recordings.client_id AND instr(plans.issued, recordings.sha256))",
        [client_id, sha256, sha256])
    return int(gone.rowcount)
