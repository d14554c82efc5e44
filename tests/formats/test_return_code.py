"""The return code on the clinic's side: the shared vectors, the seal, each refusal by its name, and real QR symbols."""

from __future__ import annotations

import io
import json
from typing import Any

import pytest
import qrcode  # type: ignore[import-untyped]
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from PIL import Image
from qrcode.util import MODE_ALPHA_NUM, QRData  # type: ignore[import-untyped]

from tests.bench.mixed_log import mixed_log
from tests.bench.train_return_table import written as table_text
from tests.qr_reader import read_codes
from tests.vectors.laying_over import load
from webapp.formats import base45
from webapp.formats.log_record import canonical
from webapp.formats.return_code import (
    CAPACITIES,
    ENVELOPE_BYTES,
    MOST_LETTERS,
    PART_BYTES,
    PREFIX,
    CodeError,
    Part,
    make_header,
    make_payload,
    most_body_bytes,
    open_payload,
)
from webapp.returned_code import Frame, decode_frame, encode_frames, return_table
from webapp.sealing import derive

VECTORS = load("return_code")
DEVICE: str = VECTORS["device"]
KEY = bytes.fromhex(VECTORS["device_key"])
LOGS = [pytest.param(log, id=log["name"]) for log in VECTORS["logs"]]
PAYLOAD: str = VECTORS["logs"][1]["payload"]
FRAME = base45.decode(PAYLOAD.removeprefix(PREFIX))
PART_OF_MANY = base45.decode(VECTORS["parts"][0]["payload"].removeprefix(PREFIX))


def refusal(payload: str) -> CodeError:
    """Gives why a payload is refused by a clinic that knows one device."""
    with pytest.raises(CodeError) as caught:
        decode_frame(payload, {DEVICE: KEY}.get)
    return caught.value


def written(frame: bytes) -> str:
    """Writes the bytes of a frame as a payload."""
    return PREFIX + base45.encode(frame)


def seal(body: bytes, iv: bytes, header: bytes, key: bytes = KEY) -> str:
    """Seals a body by hand."""
    return make_payload(header, iv, AESGCM(derive(key, "code")).encrypt(iv, body, header))


@pytest.mark.parametrize(
    ("data", "letters"),
    [(b"AB", "BB8"), (b"Hello!!", "%69 VD92EX0"), (b"base-45", "UJCLQE7W581"), (b"ietf!", "QED8WEX0"), (b"", "")],
)
def test_base45_is_that_of_its_standard(data: bytes, letters: str) -> None:
    """The examples of RFC 9285, sections 4.3 and 4.4."""
    assert base45.encode(data) == letters
    assert base45.decode(letters) == data


@pytest.mark.parametrize("letters", ["A", "AAAA", "ab8", "BB8_", "GGW", ":::", "::"])
def test_base45_refuses_what_its_standard_refuses(letters: str) -> None:
    """RFC 9285, section 6: a letter outside the set, a length, a group above 65,535 (GGW is 65,536) or 255."""
    with pytest.raises(ValueError, match="not base45"):
        base45.decode(letters)


@pytest.mark.parametrize("log", LOGS)
def test_vectors_are_met(log: dict[str, Any]) -> None:
    """Records to body to payload and back, byte for byte."""
    body, taken = return_table().encode_body(log["records"])
    assert (body.hex(), taken) == (log["body"], len(log["records"]))
    assert seal(body, bytes.fromhex(log["iv"]), make_header(DEVICE, len(body))) == log["payload"]
    opened = decode_frame(log["payload"], {DEVICE: KEY}.get)
    assert opened.device == DEVICE
    assert list(opened.contents) == [canonical(record) for record in log["records"]]


@pytest.mark.parametrize("part", VECTORS["parts"], ids=["2 of 3", "255 of 255"])
def test_parts_meet_their_vectors(part: dict[str, Any]) -> None:
    """Which of how many stands before the seal, so that a reader without a key knows what it missed."""
    [log] = [one for one in VECTORS["logs"] if one["name"] == part["log"]]
    counted = Part(showing=part["showing"], at=part["at"], of=part["of"])
    body = bytes.fromhex(log["body"])
    assert seal(body, bytes.fromhex(part["iv"]), make_header(DEVICE, len(body), counted)) == part["payload"]
    opened = decode_frame(part["payload"], {DEVICE: KEY}.get)
    assert (opened.part, len(opened.contents)) == (counted, len(log["records"]))


def test_a_part_that_cannot_be_is_malformed() -> None:
    """Rightly sealed, but none of so many."""
    body = bytes.fromhex(VECTORS["logs"][0]["body"])
    for at, of in ((0, 3), (4, 3), (0, 0)):
        refused = refusal(seal(body, bytes(12), make_header(DEVICE, len(body), Part(showing=1, at=at, of=of))))
        assert (refused.reason, refused.is_sealed) == ("malformed", True)


def test_frames_of_a_showing_say_which_they_are() -> None:
    """One that is all there is says nothing of it and is no byte longer; two showings are told apart."""
    assert [one.part for one in encode_frames(VECTORS["logs"][1]["records"], KEY, DEVICE)] == [None]
    log = mixed_log(90, 11)
    frames = encode_frames(log, KEY, DEVICE, max_version=10)
    parts = [one.part for one in frames if one.part]
    assert [one.at for one in parts] == list(range(1, len(frames) + 1))
    assert {one.of for one in parts} == {len(frames)}
    assert [decode_frame(one.payload, {DEVICE: KEY}.get).part for one in frames] == parts
    again = [one.part for _ in range(5) for one in encode_frames(log[:40], KEY, DEVICE, max_version=5)]
    assert len({one.showing for one in again if one}) > 1


@pytest.mark.parametrize("frame", [FRAME, PART_OF_MANY], ids=["alone", "one of many"])
def test_every_single_bit_flip_is_refused(frame: bytes) -> None:
    """Header, initialisation vector, body and tag alike."""
    for at in range(8 * len(frame)):
        flipped = bytearray(frame)
        flipped[at // 8] ^= 1 << at % 8
        in_device, in_format = 16 <= at < 80, at % 8 >= 4 and at < 8
        in_length = at < 16 and not in_format
        reason = "foreign" if in_device else "newer" if in_format else "truncated" if in_length else "changed"
        refused = refusal(written(bytes(flipped)))
        assert (refused.reason, refused.is_sealed) == (reason, False), at


@pytest.mark.parametrize("frame", [FRAME, PART_OF_MANY], ids=["alone", "one of many"])
def test_every_truncation_is_refused_as_one(frame: bytes) -> None:
    """Wherever the letters or the bytes end; within the prefix it is no code at all."""
    payload = written(frame)
    for length in range(len(payload)):
        assert refusal(payload[:length]).reason == ("truncated" if length >= len(PREFIX) else "other"), length
    for length in range(len(frame)):
        assert refusal(written(frame[:length])).reason == "truncated", length


def test_every_changed_letter_is_refused() -> None:
    """Another letter of the set, and one outside it."""
    for at in range(len(PREFIX), len(PAYLOAD)):
        for letter in ("0" if PAYLOAD[at] != "0" else "1", "_"):
            assert refusal(PAYLOAD[:at] + letter + PAYLOAD[at + 1 :]).reason in {
                "changed", "foreign", "newer", "truncated"}  # fmt: skip


def test_other_texts_are_no_codes() -> None:
    """Nor is what is longer than any frame."""
    for text in ("", "https://example.org/", "HC1:6BF", "wb:" + PAYLOAD[3:], PREFIX + "0" * MOST_LETTERS):
        assert refusal(text).reason == "other"


def test_foreign_device_is_named() -> None:
    """A phone of another practice, or one that was never given a key here."""
    other = seal(b"", bytes(12), make_header("00" * 8, 0), bytes(32))
    refused = refusal(other)
    assert (refused.reason, refused.device) == ("foreign", "00" * 8)


def test_key_of_another_device_opens_nothing() -> None:
    """A frame under one device's name with another's seal."""
    assert refusal(seal(bytes(9), bytes(12), make_header(DEVICE, 9), bytes(32))).reason == "changed"


def test_splice_and_header_swap_are_refused() -> None:
    """Parts of two good frames make no good one."""
    other = base45.decode(VECTORS["logs"][2]["payload"].removeprefix(PREFIX))
    assert refusal(written(other[:22] + FRAME[22:])).reason in {"changed", "truncated"}
    assert refusal(written(FRAME[:10] + other[10 : len(FRAME)])).reason == "changed"
    assert refusal(written(FRAME[:10] + other[10:22] + FRAME[22:])).reason == "changed"
    assert refusal(written(FRAME + other)).reason == "truncated"
    assert refusal(written(PART_OF_MANY[:10] + PART_OF_MANY[13:])).reason == "truncated"
    assert refusal(written(PART_OF_MANY[:11] + b"\1" + PART_OF_MANY[12:])).reason == "changed"
    assert refusal(written(FRAME[:2] + PART_OF_MANY[2:])).reason in {"changed", "truncated"}


def test_newer_format_is_named_and_its_seal_told() -> None:
    """A later app's frame keeps header and seal, so it can be kept until this side is newer too."""
    header = bytes([0x30 | FRAME[0] & 0x0F]) + FRAME[1:13]
    refused = refusal(seal(bytes(len(FRAME) - ENVELOPE_BYTES - PART_BYTES), bytes(12), header))
    assert (refused.reason, refused.is_sealed, refused.device) == ("newer", True, DEVICE)
    assert not refusal(written(header + FRAME[13:])).is_sealed


def test_sealed_nonsense_is_malformed() -> None:
    """The seal is right, the contents are none of ours."""
    body = bytes.fromhex(VECTORS["logs"][1]["body"])
    for wrong in (b"", b"\xff" * 40, bytes(40), body[:-3], body + body):
        refused = refusal(seal(wrong, bytes(12), make_header(DEVICE, len(wrong))))
        assert (refused.reason, refused.is_sealed) == ("malformed", True)


def test_every_frame_has_its_own_initialisation_vector() -> None:
    """The same records twice make different frames, and both are read."""
    frames = [encode_frames(VECTORS["logs"][0]["records"], KEY, DEVICE)[0] for _ in range(50)]
    assert len({open_payload(frame.payload).iv for frame in frames}) == 50
    assert len({decode_frame(frame.payload, {DEVICE: KEY}.get).contents for frame in frames}) == 1


def test_replayed_frame_gives_the_same_records() -> None:
    """The intake sees that they are here already; reading has no memory."""
    assert decode_frame(PAYLOAD, {DEVICE: KEY}.get) == decode_frame(f" {PAYLOAD}\n", {DEVICE: KEY}.get)


def test_records_of_another_device_are_not_sealed_with_this_key() -> None:
    """Nor what is no record."""
    record = VECTORS["logs"][0]["records"][0]
    for wrong in ({**record, "device": "00" * 8}, {**record, "format": "wattlebird.record/2"}):
        with pytest.raises(ValueError, match="not wattlebird"):
            encode_frames([wrong], KEY, DEVICE)
    assert encode_frames([], KEY, DEVICE) == []


def test_capacities_are_those_of_the_symbols() -> None:
    """ISO/IEC 18004, level L, alphanumeric: compared with the tables of an independent writer."""
    for version, most in enumerate(CAPACITIES, 1):
        assert smallest_version("A" * most) == version
        assert version == 40 or smallest_version("A" * (most + 1)) == version + 1
    assert (most_body_bytes(10) + ENVELOPE_BYTES, most_body_bytes(15) + ENVELOPE_BYTES) == (261, 503)


def smallest_version(text: str) -> int:
    """Asks the independent writer for the smallest symbol."""
    code = qrcode.QRCode(error_correction=qrcode.ERROR_CORRECT_L)
    code.add_data(QRData(text, mode=MODE_ALPHA_NUM), optimize=0)
    found: int = code.best_fit()
    return found


@pytest.mark.parametrize("max_version", [10, 15])
def test_independent_writer_and_reader_carry_a_log(max_version: int) -> None:
    """qrcode draws each frame at its version, zxing-cpp reads the picture, and the log is whole."""
    log = mixed_log(90, 11)
    frames = encode_frames(log, KEY, DEVICE, max_version=max_version)
    assert len(frames) > 1
    contents = [decode_frame(seen(frame), {DEVICE: KEY}.get).contents for frame in frames]
    assert [one for frame in contents for one in frame] == [canonical(record) for record in log]


def seen(frame: Frame) -> str:
    """Draws a frame as a symbol of its version and reads the picture."""
    code = qrcode.QRCode(version=frame.version, error_correction=qrcode.ERROR_CORRECT_L, box_size=3)
    code.add_data(QRData(frame.payload, mode=MODE_ALPHA_NUM), optimize=0)
    code.make(fit=False)
    drawn = io.BytesIO()
    code.make_image().save(drawn)
    [text] = read_codes(Image.open(drawn))
    return text


def test_table_is_written_as_the_training_writes_it(root: Any) -> None:
    """So that learning anew changes chances only."""
    text = (root / "static/formats/return_table.json").read_text(encoding="utf-8")
    assert table_text(json.loads(text)) == text
