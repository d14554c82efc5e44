"""The plan that a therapist is writing for a client: one draft a client, kept exactly as typed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from webapp.errors import refuse
from webapp.storage.database import Db, row

Typed = dict[str, str | list[str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A form as typed: field name → text, or texts where several may be ticked."""

    client_id: int
    content: Typed
    saved_ms: int
    saved_by: int


def read(db: Db, client_id: int) -> Draft | None:
    """Reads a client's draft."""
    found = row(db, "SELECT * FROM drafts WHERE client_id = ?", client_id)
    if found is None:
        return None
    return Draft(
        client_id=client_id,
        content=json.loads(str(found["content"])),
        saved_ms=int(str(found["saved_ms"])),
        saved_by=int(str(found["saved_by"])),
    )


def save(
    db: Db, client_id: int, content: Mapping[str, str | list[str]], *, user_id: int, now_ms: int, seen_ms: int | None
) -> int:
    """Saves what was typed and returns when; refuses where someone saved after `seen_ms` (None: whatever is there)."""
    there = read(db, client_id)
    if there is not None and seen_ms is not None and there.saved_ms != seen_ms:
        raise refuse("draft_changed")
    saved_ms = max(now_ms, there.saved_ms + 1) if there else now_ms
    db.execute(
        "INSERT OR REPLACE INTO drafts VALUES (?, ?, ?, ?)",
        [client_id, json.dumps(content, ensure_ascii=False), saved_ms, user_id],
    )
    return saved_ms


def discard(db: Db, client_id: int) -> None:
    """Drops a client's draft, once it is issued or given up."""
    db.execute("DELETE FROM drafts WHERE client_id = ?", [client_id])
