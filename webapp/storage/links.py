"""Links by which a client's phone gets in; only hashes of their secrets are kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, row, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One link: who made it, until when it works and for how many more phones."""

    id: int
    client_id: int
    made_ms: int
    made_by: int
    ends_ms: int
    uses_left: int
    withdrawn_ms: int | None

    def works(self, now_ms: int) -> bool:
        """Tells whether a phone can still get in by it."""
        return self.withdrawn_ms is None and self.uses_left > 0 and now_ms < self.ends_ms


def _link(found: Mapping[str, Any] | None) -> Link | None:
    return Link(**{name: found[name] for name in Link.__slots__}) if found else None


def insert(
    db: Db, *, client_id: int, token_sha256: str, typed_sha256: str, user_id: int, now_ms: int, ends_ms: int, uses: int
) -> int:
    """Adds a link and returns its number."""
    made = db.execute(
        "INSERT INTO links (client_id, token_sha256, typed_sha256, made_ms, made_by, ends_ms, uses_left)"
        " VALUES (?, ?, ?, ?, ?, ?, ?)",
        [client_id, token_sha256, typed_sha256, now_ms, user_id, ends_ms, uses],
    )
    return int(made.lastrowid or 0)


def read(db: Db, link_id: int) -> Link | None:
    """Reads a link by its number."""
    return _link(row(db, "SELECT * FROM links WHERE id = ?", link_id))


def find_by_token(db: Db, token_sha256: str) -> Link | None:
    """Finds a link by the hash of the secret in its QR code."""
    return _link(row(db, "SELECT * FROM links WHERE token_sha256 = ?", token_sha256))


def find_by_typed(db: Db, typed_sha256: str) -> Link | None:
    """Finds a link by the hash of the ten characters under its QR code."""
    return _link(row(db, "SELECT * FROM links WHERE typed_sha256 = ?", typed_sha256))


def of_client(db: Db, client_id: int) -> list[Link]:
    """Reads a client's links, the newest first."""
    found = rows(db, "SELECT * FROM links WHERE client_id = ? ORDER BY id DESC", client_id)
    return [link for link in map(_link, found) if link]


def use(db: Db, link_id: int) -> bool:
    """Takes one use of a link; False where none was left."""
    taken = db.execute(
        "UPDATE links SET uses_left = uses_left - 1 WHERE id = ? AND uses_left > 0 AND withdrawn_ms IS NULL", [link_id]
    )
    return taken.rowcount == 1


def withdraw(db: Db, link_id: int, now_ms: int) -> None:
    """Ends a link at once."""
    db.execute("UPDATE links SET withdrawn_ms = ? WHERE id = ? AND withdrawn_ms IS NULL", [now_ms, link_id])
