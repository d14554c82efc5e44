"""The returned log as QR payloads: self-contained frames, each a small log with its own header and seal.

A payload is `WB:` and the frame in base45 (RFC 9285): letters of the QR alphanumeric mode. A frame is

- 2 bytes: the number of the format (4 bits), the length of the frame (12 bits, modulo 4,096);
- 8 bytes: the device;
- in format 2, 3 bytes: a random number that all frames of one showing share, which of them this is, how many there are;
- 12 bytes: the random initialisation vector; then the sealed body and its 16-byte tag (AES-256-GCM).

What stands before the initialisation vector is the header, bound into the seal as associated data. Format 1 is a
frame that is all of what is shown; format 2 is one of several: a reader without key or server knows what it missed.

The body, inside the seal, is one arithmetic-coded stream: before each record a *more* flag, then the record as the
table says (`record_coding`). Later formats keep header and seal. Its twin static/formats/return_code.js only writes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from webapp.formats import base45
from webapp.formats.arithmetic import BodyError, Decoder, Encoder
from webapp.formats.log_record import canonical
from webapp.formats.reading import ReadingError
from webapp.formats.record_coding import RecordCoding
from webapp.formats.text_model import TextModel

PREFIX = "WB:"
ALONE, PART = 1, 2
HEADER_BYTES, PART_BYTES, IV_BYTES, TAG_BYTES = 10, 3, 12, 16
ENVELOPE_BYTES = HEADER_BYTES + IV_BYTES + TAG_BYTES
MOST_PARTS = 255
_LENGTHS = 0x1000
_MORE = 64_512
# a frame without a symbol (in a file) ends here at the latest; the longest record is half of it
MOST_BODY_BYTES = 131_072
MOST_LETTERS = 200_000
# letters of a symbol of version 1 to 40, level L, alphanumeric mode: ISO/IEC 18004, table of capacities
CAPACITIES = (
    *(25, 47, 77, 114, 154, 195, 224, 279, 335, 395, 468, 535, 619, 667, 758, 854, 938, 1046, 1153, 1249),
    *(1352, 1460, 1588, 1704, 1853, 1990, 2132, 2223, 2369, 2520, 2677, 2840, 3009, 3183, 3351, 3537, 3729, 3927),
    *(4087, 4296),
)
MOST_VERSION = len(CAPACITIES)

Reason = Literal["other", "truncated", "foreign", "changed", "newer", "malformed"]


class CodeError(ValueError):
    """A payload that cannot be taken in.

    `reason`: `other` (no code of ours), `truncated`, `foreign` (a device without a key here), `changed` (the seal is
    not right), `newer` (a format not known here; `is_sealed` says whether its seal is right), `malformed` (rightly
    sealed, but not what this format holds). `device` where it was read.
    """

    def __init__(self, reason: Reason, device: str = "", *, is_sealed: bool = False) -> None:
        super().__init__(reason)
        self.reason: Reason = reason
        self.device = device
        self.is_sealed = is_sealed


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Which frame of how many this is, counted from 1; `showing` is the number that all of them share."""

    showing: int
    at: int
    of: int

    @property
    def is_right(self) -> bool:
        return 1 <= self.at <= self.of


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedFrame:
    """A payload taken apart, its seal not yet looked at; `part` is None for a frame that is all of what was shown."""

    format: int
    device: str
    part: Part | None
    header: bytes
    iv: bytes
    sealed: bytes
    has_its_length: bool


class ReturnTable:
    """The table of fields, contexts and starting chances, with the text model that has read its primer."""

    def __init__(self, table: Mapping[str, Any]) -> None:
        self.table = table
        self.record_format: str = table["record"]
        self.primed = TextModel.reading(b"".join(note.encode() + b"\0" for note in table["primer"]))

    def encode_body(self, records: Sequence[Mapping[str, Any]], most_bytes: int = MOST_BODY_BYTES) -> tuple[bytes, int]:
        """Codes as many records as fit, at least one; gives the body and how many it holds.

        The records are of one device, in the order of their seq. Raises ReadingError for one that is no record.
        """
        encoder = Encoder()
        coding = RecordCoding(encoder, self.table, self.primed)
        body, taken = b"", 0
        for record in records:
            encoder.code(1, _MORE)
            coding.code(_without_header(record))
            ended = encoder.copy()
            ended.code(0, _MORE)
            longer = ended.finish()
            if taken and (coding.is_spent or len(longer) > most_bytes):
                break
            body, taken = longer, taken + 1
        return body, taken

    def decode_body(self, body: bytes, device: str) -> tuple[bytes, ...]:
        """Gives the canonical bytes of each record; raises CodeError `malformed`, in bounded time and memory."""
        decoder = Decoder(body)
        coding = RecordCoding(decoder, self.table, self.primed)
        found: list[bytes] = []
        try:
            while decoder.code(0, _MORE):
                record = {**coding.code({}), "device": device, "format": self.record_format}
                found.append(canonical(record))
                if coding.is_spent and len(found) > 1:
                    raise BodyError("more than a frame may hold")
            if not found or not decoder.has_read_all:
                raise BodyError("no record, or something after the last")
        except (BodyError, ReadingError, UnicodeDecodeError) as error:
            raise CodeError("malformed", device, is_sealed=True) from error
        return tuple(found)


def _without_header(record: Mapping[str, Any]) -> dict[str, Any]:
    canonical(record)
    return {name: value for name, value in record.items() if name not in ("device", "format")}


def most_body_bytes(version: int) -> int:
    """Gives the longest body that a symbol of a version holds."""
    letters = CAPACITIES[version - 1] - len(PREFIX)
    return letters // 3 * 2 + (letters % 3 == 2) - ENVELOPE_BYTES


def version_for(payload: str) -> int:
    """Gives the smallest symbol version that holds a payload; 0 where none does."""
    return next((n for n, most in enumerate(CAPACITIES, 1) if len(payload) <= most), 0)


def make_header(device: str, body_bytes: int, part: Part | None = None) -> bytes:
    """Writes the header of a frame whose body has so many bytes."""
    counted = bytes((part.showing, part.at, part.of)) if part else b""
    length = (body_bytes + ENVELOPE_BYTES + len(counted)) % _LENGTHS
    return ((PART if part else ALONE) * _LENGTHS + length).to_bytes(2, "big") + bytes.fromhex(device) + counted


def make_payload(header: bytes, iv: bytes, sealed: bytes) -> str:
    """Writes a frame as the letters of a symbol."""
    return PREFIX + base45.encode(header + iv + sealed)


def open_payload(payload: str) -> OpenedFrame:
    """Takes a payload apart; raises CodeError `other`, `truncated` or `changed`."""
    text = payload.strip()  # base45 never ends in a space
    if not text.startswith(PREFIX) or len(text) > MOST_LETTERS:
        raise CodeError("other")
    frame = _read_letters(text.removeprefix(PREFIX))
    counted = PART_BYTES if frame[:1] and frame[0] >> 4 >= PART else 0
    ends = HEADER_BYTES + counted
    if len(frame) < ENVELOPE_BYTES + counted:
        raise CodeError("truncated")
    return OpenedFrame(
        format=frame[0] >> 4,
        device=frame[2:HEADER_BYTES].hex(),
        part=Part(showing=frame[10], at=frame[11], of=frame[12]) if counted else None,
        header=frame[:ends],
        iv=frame[ends : ends + IV_BYTES],
        sealed=frame[ends + IV_BYTES :],
        has_its_length=len(frame) % _LENGTHS == _stated_length(frame),
    )


def _stated_length(frame: bytes) -> int:
    return int.from_bytes(frame[:2], "big") % _LENGTHS


def _read_letters(letters: str) -> bytes:
    try:
        return base45.decode(letters)
    except ValueError as error:
        raise CodeError("truncated" if _is_cut(letters) else "changed") from error


def _is_cut(letters: str) -> bool:
    """Tells letters that end in the middle of a group, too early, from letters that no encoder writes."""
    rest = len(letters) % 3
    try:
        begun = base45.decode(letters[: len(letters) - rest])
    except ValueError:
        return False
    return len(begun) < ENVELOPE_BYTES or (len(begun) + rest // 2) % _LENGTHS != _stated_length(begun)
