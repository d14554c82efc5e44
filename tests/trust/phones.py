"""A client's phone as the server sees it: real records and seals, and belief in nothing but a right receipt.

It follows static/parts/log_store.js, carry_home.js and sealed_post.js step by step.
"""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass, field, replace
from typing import Any

from tests.exchange.invented_phone import add_phone
from tests.laws.any_records import any_log
from webapp import sealing
from webapp.formats.log_record import canonical, chain, content_hash, digest
from webapp.phone_requests import SEAL_HEADER
from webapp.returned_code import encode_frames
from webapp.returns import typed_receipt
from webapp.storage import devices
from webapp.storage.database import Store
from webapp.storage.devices import Device

BATCH_RECORDS = 64
BATCH_BYTES = 100_000
MINUTE_MS = 60_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """One sync request on its way."""

    body: bytes
    seal: str

    @property
    def headers(self) -> dict[str, str]:
        return {"Content-Type": "application/json", SEAL_HEADER: self.seal}


@dataclass(slots=True, kw_only=True)
class ModelPhone:
    """One store on one phone. `through` is how far its log is marked as received, `word_of` the epoch that said so.

    The first `erased_n` records say nothing any more; `after` are those received after a gap that none can fill.
    """

    device: Device
    store: str = field(default_factory=lambda: secrets.token_hex(8))
    log: list[bytes] = field(default_factory=list)
    through: int = 0
    word_of: str = ""
    differs: bool = False
    skew_min: int = 0
    erased_n: int = 0
    after: range = range(0)

    def writes(self, seed: int, now_ms: int) -> bytes:
        """Adds a record of some kind, as this phone's clock dates it."""
        drawn = any_log(seed, 1)[0]
        if "note" in drawn:  # coding long texts is tried elsewhere, and would take a fifth of the time
            drawn["note"] = drawn["note"][:12]
        at_min = now_ms // MINUTE_MS + self.skew_min
        record = {**drawn, "device": self.device.device, "seq": len(self.log) + 1, "at_min": at_min}
        self.log.append(canonical(record))
        return self.log[-1]

    def copy(self) -> ModelPhone:
        """Makes what moving to a new telephone may make: the same store twice."""
        return replace(self, log=list(self.log))

    # --- sync ---

    def _batch(self) -> list[bytes]:
        held = range(self.erased_n + 1, len(self.log) + 1)
        chosen = held if self.differs else [seq for seq in held if not self.covers(seq)][:BATCH_RECORDS]
        unsent = [self.log[seq - 1] for seq in chosen]
        batch: list[bytes] = []
        size = 0
        for content in unsent:
            size += len(content)
            if batch and size > BATCH_BYTES:
                break
            batch.append(content)
        return batch

    def sends(self, now_ms: int) -> Sent:
        """Makes the request that carries what is unsent; all of the log after a receipt that differed."""
        body = json.dumps({
            "device": self.device.device, "store": self.store, "epoch": self.word_of,
            "records": [one.decode() for one in self._batch()], "highest": len(self.log),
            "kept_from": self.erased_n + 1 if self.erased_n < len(self.log) else 0,
            "erased": self._erased() if self.differs else [],
            "sent_ms": now_ms + self.skew_min * MINUTE_MS}).encode()
        return Sent(body=body, seal=sealing.seal(sealing.derive(self.device.device_key, "sync"), body))

    def hears(self, answer: bytes) -> bool:
        """Reads an answer as it came off the wire, however much of it; tells whether it was believed."""
        head, _, body = answer.partition(b"\r\n\r\n")
        lines = head.decode("latin-1").split("\r\n")
        named = dict(line.lower().split(": ", 1) for line in lines[1:] if ": " in line)
        right = sealing.seal_is_right(
            sealing.derive(self.device.device_key, "receipt"), body, named.get(SEAL_HEADER.lower(), ""))
        if not lines[0].endswith(" 200 OK") or not right:
            return False
        told = json.loads(body)
        return self._believes(told["through"], told["digest"], told["epoch"], told["after"])

    def _erased(self) -> list[tuple[int, str]]:
        return [(seq, content_hash(one).hex()[:16]) for seq, one in enumerate(self.log[: self.erased_n], 1)]

    def covers(self, seq: int) -> bool:
        return seq <= self.through or seq in self.after

    def erases(self) -> None:
        """Does after 30 days: what is received, and all before it is, says nothing any more; its hash stays."""
        self.erased_n = max(self.erased_n, self.through)

    def _believes(self, through: int, said: str, epoch: str, run: dict[str, Any] | None) -> bool:
        """Believes what its own digests say; a run after a gap counts only where all between was erased here."""
        after = run if run and run["first"] - 1 <= self.erased_n else None
        told = [(1, through, said), *([(after["first"], after["through"], after["digest"])] if after else [])]
        self.differs = any(last > len(self.log) or own != self.digest(last, first) for first, last, own in told)
        if not self.differs:
            self.through, self.word_of = through, epoch
            self.after = range(after["first"], after["through"] + 1) if after else range(0)
        return not self.differs

    def digest(self, through: int, first: int = 1) -> str:
        """Works out the digest of its own chain."""
        return digest(chain(map(content_hash, self.log[first - 1 : through]))).hex()

    # --- codes, files, digits ---

    def shows(self, first: int, max_version: int | None) -> list[str]:
        """Shows the log from a record on as codes, or as a file's lines."""
        records = [json.loads(one) for one in self.log[max(first, self.erased_n) :]]
        device = self.device
        frames = encode_frames(records, device.device_key, device.device, max_version=max_version)
        return [frame.payload for frame in frames]

    def is_told(self, digits: str, epoch: str) -> int:
        """Tries typed digits against its own records that are not yet received; gives how far they go, 0 for none."""
        for through in range(self.through + 1, len(self.log) + 1):
            if typed_receipt(self.device.device_key, through, self.digest(through)) == digits:
                self.through, self.word_of, self.after = through, epoch, range(0)
                return through
        return 0

    @property
    def received(self) -> list[bytes]:
        return [one for seq, one in enumerate(self.log, 1) if self.covers(seq)]


def new_phone(store: Store, code: str) -> ModelPhone:
    """Lets the first phone of a new client in."""
    return ModelPhone(device=add_phone(store, code).device)


def another_phone(store: Store, client_id: int, like: Device) -> ModelPhone:
    """Lets one more phone of a client in."""
    device = replace(like, device=sealing.new_device(), handle=sealing.new_handle(),
                     device_key=sealing.new_device_key(), client_id=client_id, revoked_ms=None)
    db = store.connect()
    with store.write(db):
        devices.add(db, device)
    db.close()
    return ModelPhone(device=device)
