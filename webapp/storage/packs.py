"""Which pack was made of which plan by which release of the app."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, row

_JOINED = "SELECT packs.*, plans.client_id, plans.version FROM packs JOIN plans ON plans.id = packs.plan_id "


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """A pack that was made: of which version of whose plan; `manifest` is `wattlebird.pack/1` as it was written."""

    plan_id: int
    client_id: int
    version: int
    release: str
    pack_id: str
    manifest: str
    made_ms: int


def _pack(found: Mapping[str, Any] | None) -> Pack | None:
    return Pack(**{name: found[name] for name in Pack.__slots__}) if found else None


def add(db: Db, plan_id: int, release: str, pack_id: str, manifest: str, made_ms: int) -> None:
    """Records a pack as the newest of its plan; the same pack made again is there once."""
    db.execute(
        "INSERT OR REPLACE INTO packs (plan_id, release, pack_id, manifest, made_ms) VALUES (?, ?, ?, ?, ?)",
        [plan_id, release, pack_id, manifest, made_ms],
    )


def for_plan(db: Db, plan_id: int, release: str) -> Pack | None:
    """Reads the newest pack of a plan made by one release: days off may have changed it since the first."""
    newest = "WHERE plan_id = ? AND release = ? ORDER BY packs.made_ms DESC, packs.rowid DESC LIMIT 1"
    return _pack(row(db, _JOINED + newest, plan_id, release))


def by_id(db: Db, pack_id: str) -> Pack | None:
    """Reads a pack by its id."""
    return _pack(row(db, _JOINED + "WHERE pack_id = ? ORDER BY made_ms DESC LIMIT 1", pack_id))


def newest_for_client(db: Db, client_id: int) -> Pack | None:
    """Reads the pack that a client's phones should hold: of the newest version that has one, the one made last."""
    return _pack(
        row(
            db, _JOINED + "WHERE plans.client_id = ? "
            "ORDER BY plans.version DESC, packs.made_ms DESC, packs.rowid DESC LIMIT 1", client_id
        )
    )
