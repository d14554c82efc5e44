"""The phones that were let in, and the tries that were made to get in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.storage.database import Db, row, rows

# the kind of the device that no phone is: what a therapist types in from a client's diary counts under it
PAPER = "paper"


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """One phone or tablet of a client; a phone whose store was wiped comes back as another device.

    `request_sha256` is of the request that let it in; `replaces` is the device that it was before its store was gone.
    """

    device: str
    client_id: int
    link_id: int | None
    handle: str
    device_key: bytes
    cookie_sha256: str
    rejoin_sha256: str | None
    rejoin_ends_ms: int | None
    kind: str
    made_ms: int
    seen_ms: int | None
    pack_id: str | None
    revoked_ms: int | None
    request_sha256: str | None = None
    replaces: str | None = None

    @property
    def revoked(self) -> bool:
        return self.revoked_ms is not None

    @property
    def is_paper(self) -> bool:
        """Whether it stands for a paper diary; what a phone calls itself does not make it one."""
        return self.kind == PAPER and self.link_id is None


def _device(found: Mapping[str, Any] | None) -> Device | None:
    return Device(**found) if found else None


def by_id(db: Db, device: str) -> Device | None:
    """Reads a device by the id that its records carry."""
    return _device(row(db, "SELECT * FROM devices WHERE device = ?", device))


def by_handle(db: Db, handle: str) -> Device | None:
    """Reads a device by the handle in its addresses."""
    return _device(row(db, "SELECT * FROM devices WHERE handle = ?", handle))


def by_request(db: Db, request_sha256: str) -> Device | None:
    """Reads the device that a phone's own request let in."""
    return _device(row(db, "SELECT * FROM devices WHERE request_sha256 = ?", request_sha256))


def by_rejoin_token(db: Db, token_sha256: str) -> Device | None:
    """Reads the device whose unused re-join token has this hash."""
    return _device(row(db, "SELECT * FROM devices WHERE rejoin_sha256 = ?", token_sha256))


def of_client(db: Db, client_id: int) -> list[Device]:
    """Reads all phones and tablets of a client, the oldest first."""
    return [device for device in _all_of_client(db, client_id) if not device.is_paper]


def paper_of_client(db: Db, client_id: int) -> Device | None:
    """Reads the device that stands for a client's paper diary, if anything was typed in from it."""
    return next((device for device in _all_of_client(db, client_id) if device.is_paper), None)


def _all_of_client(db: Db, client_id: int) -> list[Device]:
    found = rows(db, "SELECT * FROM devices WHERE client_id = ? ORDER BY made_ms, device", client_id)
    return [device for device in map(_device, found) if device]


def add(db: Db, device: Device) -> None:
    """Keeps a device that was let in."""
    db.execute(
        "INSERT INTO devices (device, client_id, link_id, handle, device_key, cookie_sha256, rejoin_sha256,"
        " rejoin_ends_ms, kind, made_ms, seen_ms, pack_id, revoked_ms, request_sha256, replaces)"
        " VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)",
        [device.device, device.client_id, device.link_id, device.handle, device.device_key, device.cookie_sha256,
         device.rejoin_sha256, device.rejoin_ends_ms, device.kind, device.made_ms, device.seen_ms, device.pack_id,
         device.revoked_ms, device.request_sha256, device.replaces])


def saw(db: Db, device: str, at_ms: int) -> None:
    """Notes when a device last spoke with a right seal."""
    db.execute("UPDATE devices SET seen_ms = ? WHERE device = ?", [at_ms, device])


def took_pack(db: Db, device: str, pack_id: str) -> None:
    """Notes the pack that a device works with."""
    db.execute("UPDATE devices SET pack_id = ? WHERE device = ?", [pack_id, device])


def set_cookie(db: Db, device: str, cookie_sha256: str) -> None:
    """Replaces the cookie that fetches pack files."""
    db.execute("UPDATE devices SET cookie_sha256 = ? WHERE device = ?", [cookie_sha256, device])


def set_rejoin(db: Db, device: str, token_sha256: str | None, ends_ms: int | None) -> None:
    """Sets or uses up a device's re-join token."""
    db.execute("UPDATE devices SET rejoin_sha256 = ?, rejoin_ends_ms = ? WHERE device = ?",
               [token_sha256, ends_ms, device])


def revoke(db: Db, device: str, at_ms: int) -> None:
    """Withdraws a device: no pack from now on; what it had recorded is still taken in."""
    db.execute("UPDATE devices SET revoked_ms = coalesce(revoked_ms, ?), rejoin_sha256 = NULL WHERE device = ?",
               [at_ms, device])


def count_try(db: Db, who: str, minute: int) -> int:
    """Counts a try of an address in a minute and returns how many there were; older minutes are forgotten."""
    db.execute("DELETE FROM tries WHERE minute < ?", [minute - 60])
    db.execute("INSERT INTO tries VALUES (?, ?, 1) ON CONFLICT (who, minute) DO UPDATE SET tries = tries + 1",
               [who, minute])
    found = row(db, "SELECT tries FROM tries WHERE who = ? AND minute = ?", who, minute)
    return int(found["tries"]) if found else 0
