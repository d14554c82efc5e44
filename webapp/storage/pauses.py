"""Days off that a client and a therapist agreed on: nobody expects a session on them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from webapp.practice.schedule import DaysOff, days_from
from webapp.storage.database import Db, row, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause:
    """Days off, both named days included; `reason` is holiday, illness or other."""

    id: int
    first_day: date
    last_day: date
    reason: str
    made_by_name: str


def of_client(db: Db, client_id: int) -> list[Pause]:
    """Lists a client's days off that were not taken back, the newest first."""
    found = rows(db, "SELECT pauses.id, first_day, last_day, reason, users.name AS made_by_name FROM pauses "
                     "JOIN users ON users.id = made_by WHERE client_id = ? AND removed_ms IS NULL "
                     "ORDER BY first_day DESC, pauses.id DESC", client_id)  # fmt: skip
    return [Pause(**{**one, "first_day": date.fromisoformat(one["first_day"]),
                     "last_day": date.fromisoformat(one["last_day"])}) for one in found]


def days(db: Db, client_id: int) -> frozenset[date]:
    """Gives every day of a client's days off."""
    return frozenset(day for pause in of_client(db, client_id) for day in _days_of(pause))


def _days_of(pause: Pause) -> Iterable[date]:
    return days_from(pause.first_day, pause.last_day)


def off(db: Db, client_id: int) -> DaysOff:
    """Gives a client's days off as a pack takes them in."""
    counted = row(db, "SELECT count(*) + count(removed_ms) AS n FROM pauses WHERE client_id = ?", client_id)
    ill = frozenset(day for pause in of_client(db, client_id) if pause.reason == "illness" for day in _days_of(pause))
    return DaysOff(days=days(db, client_id), illness=ill, changed_n=int(counted["n"]) if counted else 0)


def add(db: Db, client_id: int, first_day: date, last_day: date, reason: str, *, user_id: int, now_ms: int) -> None:
    """Notes days off; the client's place in the caseload is worked out anew."""
    db.execute("INSERT INTO pauses (client_id, first_day, last_day, reason, made_ms, made_by) "
               "VALUES (?, ?, ?, ?, ?, ?)",
               [client_id, first_day.isoformat(), last_day.isoformat(), reason, now_ms, user_id])
    _place_is_old(db, client_id)


def take_back(db: Db, client_id: int, id_: int, now_ms: int) -> None:
    """Takes days off back; they stay in the database."""
    db.execute("UPDATE pauses SET removed_ms = ? WHERE id = ? AND client_id = ? AND removed_ms IS NULL",
               [now_ms, id_, client_id])
    _place_is_old(db, client_id)


def _place_is_old(db: Db, client_id: int) -> None:
    db.execute("UPDATE caseload_rows SET stale = 1 WHERE client_id = ?", [client_id])
