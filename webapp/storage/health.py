"""Whether the practice is in order: the database, its copies, the packs, what has not reached a phone, the disk."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from webapp.storage import audit, backup, plans
from webapp.storage.database import Db, connect, row, rows

DAY_MS = 86_400_000
BACKUP_LOOK_MS = 1 * DAY_MS + DAY_MS // 4  # a daily copy, and six hours of grace
BACKUP_WRONG_MS = 7 * DAY_MS
DISK_LOOK_BYTES = 2 * 10**9
DISK_WRONG_BYTES = 200 * 10**6  # room for one more copy and a few packs


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One thing that was looked at: `state` is ok, look or wrong; its text is `doctor.<name>.<state>`."""

    name: str
    state: str
    params: dict[str, object] = field(default_factory=dict)


def examine(database: Path, release: str, today: str, now_ms: int) -> tuple[Check, ...]:
    """Looks at everything, changes nothing; a database that can't be read ends the examination."""
    if not database.is_file():
        return (Check(name="database", state="wrong", params={"path": database}), _disk(database.parent))
    try:
        with closing(connect(database)) as db:
            return (*_checks(db, release, today, now_ms), _disk(database.parent))
    except sqlite3.DatabaseError as error:
        return (Check(name="integrity", state="wrong", params={"why": error}), _disk(database.parent))


def _checks(db: Db, release: str, today: str, now_ms: int) -> Iterator[Check]:
    integrity = [str(found[0]) for found in db.conn.execute("PRAGMA integrity_check(5)")]
    yield _said("integrity", integrity == ["ok"], why="; ".join(integrity))
    applied, known = backup.steps_applied(db), backup.steps_known()
    yield _said("newer", applied <= known, steps=", ".join(sorted(applied - known)))
    waiting = ", ".join(sorted(known - applied))
    yield Check(name="schema", state="look" if waiting else "ok", params={"n": len(applied), "steps": waiting})
    if waiting or not applied <= known:
        return  # the questions below are asked in this release's words
    broken_links = len(db.conn.execute("PRAGMA foreign_key_check").fetchall())
    yield _said("links", not broken_links, n=broken_links)
    broken = audit.first_broken(db)
    yield _said("audit", broken is None, id=broken)
    yield _backup(db, now_ms)
    live = plans.live(db, today)
    without = [p for p in live if not row(db, "SELECT 1 FROM packs WHERE plan_id = ? AND release = ?", p.id, release)]
    yield Check(name="packs", state="look" if without else "ok", params={"n": len(without)})
    unsent = [p for p in live if not _reached(db, p)]
    yield Check(name="unsent", state="look" if unsent else "ok", params={"n": len(unsent)})
    failed = rows(db, "SELECT message FROM jobs WHERE state = 'failed' AND ended_ms > ?", now_ms - 7 * DAY_MS)
    yield Check(name="jobs", state="look" if failed else "ok",
                params={"n": len(failed), "why": failed[-1]["message"] if failed else ""})


def _said(name: str, fine: bool, **params: object) -> Check:
    return Check(name=name, state="ok" if fine else "wrong", params=params)


def _backup(db: Db, now_ms: int) -> Check:
    last = backup.latest(db)
    if last is None:
        return Check(name="no_backup", state="look")
    age_ms = now_ms - last.at_ms
    state = "wrong" if age_ms > BACKUP_WRONG_MS else "look" if age_ms > BACKUP_LOOK_MS else "ok"
    return Check(name="backup", state=state, params={"hours": age_ms // 3_600_000, "days": age_ms // DAY_MS})


def _reached(db: Db, plan: plans.Plan) -> bool:
    """Tells whether a phone of the client works with a pack of this version."""
    return row(db, "SELECT 1 FROM devices JOIN packs ON packs.pack_id = devices.pack_id WHERE devices.client_id = ? "
                   "AND revoked_ms IS NULL AND packs.plan_id = ?", plan.client_id, plan.id) is not None


def _disk(folder: Path) -> Check:
    while not folder.exists():
        folder = folder.parent
    free = shutil.disk_usage(folder).free
    state = "wrong" if free < DISK_WRONG_BYTES else "look" if free < DISK_LOOK_BYTES else "ok"
    return Check(name="disk", state=state, params={"gb": f"{free / 10**9:.1f}"})
