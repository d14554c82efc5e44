"""What a client practises with: whose it is, what is in stock, how long a set of pads lasts, what is to be got."""

from __future__ import annotations

import json
from collections.abc import Mapping

from webapp.storage.database import Db, row


def read(db: Db, client_id: int) -> dict[str, str]:
    """Reads what was noted of a client's equipment, field by field; empty where nothing was."""
    found = row(db, "SELECT content FROM equipment WHERE client_id = ?", client_id)
    noted: dict[str, str] = json.loads(found["content"]) if found else {}
    return noted


def save(db: Db, client_id: int, content: Mapping[str, str], *, user_id: int, now_ms: int) -> None:
    """Saves what is noted of a client's equipment."""
    db.execute("INSERT OR REPLACE INTO equipment VALUES (?, ?, ?, ?)",
               [client_id, json.dumps(content, ensure_ascii=False), now_ms, user_id])
