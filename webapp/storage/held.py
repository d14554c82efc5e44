"""Everything that is held of one client, found by looking at the schema: a table that comes later is not forgotten."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from webapp.storage.database import Db, row, rows

# rows that name a client and stay when one is erased: who did what and when, without content
STAYS = ("audit", "erasures")
# rows that belong to a client by way of another table, and how they are found
BY_WAY: Mapping[str, str] = {
    "packs": "plan_id IN (SELECT id FROM plans WHERE client_id = :client)",
    "jobs": "subject_id IN (SELECT id FROM plans WHERE client_id = :client)",
    "saved_forms": "path LIKE '/clinic/clients/' || :client || '/%' OR path = '/clinic/clients/' || :client",
    "clients": "id = :client",
}
# what opens something: never given out, not even with everything else
SECRETS = frozenset({"device_key", "cookie_sha256", "rejoin_sha256", "token_sha256", "typed_sha256"})


def tables_with_client(db: Db) -> tuple[str, ...]:
    """Lists the tables that have a column `client_id`, but those that stay."""
    found = rows(db, "SELECT m.name FROM sqlite_master m JOIN pragma_table_info(m.name) c ON c.name = 'client_id'"
                     " WHERE m.type = 'table' ORDER BY m.name")
    return tuple(one["name"] for one in found if one["name"] not in STAYS)


def conditions(db: Db) -> dict[str, str]:
    """Gives each table that holds something of a client, with the condition that finds it."""
    return {**dict.fromkeys(tables_with_client(db), "client_id = :client"), **BY_WAY}


def count_held(db: Db, client_id: int) -> dict[str, int]:
    """Counts the rows held of a client in each table."""
    found = {}
    for table, where in conditions(db).items():
        counted = next(db.query(f"SELECT count(*) AS n FROM {table} WHERE {where}", {"client": client_id}))
        found[table] = int(counted["n"])
    return {table: n for table, n in sorted(found.items()) if n}


def read_held(db: Db, client_id: int) -> dict[str, list[dict[str, Any]]]:
    """Reads everything held of a client, table by table, without what opens something; and the trail about them."""
    found = {table: list(db.query(f"SELECT * FROM {table} WHERE {where}", {"client": client_id}))
             for table, where in sorted(conditions(db).items())}
    found["audit"] = rows(db, "SELECT * FROM audit WHERE client_id = ? ORDER BY id", client_id)
    found["measures"] = rows(db, "SELECT * FROM measures WHERE id IN (SELECT measure_id FROM readings"
                                 " WHERE client_id = ?)", client_id)
    return {table: _open(held) for table, held in found.items() if held}


def _open(held: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    return [{name: value for name, value in one.items() if name not in SECRETS} for one in held]


def pack_manifests(db: Db, client_id: int) -> tuple[list[str], list[str]]:
    """Reads the manifests of a client's packs, and those of everybody else's."""
    own = rows(db, "SELECT manifest FROM packs JOIN plans ON plans.id = plan_id WHERE client_id = ?", client_id)
    others = rows(db, "SELECT manifest FROM packs JOIN plans ON plans.id = plan_id WHERE client_id <> ?", client_id)
    return [one["manifest"] for one in own], [one["manifest"] for one in others]


def last_backup_ms(db: Db) -> int | None:
    """Reads when the last copy of the database was made: it still holds what is erased later."""
    found = row(db, "SELECT max(at_ms) AS at_ms FROM backups")
    return found["at_ms"] if found else None
