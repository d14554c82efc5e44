"""What a therapist answered: findings stay on her list until a row here says that she dealt with them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One finding that was dealt with; (device, seq, rule) names it."""

    client_id: int
    device: str
    seq: int
    rule: str
    note: str  # what was found out and advised
    next_step: str
    answered_ms: int
    answered_by: int
    answered_by_name: str


def of_client(db: Db, client_id: int) -> list[Answer]:
    """Reads a client's answers, the newest first."""
    found: list[dict[str, Any]] = rows(
        db, "SELECT client_id, device, seq, rule, note, next_step, answered_ms, answered_by,"
            " users.name AS answered_by_name FROM answers JOIN users ON users.id = answered_by WHERE client_id = ?"
            " ORDER BY answers.id DESC", client_id)
    return [Answer(**one) for one in found]


def add(db: Db, *, client_id: int, device: str, seq: int, rule: str, note: str, answered_ms: int,
        answered_by: int, next_step: str = "") -> bool:
    """Keeps an answer; False where that finding was answered before."""
    made = db.execute(
        "INSERT INTO answers (client_id, device, seq, rule, note, next_step, answered_ms, answered_by) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (device, seq, rule) DO NOTHING",
        [client_id, device, seq, rule, note, next_step, answered_ms, answered_by])
    return made.rowcount == 1
