"""Sync: one POST takes a batch of records and answers with a sealed receipt."""

from __future__ import annotations

import json
import logging
import re
from dataclasses import dataclass
from typing import Any

from flask import Response, request

from webapp import sealing
from webapp.client_log import read_rests
from webapp.errors import refuse
from webapp.exchange import blueprint
from webapp.intake import Receipt, take_in
from webapp.phone_requests import SEAL_HEADER, sealed_device
from webapp.practice.hold import CLINIC, Hold
from webapp.practice.rest import EVERY
from webapp.practice.session import DAY_ZERO, MINUTES_A_DAY
from webapp.prescribing.holds import holding_now
from webapp.serving import audit, database, now_ms, settings, write
from webapp.storage import devices, packs, records, rests
from webapp.storage.database import Db
from webapp.storage.devices import Device

TWO = 2
log_ = logging.getLogger(__name__)
HASH_BEGINS = re.compile(r"[0-9a-f]{16}")  # 64 bits tell the few contents apart that share a number


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """One sync request as it was read."""

    device: str
    store: str
    contents: tuple[bytes, ...]
    highest: int
    kept_from: int
    erased: tuple[tuple[int, str], ...]


def read_batch(body: bytes) -> Batch:
    """Reads a request's body or refuses it."""
    try:
        given = json.loads(body)
        contents = tuple(one.encode("utf-8") for one in given["records"])
        batch = Batch(device=given["device"], store=given["store"], contents=contents, highest=given["highest"],
                      kept_from=given.get("kept_from", 0), erased=_read_erased(given.get("erased", [])))
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as problem:
        raise refuse("message_malformed") from problem
    right = isinstance(batch.device, str) and isinstance(batch.store, str) and len(batch.store) <= 32
    if not right or any(type(number) is not int or number < 0 for number in (batch.highest, batch.kept_from)):
        raise refuse("message_malformed")
    return batch


def _read_erased(given: list[list[Any]]) -> tuple[tuple[int, str], ...]:
    """Reads the numbers of erased records and how their hashes begin; a TypeError or ValueError for anything else."""
    if not all(type(seq) is int and HASH_BEGINS.fullmatch(begins) for seq, begins in given):
        raise ValueError("erased")
    return tuple((seq, begins) for seq, begins in given)


def _newest_pack(db: Db, device: Device) -> dict[str, Any] | None:
    pack = None if device.revoked else packs.newest_for_client(db, device.client_id)
    return {"pack_id": pack.pack_id, "version": pack.version} if pack else None


def _note_wiped(db: Db, device: Device, batch: Batch) -> None:
    """Says in the trail that a phone came back with less than it had sent: its store was put back."""
    if batch.contents and batch.highest < records.highest(db, device.device):
        audit(db, "phone_store_went_back", device.client_id, device=device.device, highest=batch.highest)


def _other_rests(db: Db, device: Device) -> list[dict[str, Any]] | None:
    """Says what rests by the clinic's word or by findings of the client's other phones, so that this one rests, too.

    None where that cannot be worked out: the phone goes by what it knew, and no receipt is lost by it.
    """
    try:
        held = [held_rest(hold) for hold in holding_now(db, device.client_id, now_ms())]
        if len(devices.of_client(db, device.client_id)) < TWO:
            return held
        found = read_rests(db, device.client_id)
    except (ArithmeticError, LookupError, TypeError, ValueError):
        log_.exception("the rests of client %s could not be worked out", device.client_id)
        return None
    return held + [{"device": rest.device, "through": rest.through, "exercises": sorted(rest.exercises),
                    "at_min": rest.entry.at_min} for rest in found if rest.device != device.device]


def held_rest(hold: Hold) -> dict[str, Any]:
    """Writes a rest that the clinic itself asks for as one of a device that no phone is."""
    return {"device": CLINIC, "through": hold.id, "exercises": [EVERY], "why": hold.kind,
            "at_min": (hold.first_day - DAY_ZERO).days * MINUTES_A_DAY,
            "until": hold.until.isoformat() if hold.until else ""}


def answer_body(receipt: Receipt, device: Device, pack: dict[str, Any] | None, rest_ended: int,
                resting: list[dict[str, Any]] | None, server_ms: int) -> bytes:
    """Writes the answer that is sealed.

    `rest_ended` is the record through which this phone's rests are over, `resting` what rests by its client's others.
    """
    after = {"first": run.first, "through": run.through, "digest": run.digest} if (run := receipt.after) else None
    return json.dumps({
        "through": receipt.through, "digest": receipt.digest, "epoch": receipt.epoch, "pack": pack, "after": after,
        "rest_ended": rest_ended, "resting": resting, "server_ms": server_ms, "revoked": device.revoked,
    }, sort_keys=True, separators=(",", ":")).encode()


@blueprint.post("/exchange/sync")
def sync() -> Response:
    """Takes in a batch; the receipt is made after the commit, so it never promises what a power cut could undo."""
    request.max_content_length = settings().sync_body_bytes
    body = request.get_data()
    batch = read_batch(body)
    device = sealed_device(devices.by_id(database(), batch.device), body, "sync")
    with write() as db:
        _note_wiped(db, device, batch)
        devices.saw(db, device.device, now_ms())
        receipt = take_in(db, device, batch.contents, "sync", batch.store, now_ms(), batch.highest,
                          batch.kept_from, batch.erased)
        if receipt.new or receipt.aside:
            audit(db, "records_came", device.client_id, device=device.device, new=receipt.new, aside=receipt.aside)
    body = answer_body(receipt, device, _newest_pack(database(), device),
                       rests.ended_through(database(), device.device), _other_rests(database(), device), now_ms())
    answer = Response(body, mimetype="application/json")
    answer.headers[SEAL_HEADER] = sealing.seal(sealing.derive(device.device_key, "receipt"), body)
    answer.headers["Cache-Control"] = "no-store"
    return answer
