"""Erases a client: the rows in one transaction, then the files of their packs that no other pack needs.

Spoken cues may hold words that were typed for this client alone, and a voice that says a name. Which file is whose is
not noted, so all of them go: each can be made again, and is when it is needed next.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path

from webapp.storage import audit, erasures, held
from webapp.storage.database import Db, Store
from webapp.storage.erasures import Asked


def erase_client(store: Store, db: Db, request: Asked, *, packs_dir: Path, made_again: Iterable[Path], at_ms: int,
                 user_id: int) -> None:
    """Erases a client whose erasure was asked for; a trail row says that it was done, by whom and how much.

    `made_again`: folders of files that can be made again, emptied too.
    """
    counts = held.count_held(db, request.client_id)
    own, others = held.pack_manifests(db, request.client_id)
    only_theirs = _files(own) - _files(others)
    db.execute("PRAGMA secure_delete = ON")
    with store.write(db):
        erasures.erase(db, request, at_ms, user_id)
        audit.append(db, at_ms=at_ms, user_id=user_id, action="client_erased", client_id=request.client_id,
                     detail={"rows": sum(counts.values())})
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()  # else the log beside the database holds it for a while
    theirs = (file for sha256 in only_theirs for file in packs_dir.glob(f"{sha256[:2]}/{sha256}*"))
    cached = (file for folder in made_again for file in folder.rglob("*") if file.is_file())
    for file in [*theirs, *cached]:
        file.unlink(missing_ok=True)


def _files(manifests: Iterable[str]) -> set[str]:
    return {entry["sha256"] for manifest in manifests for entry in json.loads(manifest).get("files", {}).values()}
