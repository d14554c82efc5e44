"""Rests that a therapist ended: a phone may practise again through a number of its log."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.storage.database import Db, row, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class RestEnded:
    """One rest that is over, with who said so and when."""

    device: str
    through: int
    ended_ms: int
    ended_by: int
    ended_by_name: str


def of_client(db: Db, client_id: int) -> list[RestEnded]:
    """Reads a client's rests that were ended, the newest first."""
    return [RestEnded(**one) for one in rows(
        db, "SELECT device, through, ended_ms, ended_by, users.name AS ended_by_name FROM rests_ended"
            " JOIN users ON users.id = ended_by WHERE client_id = ? ORDER BY rests_ended.id DESC", client_id)]


def ended_through(db: Db, device: str) -> int:
    """Reads the number through which a phone's rests are over; 0 where none was ended."""
    found = row(db, "SELECT coalesce(max(through), 0) AS n FROM rests_ended WHERE device = ?", device)
    return int(found["n"]) if found else 0


def ended_of_client(db: Db, client_id: int) -> dict[str, int]:
    """Reads of each phone of a client the number through which its rests are over."""
    return {one["device"]: int(one["through"]) for one in rows(
        db, "SELECT device, max(through) AS through FROM rests_ended WHERE client_id = ? GROUP BY device", client_id)}


def end(db: Db, *, client_id: int, device: str, through: int, ended_ms: int, ended_by: int) -> bool:
    """Ends a phone's rests through a number; False where somebody had done so."""
    made = db.execute(
        "INSERT INTO rests_ended (client_id, device, through, ended_ms, ended_by) VALUES (?, ?, ?, ?, ?)"
        " ON CONFLICT (device, through) DO NOTHING", [client_id, device, through, ended_ms, ended_by])
    return made.rowcount == 1
