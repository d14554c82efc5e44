"""Bodies that whoever holds a device's key might seal rightly to trouble the clinic, drawn from a seed."""

from __future__ import annotations

import random
from functools import cache

from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from tests.laws.any_records import DEVICE, any_log
from webapp.formats.record_coding import MOST_RECORDS
from webapp.formats.return_code import MOST_BODY_BYTES, CodeError, make_header, make_payload, open_payload
from webapp.returned_code import decode_frame, encode_frames
from webapp.sealing import derive

KEY = bytes(range(32))
MOST_CONTENT_BYTES = 4_000_000
REAL_LOGS = 40


@cache
def _real_bodies() -> tuple[bytes, ...]:
    """Makes the bodies of real logs, of one record and of many, that hostile ones are bent from."""
    bodies = []
    for seed in range(REAL_LOGS):
        log = any_log(seed, 1 + seed % 12)
        frame = open_payload(encode_frames(log, KEY, DEVICE, max_version=None)[0].payload)
        bodies.append(AESGCM(derive(KEY, "code")).decrypt(frame.iv, frame.sealed, frame.header))
    return tuple(bodies)


def hostile_body(seed: int) -> bytes:
    """Draws a body: bits flipped, cut, doubled, two spliced, runs put in, a real one's head before noise, noise."""
    chance = random.Random(seed)
    body = bytearray(chance.choice(_real_bodies()))
    way = chance.randrange(7)
    if way == 0:
        for _ in range(chance.randint(1, 8)):
            body[chance.randrange(len(body))] ^= 1 << chance.randrange(8)
    elif way == 1:
        del body[chance.randrange(len(body)) :]
    elif way == 2:
        body *= chance.randint(2, 20)
    elif way == 3:
        other = chance.choice(_real_bodies())
        body[chance.randrange(len(body)) :] = other[chance.randrange(len(other)) :]
    elif way == 4:
        at = chance.randrange(len(body))
        body[at:at] = bytes([chance.choice([0, 1, 127, 128, 255])]) * chance.choice([3, 100, 3_000])
    elif way == 5:
        body[chance.randint(1, 12) :] = chance.randbytes(chance.choice([10, 300, 1_500]))
    else:
        body[:] = chance.randbytes(chance.randint(0, 400))
    return bytes(body[:MOST_BODY_BYTES])


def what_comes_of(body: bytes) -> str:
    """Seals a body, reads it as the clinic does, and says what was wrong with that: "" where it was read or refused."""
    header = make_header(DEVICE, len(body))
    payload = make_payload(header, bytes(12), AESGCM(derive(KEY, "code")).encrypt(bytes(12), body, header))
    try:
        contents = decode_frame(payload, lambda _: KEY).contents
    except CodeError as error:
        return "" if (error.reason, error.is_sealed) == ("malformed", True) else f"refused as {error.reason}"
    except Exception as error:
        return f"failed with {type(error).__name__}: {error}"
    too_much = len(contents) > MOST_RECORDS or sum(map(len, contents)) > MOST_CONTENT_BYTES
    return f"gave {len(contents)} records, {sum(map(len, contents))} bytes" if too_much else ""
