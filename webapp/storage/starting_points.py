"""The clinic's own starting points: settings under a name, shared by its therapists."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from webapp.storage.database import Db, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnStart:
    """A starting point that somebody of the clinic kept; `content` is what the settings' fields hold."""

    id: int
    name: str
    aim: str
    content: Mapping[str, str]
    made_by_name: str


def list_kept(db: Db) -> list[OwnStart]:
    """Lists what was kept and not removed, by name."""
    found = rows(db, "SELECT starting_points.id, starting_points.name, aim, content, users.name AS made_by_name "
                     "FROM starting_points JOIN users ON users.id = made_by WHERE removed_ms IS NULL "
                     "ORDER BY starting_points.name COLLATE NOCASE, starting_points.id")  # fmt: skip
    return [OwnStart(**{**one, "content": json.loads(one["content"])}) for one in found]


def add(db: Db, name: str, aim: str, content: Mapping[str, str], *, user_id: int, now_ms: int) -> int:
    """Keeps a starting point."""
    made = db.execute("INSERT INTO starting_points (name, aim, content, made_ms, made_by) VALUES (?, ?, ?, ?, ?)",
                      [name, aim, json.dumps(content, ensure_ascii=False), now_ms, user_id])
    return int(made.lastrowid or 0)


def remove(db: Db, id_: int, now_ms: int) -> None:
    """Removes a starting point from the list; it stays in the database."""
    db.execute("UPDATE starting_points SET removed_ms = ? WHERE id = ? AND removed_ms IS NULL", [now_ms, id_])
