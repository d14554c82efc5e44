"""Forms as they were typed, kept for a day when they could not be taken in."""

from __future__ import annotations

import json
import secrets
from collections.abc import Iterable

from webapp.storage.database import Db, row

KEPT_MS = 86_400_000
Pairs = list[tuple[str, str]]


def _is_secret(name: str) -> bool:
    return name == "csrf_token" or "password" in name or "token" in name


def keep(db: Db, login: str, path: str, pairs: Iterable[tuple[str, str]], now_ms: int) -> None:
    """Keeps the newest form of a person and page; passwords and tokens are left out."""
    content = json.dumps([pair for pair in pairs if not _is_secret(pair[0])], ensure_ascii=False)
    forget(db, login, path)
    db.execute("DELETE FROM saved_forms WHERE saved_ms < ?", [now_ms - KEPT_MS])
    db.execute("INSERT INTO saved_forms VALUES (?, ?, ?, ?, ?)", [secrets.token_hex(16), login, path, content, now_ms])


def read(db: Db, login: str, path: str, now_ms: int) -> Pairs | None:
    found = row(db, "SELECT content FROM saved_forms WHERE login = ? AND path = ? AND saved_ms >= ?",
                login, path, now_ms - KEPT_MS)
    return [(str(name), str(value)) for name, value in json.loads(found["content"])] if found else None


def newest_path(db: Db, login: str, now_ms: int) -> str | None:
    """Names the page of a person's newest kept form."""
    found = row(db, "SELECT path FROM saved_forms WHERE login = ? AND saved_ms >= ? ORDER BY saved_ms DESC LIMIT 1",
                login, now_ms - KEPT_MS)
    return str(found["path"]) if found else None


def forget(db: Db, login: str, path: str) -> None:
    db.execute("DELETE FROM saved_forms WHERE login = ? AND path = ?", [login, path])
