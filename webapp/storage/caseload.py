"""Each client's place in the caseload, as worked out; a trigger marks a row stale when what it rests on changes."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from webapp.storage.clients import Client, client_of
from webapp.storage.database import Db, row, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """What was worked out of a client for one day of the clinic.

    `content` is plain values for the page; `lasting` are ids of records that matter however old, among those up to the
    id `seen_record`.
    """

    client_id: int
    day: str
    rank: int
    reasons_n: int
    waits: bool
    content: dict[str, Any]
    lasting: frozenset[int]
    seen_record: int
    stale: bool = False


def read(db: Db, client_id: int) -> Place | None:
    """Reads a client's place, stale or not."""
    found = row(db, "SELECT * FROM caseload_rows WHERE client_id = ?", client_id)
    return _place(found) if found else None


def _place(found: dict[str, Any]) -> Place:
    return Place(**{**found, "waits": found["waits"] == 1, "stale": found["stale"] == 1,
                    "content": json.loads(found["content"]), "lasting": frozenset(json.loads(found["lasting"]))})


def keep(db: Db, place: Place) -> None:
    """Keeps a client's place, in the transaction of what it was worked out from."""
    db.execute("INSERT OR REPLACE INTO caseload_rows (client_id, day, rank, reasons_n, waits, content, lasting,"
               " seen_record, stale) VALUES (?, ?, ?, ?, ?, ?, ?, ?, 0)",
               [place.client_id, place.day, place.rank, place.reasons_n, int(place.waits),
                json.dumps(place.content, ensure_ascii=False), json.dumps(sorted(place.lasting)), place.seen_record])


_ACTIVE = "clients.archived_ms IS NULL AND (?1 IS NULL OR clients.therapist_id = ?1)"


def outdated(db: Db, therapist_id: int | None, day: str, most: int = -1) -> list[Client]:
    """Lists the clients (of one therapist, or all) whose place was not worked out for this day, or is stale."""
    return [client_of(found) for found in rows(
        db, f"SELECT clients.* FROM clients LEFT JOIN caseload_rows AS r ON r.client_id = clients.id WHERE {_ACTIVE}"
            " AND (r.client_id IS NULL OR r.stale = 1 OR r.day <> ?2"
            # worked out by a release that did not count what was cut short
            " OR json_array_length(r.content, '$.done') < 3) LIMIT ?3", therapist_id, day, most)]


def page(db: Db, therapist_id: int | None, most: int, skip: int) -> list[tuple[Client, Place]]:
    """Reads one page of the caseload, those who need somebody first."""
    found = rows(db, f"SELECT clients.* FROM clients JOIN caseload_rows AS r ON r.client_id = clients.id"
                     f" WHERE {_ACTIVE} ORDER BY r.rank, r.reasons_n DESC, clients.code LIMIT ?2 OFFSET ?3",
                 therapist_id, most, skip)
    clients = [client_of(one) for one in found]
    places = _places(db, [client.id for client in clients])
    return [(client, places[client.id]) for client in clients]


def _places(db: Db, ids: Iterable[int]) -> dict[int, Place]:
    found = rows(db, "SELECT * FROM caseload_rows WHERE client_id IN (SELECT value FROM json_each(?))",
                 json.dumps(list(ids)))
    return {one["client_id"]: _place(one) for one in found}


def counts(db: Db, therapist_id: int | None) -> tuple[int, int]:
    """Counts the clients in care, and those among them who need an answer."""
    found = row(db, "SELECT count(*) AS n, coalesce(sum(r.waits), 0) AS waits FROM clients"
                    f" LEFT JOIN caseload_rows AS r ON r.client_id = clients.id WHERE {_ACTIVE}", therapist_id)
    return (int(found["n"]), int(found["waits"])) if found else (0, 0)
