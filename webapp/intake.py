"""The one door for what phones recorded: every road ends here, nothing is lost, doubled or overwritten."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from webapp.caseload_rows import refresh_after_intake
from webapp.formats.log_record import FORMAT, chain_next, content_hash, digest
from webapp.storage import devices, packs, records
from webapp.storage.database import Db
from webapp.storage.devices import Device
from webapp.storage.records import Road

MOST_BYTES = 16_384  # the longest session record is under 2 kB; nothing that a phone writes comes near this


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Records `first`…`through`, each durably stored, and the digest of the chain over their content hashes."""

    first: int
    through: int
    digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """What the sender may believe: everything up to `through` is durably stored, with this digest.

    `through` is the highest number such that every record 1…through is stored (one kept aside counts); `digest` is
    the first 8 bytes, in hex, of the SHA-256 chain over their content hashes as this sender knows them; `epoch` names
    the store. `new`, `already`, `aside` and `unreadable` count what came. `after` is what is stored after a gap that
    the sender cannot fill: it has erased what an older store had received, and a backup was put back since.
    """

    through: int
    digest: str
    epoch: str
    new: int
    already: int
    aside: int
    unreadable: int
    after: Run | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Incoming:
    """One record as far as its storing needs it read; the rest of its bytes is kept as it came."""

    device: str
    seq: int
    kind: str
    at_min: int
    utc_q: int
    content: bytes

    @property
    def sha256(self) -> bytes:
        return content_hash(self.content)


def _whole(value: object, lowest: int, highest: int) -> bool:
    return type(value) is int and lowest <= value <= highest


def read_incoming(content: bytes) -> Incoming | None:
    """Reads what a record is; None where it is none. Odd values in its other fields do not keep it out."""
    if len(content) > MOST_BYTES:
        return None
    try:
        found = json.loads(content.decode("utf-8"))
    except (ValueError, RecursionError):
        return None
    if not isinstance(found, dict) or found.get("format") != FORMAT:
        return None
    device, kind = found.get("device"), found.get("kind")
    numbers = _whole(found.get("seq"), 1, 2**31) and _whole(found.get("at_min"), -(2**31), 2**31)
    if not (numbers and _whole(found.get("utc_q"), -96, 96) and isinstance(device, str) and isinstance(kind, str)):
        return None
    return Incoming(device=device, seq=found["seq"], kind=kind[:40], at_min=found["at_min"], utc_q=found["utc_q"],
                    content=content)


def digest_through(hashes: dict[int, bytes], highest: int | None = None, first: int = 1) -> tuple[int, str]:
    """Walks a device's content hashes from `first` to a gap or to `highest`: how far, and their chain's digest."""
    chained, through = bytes(32), first - 1
    while through + 1 in hashes and through != highest:
        through += 1
        chained = chain_next(chained, hashes[through])
    return through, digest(chained).hex()


def _keep(db: Db, device: Device, record: Incoming, road: Road, store: str, now_ms: int) -> str:
    if records.already(db, device.device, record.seq, record.sha256):
        return "already"
    aside = records.taken(db, device.device, record.seq)
    records.add(db, {
        "device": device.device, "client_id": device.client_id, "seq": record.seq, "kind": record.kind,
        "at_min": record.at_min, "utc_q": record.utc_q, "content": record.content, "content_sha256": record.sha256,
        "road": road, "store": store, "received_ms": now_ms, "aside": int(aside), "late": int(device.revoked)})
    return "aside" if aside else "new"


def _note_pack(db: Db, device: Device) -> None:
    """Remembers the pack that a phone says it works with, whichever road said so."""
    taken = records.newest_of_kind(db, device.device, "pack_taken")
    pack = packs.by_id(db, str(json.loads(taken).get("pack", ""))) if taken else None
    if pack and pack.client_id == device.client_id and pack.pack_id != device.pack_id:
        devices.took_pack(db, device.device, pack.pack_id)


def take_in(
    db: Db, device: Device, contents: Iterable[bytes], road: Road, store: str, now_ms: int, highest: int | None = None,
    kept_from: int = 0, erased: Sequence[tuple[int, str]] = (),
) -> Receipt:
    """Takes in records of one device, inside the caller's write transaction; the receipt goes out after its commit.

    Same number and content: already here. Same number, other content: kept aside. A withdrawn device's records are
    taken in and marked late. What cannot be read as a record of this device is counted and left with its sender.
    `store` names the sender's own store, so that a sender whose record was kept aside still gets its own digest;
    `highest` is the last number that it holds: of two copies of one store, the shorter one cannot check a longer chain.
    `kept_from` is the first one whose content it still has; `erased` are those that it can only name, by the beginning
    of their hash: where just that content is stored, it is the sender's.
    """
    counts = {"new": 0, "already": 0, "aside": 0, "unreadable": 0}
    sent: dict[int, bytes] = {}
    for content in contents:
        record = read_incoming(content)
        if record is None or record.device != device.device:
            counts["unreadable"] += 1
            continue
        counts[_keep(db, device, record, road, store, now_ms)] += 1
        sent[record.seq] = record.sha256
    _note_pack(db, device)
    if counts["new"] or counts["aside"]:
        refresh_after_intake(db, device.client_id, now_ms)
    # What the sender has just shown to hold wins: two copies of one store share its name, but not their records.
    named = {seq: found for seq, begins in erased if (found := records.hash_like(db, device.device, seq, begins))}
    hashes = records.hashes(db, device.device, store) | named | sent
    through, digest = digest_through(hashes, highest)
    after = _run(hashes, kept_from, highest) if kept_from > through + 1 else None
    return Receipt(through=through, digest=digest, epoch=records.store_epoch(db), after=after, **counts)


def _run(hashes: dict[int, bytes], first: int, highest: int | None) -> Run | None:
    through, digest = digest_through(hashes, highest, first)
    return Run(first=first, through=through, digest=digest) if through >= first else None
