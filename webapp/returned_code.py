"""The return code with its key and its table: makes sealed payloads of a log, and opens what a camera read.

The seal is AES-256-GCM (NIST SP 800-38D) with the whole tag, a fresh random 96-bit initialisation vector for each frame
and the header as associated data; its key is the device's for the purpose `code`.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from webapp.formats.return_code import (
    ALONE,
    IV_BYTES,
    MOST_BODY_BYTES,
    MOST_PARTS,
    PART,
    PART_BYTES,
    CodeError,
    Part,
    ReturnTable,
    make_header,
    make_payload,
    most_body_bytes,
    open_payload,
    version_for,
)
from webapp.sealing import derive
from webapp.settings import static_folder

ONE_SYMBOL = 15
SMALLER = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One payload: the seqs of its records, and the smallest symbol version (level L) that holds it, 0 for none.

    `part` says which of several it is, None where it is all there is.
    """

    payload: str
    seqs: tuple[int, ...]
    version: int
    part: Part | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedLog:
    """What a payload held: the device, the canonical bytes of each record, and which part of a showing it was."""

    device: str
    contents: tuple[bytes, ...]
    part: Part | None


@cache
def return_table() -> ReturnTable:
    """Reads the table that phone and clinic share, and lets its text model read the primer, once."""
    file = static_folder() / "formats" / "return_table.json"
    return ReturnTable(json.loads(file.read_text(encoding="utf-8")))


def encode_frames(
    records: Sequence[Mapping[str, Any]],
    device_key: bytes,
    device: str,
    *,
    max_version: int | None = ONE_SYMBOL,
    table: ReturnTable | None = None,
) -> list[Frame]:
    """Makes sealed payloads of one device's records, in the order given, as few as symbols of `max_version` allow.

    A record that is too long for such a symbol gets a frame of its own, `Frame.version` says how large. None is for a
    file: as few frames as can be. Raises ReadingError for what is no record, ValueError for a record of another device.
    """
    used = table or return_table()
    if any(record.get("device") != device or record.get("format") != used.record_format for record in records):
        raise ValueError(f"a record that is not {used.record_format} of {device}")
    most = MOST_BODY_BYTES if max_version is None else most_body_bytes(max_version)
    bodies = _bodies(records, most, used)
    seqs = [record["seq"] for record in records]
    showing, of, frames = secrets.randbelow(256), len(bodies), list[Frame]()
    for at, (body, taken) in enumerate(bodies, 1):
        part = Part(showing=showing, at=at, of=of) if 1 < of <= MOST_PARTS else None
        payload = _seal(body, device_key, device, part)
        its, seqs = tuple(seqs[:taken]), seqs[taken:]
        frames.append(Frame(payload=payload, seqs=its, version=version_for(payload), part=part))
    return frames


def _bodies(records: Sequence[Mapping[str, Any]], most_bytes: int, table: ReturnTable) -> list[tuple[bytes, int]]:
    """Gives each body and how many records it holds; one of several leaves room to say which it is."""
    whole = table.encode_body(records, most_bytes)
    if whole[1] == len(records):
        return [whole] if records else []
    bodies: list[tuple[bytes, int]] = []
    at = 0
    while at < len(records):
        bodies.append(table.encode_body(records[at:], most_bytes - PART_BYTES))
        at += bodies[-1][1]
    return bodies


def _seal(body: bytes, device_key: bytes, device: str, part: Part | None) -> str:
    header, iv = make_header(device, len(body), part), secrets.token_bytes(IV_BYTES)
    return make_payload(header, iv, AESGCM(derive(device_key, "code")).encrypt(iv, body, header))


def decode_frame(
    payload: str, device_key_of: Callable[[str], bytes | None], *, table: ReturnTable | None = None
) -> OpenedLog:
    """Opens a payload: nothing in it is parsed before its seal was found right.

    `device_key_of` gives the key of a device, or None for a foreign one. Raises CodeError, whose `reason` says what is
    wrong. The contents still go through the intake: a device may seal what is no record.
    """
    opened = open_payload(payload)
    device_key = device_key_of(opened.device)
    if device_key is None:
        raise CodeError("foreign", opened.device)
    try:
        body = AESGCM(derive(device_key, "code")).decrypt(opened.iv, opened.sealed, opened.header)
    except InvalidTag as error:
        if opened.format not in (ALONE, PART):
            raise CodeError("newer", opened.device) from error
        raise CodeError("changed" if opened.has_its_length else "truncated", opened.device) from error
    if opened.format not in (ALONE, PART):
        raise CodeError("newer", opened.device, is_sealed=True)
    if opened.part and not opened.part.is_right:
        raise CodeError("malformed", opened.device, is_sealed=True)
    contents = (table or return_table()).decode_body(body, opened.device)
    return OpenedLog(device=opened.device, contents=contents, part=opened.part)
