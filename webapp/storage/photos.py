"""Photos that show where a client's pads go: JPEG files made here, named by their hash as plans name them."""

from __future__ import annotations

from webapp.storage.database import Db, row


def add(
    db: Db, client_id: int, sha256: str, jpeg: bytes, size: tuple[int, int], *, user_id: int, now_ms: int
) -> None:
    """Keeps a photo; the same one again changes nothing."""
    db.execute(
        "INSERT OR IGNORE INTO photos (client_id, sha256, jpeg, width, height, made_ms, made_by) "
        "VALUES (?, ?, ?, ?, ?, ?, ?)",
        [client_id, sha256, jpeg, *size, now_ms, user_id],
    )


def jpeg(db: Db, client_id: int, sha256: str) -> bytes | None:
    """Reads the file of a photo."""
    found = row(db, "SELECT jpeg FROM photos WHERE client_id = ? AND sha256 = ?", client_id, sha256)
    return bytes(found["jpeg"]) if found else None


def forget_unissued(db: Db, client_id: int) -> int:
    """Deletes a client's photos that neither an issued plan nor the draft shows; tells how many went."""
    gone = db.execute(
        "DELETE FROM photos WHERE client_id = ? AND NOT EXISTS (SELECT 1 FROM plans "
        "WHERE plans.client_id = photos.client_id AND instr(plans.issued, photos.sha256)) AND NOT EXISTS ("
        "SELECT 1 FROM drafts WHERE drafts.client_id = photos.client_id AND instr(drafts.content, photos.sha256))",
        [client_id],
    )
    return int(gone.rowcount)
