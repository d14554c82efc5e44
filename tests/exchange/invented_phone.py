"""An invented phone as the server sees it: it writes records, keeps its own chain and believes receipts."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from typing import Any

from webapp import sealing
from webapp.formats.log_record import canonical, chain, content_hash, digest
from webapp.intake import Receipt
from webapp.storage import clients, devices
from webapp.storage.clients import ClientDetails
from webapp.storage.database import Store
from webapp.storage.devices import Device

NOW_MS = 1_795_500_000_000


def not_today(device: str, seq: int, note: str = "", **changed: Any) -> bytes:
    """Writes a small valid record."""
    return canonical(
        {
            "format": "wattlebird.record/1",
            "device": device,
            "seq": seq,
            "kind": "not_today",
            "at_min": 29_925_000 + seq,
            "utc_q": 0,
            "exercise": 0,
            "why": 4,
            "note": note,
            **changed,
        }
    )


@dataclass(slots=True, kw_only=True)
class InventedPhone:
    """One store on one phone: its log, how much of it was confirmed, and its name for itself."""

    device: Device
    name: str = field(default_factory=lambda: secrets.token_hex(8))
    log: list[bytes] = field(default_factory=list)
    confirmed: int = 0

    def writes(self, note: str = "") -> bytes:
        """Adds a record to the log."""
        self.log.append(not_today(self.device.device, len(self.log) + 1, note))
        return self.log[-1]

    def digest(self, through: int) -> str:
        """Works out the digest of its own chain."""
        return self.digest_of(self.log[:through])

    def digest_of(self, run: list[bytes]) -> str:
        """Works out the digest of a chain of its own that begins anew."""
        return digest(chain(map(content_hash, run))).hex()

    def believes(self, receipt: Receipt) -> bool:
        """Tells whether a receipt speaks of this phone's own records."""
        return receipt.through <= len(self.log) and receipt.digest == self.digest(receipt.through)

    def hears(self, receipt: Receipt) -> None:
        """Marks records received by a receipt that it believes."""
        if self.believes(receipt):
            self.confirmed = receipt.through


def add_phone(store: Store, code: str) -> InventedPhone:
    """Lets a phone of a new client in, as activation would."""
    db = store.connect()
    with store.write(db):
        client_id = clients.add(
            db,
            code=code,
            first_name="Sol",
            working_side="right",
            language="en",
            details=ClientDetails(),
            therapist_id=None,
            created_ms=NOW_MS,
        )
        device = Device(
            device=sealing.new_device(),
            client_id=client_id,
            link_id=None,
            handle=sealing.new_handle(),
            device_key=sealing.new_device_key(),
            cookie_sha256="",
            rejoin_sha256=None,
            rejoin_ends_ms=None,
            kind="",
            made_ms=NOW_MS,
            seen_ms=None,
            pack_id=None,
            revoked_ms=None,
        )
        devices.add(db, device)
    db.close()
    return InventedPhone(device=device)
