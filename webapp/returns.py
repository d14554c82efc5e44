"""What was read from codes or files: opened, weighed against what is stored, and taken in by the one door."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from webapp.formats.return_code import CodeError, Part, Reason
from webapp.intake import Incoming, Receipt, read_incoming, take_in
from webapp.returned_code import decode_frame
from webapp.sealing import derive
from webapp.storage import clients, devices, records
from webapp.storage.clients import Client
from webapp.storage.database import Db
from webapp.storage.devices import Device
from webapp.storage.records import Road

# a symbol holds one payload at most and a tab some hundred: more than this is no log
MOST_PAYLOADS = 1_000
DIGITS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Unread:
    """Payloads that nothing is taken from, for one reason; `device` where a payload names one."""

    reason: Reason
    device: str
    n: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Lacking:
    """Codes of a showing that were not read: their numbers, and how many the phone shows."""

    numbers: tuple[int, ...]
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """The records of one phone in what was read, each once, and what taking them in would do.

    `new`, `already` and `aside` are records; `unreadable_n` counts contents that are none. `missing` are the numbers
    (first, last) that would still lack below the highest one: nothing above the first of them gets a receipt.
    `lacking` are codes that the phone shows and nobody read: what they hold may lie above the highest number, too.
    """

    device: Device
    client: Client
    contents: tuple[bytes, ...]
    new: tuple[Incoming, ...]
    already: tuple[Incoming, ...]
    aside: tuple[Incoming, ...]
    unreadable_n: int
    missing: tuple[tuple[int, int], ...]
    lacking: Lacking | None

    @property
    def changes_nothing(self) -> bool:
        return not self.new and not self.aside


@dataclass(frozen=True, slots=True, kw_only=True)
class Returned:
    """Everything in what was read, by phone, and what could not be read."""

    phones: tuple[Weighed, ...]
    unread: tuple[Unread, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """One phone's records after they were taken in; `digits` is the receipt to type, "" where it covers nothing."""

    weighed: Weighed
    receipt: Receipt
    digits: str


@dataclass(slots=True)
class _Opened:
    """What the payloads of one phone held, in the order of reading, each content once, and which parts they were."""

    device: Device
    contents: dict[bytes, None] = field(default_factory=dict)
    parts: list[Part | None] = field(default_factory=list)


def sessions_n(found: Iterable[Incoming]) -> int:
    """Counts the sessions among records."""
    return sum(one.kind == "session" for one in found)


def weigh(db: Db, payloads: Sequence[str]) -> Returned:
    """Opens payloads and says what is in them; stores nothing. Whole payloads that came twice count once."""
    opened: dict[str, _Opened] = {}
    unread: dict[tuple[Reason, str], int] = {}
    for payload in dict.fromkeys(payloads):
        try:
            _open(db, payload, opened)
        except CodeError as error:
            key = (error.reason, error.device)
            unread[key] = unread.get(key, 0) + 1
    return Returned(
        phones=tuple(_weigh_phone(db, one) for one in opened.values()),
        unread=tuple(Unread(reason=reason, device=device, n=n) for (reason, device), n in unread.items()))


def _open(db: Db, payload: str, opened: dict[str, _Opened]) -> None:
    found: list[Device] = []

    def key_of(device_id: str) -> bytes | None:
        device = devices.by_id(db, device_id)
        if device is None or device.is_paper:
            return None
        found.append(device)
        return device.device_key

    log = decode_frame(payload, key_of)
    phone = opened.setdefault(log.device, _Opened(found[0]))
    phone.contents.update(dict.fromkeys(log.contents))
    phone.parts.append(log.part)


def _weigh_phone(db: Db, opened: _Opened) -> Weighed:
    device = opened.device
    read = [read_incoming(content) for content in opened.contents]
    known = sorted((one for one in read if one and one.device == device.device), key=lambda one: one.seq)
    new: dict[int, Incoming] = {}
    already, aside = [], []
    for one in known:
        if records.already(db, device.device, one.seq, one.sha256):
            already.append(one)
        elif one.seq in new or records.taken(db, device.device, one.seq):
            aside.append(one)
        else:
            new[one.seq] = one
    client = clients.read(db, device.client_id)
    if client is None:  # a device's row refers to its client's
        raise LookupError(device.client_id)
    return Weighed(
        device=device, client=client, contents=tuple(opened.contents), new=tuple(new.values()),
        already=tuple(already), aside=tuple(aside), unreadable_n=len(read) - len(known),
        missing=missing_numbers({*records.hashes(db, device.device, ""), *new}), lacking=lacking_codes(opened.parts))


def lacking_codes(parts: Sequence[Part | None]) -> Lacking | None:
    """Finds the codes of the last showing that were not read; None where any showing was read whole.

    Whatever a phone shows reaches to its newest record, so one whole showing leaves nothing unseen at the end.
    """
    counted = [part for part in parts if part]
    if len(counted) < len(parts):
        return None
    showings: dict[tuple[int, int], set[int]] = {}
    for part in counted:
        showings.setdefault((part.showing, part.of), set()).add(part.at)
    lacks = {showing: tuple(sorted({*range(1, showing[1] + 1)} - read)) for showing, read in showings.items()}
    last = counted[-1]
    return Lacking(numbers=lacks[last.showing, last.of], of=last.of) if all(lacks.values()) else None


def missing_numbers(present: Iterable[int]) -> tuple[tuple[int, int], ...]:
    """Lists the gaps (first, last) below the highest of some numbers that count from 1."""
    gaps, expected = [], 1
    for number in sorted(present):
        if number > expected:
            gaps.append((expected, number - 1))
        expected = number + 1
    return tuple(gaps)


def take_in_returned(db: Db, returned: Returned, road: Road, now_ms: int) -> tuple[Taken, ...]:
    """Takes in what was weighed, inside the caller's write transaction; the digits are shown after its commit.

    A code names no store, so what is kept aside of it is kept under none.
    """
    return tuple(_take_in_phone(db, one, road, now_ms) for one in returned.phones)


def _take_in_phone(db: Db, weighed: Weighed, road: Road, now_ms: int) -> Taken:
    device = weighed.device
    receipt = take_in(db, device, weighed.contents, road, "", now_ms)
    if receipt.new or receipt.aside:
        devices.saw(db, device.device, now_ms)
    digits = typed_receipt(device.device_key, receipt.through, receipt.digest) if receipt.through else ""
    return Taken(weighed=weighed, receipt=receipt, digits=digits)


def typed_receipt(device_key: bytes, through: int, digest: str) -> str:
    """Makes the six digits that a person types on a phone: the receipt of a log that came without a network.

    HMAC-SHA-256 with the receipt key over `through` (8 bytes, big-endian) and the 8 bytes of the digest; its first 8
    bytes as a number, modulo a million.
    """
    message = through.to_bytes(8, "big") + bytes.fromhex(digest)
    made = hmac.new(derive(device_key, "receipt"), message, hashlib.sha256).digest()
    return f"{int.from_bytes(made[:8], 'big') % 10**DIGITS:0{DIGITS}d}"
