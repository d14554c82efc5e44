"""The clinic's clients: a code and a first name, which hand works, and what was given besides."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields
from typing import Any

from webapp.storage.database import Db, row, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientDetails:
    """What may be told of a client beyond code, name, side and language; empty texts were not given."""

    phone: str = ""
    helper_name: str = ""
    helper_phone: str = ""
    notes: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Client:
    """One client; `archived_ms` is None while they are in the caseload."""

    id: int
    code: str
    first_name: str
    working_side: str
    language: str
    details: ClientDetails
    therapist_id: int | None
    created_ms: int
    archived_ms: int | None


def client_of(found: dict[str, Any]) -> Client:
    """Makes a client of a row of the table."""
    told = json.loads(found["details"])
    known = {field.name for field in fields(ClientDetails)}
    details = ClientDetails(**{name: str(value) for name, value in told.items() if name in known})
    return Client(**{**found, "details": details})


def _details_text(details: ClientDetails) -> str:
    return json.dumps(asdict(details), ensure_ascii=False)


def read(db: Db, client_id: int) -> Client | None:
    found = row(db, "SELECT * FROM clients WHERE id = ?", client_id)
    return client_of(found) if found else None


def read_by_code(db: Db, code: str) -> Client | None:
    found = row(db, "SELECT * FROM clients WHERE code = ?", code)
    return client_of(found) if found else None


def list_active(db: Db) -> list[Client]:
    return [client_of(found) for found in rows(db, "SELECT * FROM clients WHERE archived_ms IS NULL ORDER BY code")]


def list_archived(db: Db) -> list[Client]:
    return [client_of(found) for found in rows(db, "SELECT * FROM clients WHERE archived_ms IS NOT NULL ORDER BY code")]


def add(db: Db, *, code: str, first_name: str, working_side: str, language: str, details: ClientDetails,
        therapist_id: int | None, created_ms: int) -> int:
    cursor = db.execute(  # the number of a client who was erased is never given again: the trail still names it
        "INSERT INTO clients (id, code, first_name, working_side, language, details, therapist_id, created_ms) "
        "VALUES (1 + max((SELECT coalesce(max(id), 0) FROM clients), (SELECT coalesce(max(client_id), 0) FROM erasures "
        "WHERE begun_ms IS NOT NULL)), ?, ?, ?, ?, ?, ?, ?)",
        [code, first_name, working_side, language, _details_text(details), therapist_id, created_ms])
    return int(cursor.lastrowid or 0)


def change(db: Db, client_id: int, *, code: str, first_name: str, working_side: str, language: str,
           details: ClientDetails, therapist_id: int | None) -> None:
    db.execute("UPDATE clients SET code = ?, first_name = ?, working_side = ?, language = ?, details = ?, "
               "therapist_id = ? WHERE id = ?",
               [code, first_name, working_side, language, _details_text(details), therapist_id, client_id])


def archive(db: Db, client_id: int, at_ms: int) -> None:
    db.execute("UPDATE clients SET archived_ms = ? WHERE id = ? AND archived_ms IS NULL", [at_ms, client_id])


def take_back(db: Db, client_id: int) -> None:
    db.execute("UPDATE clients SET archived_ms = NULL WHERE id = ?", [client_id])
