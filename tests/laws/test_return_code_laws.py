"""Laws of the return code: nothing is lost or altered on the way, and nothing hostile keeps the reader busy."""

from __future__ import annotations

from typing import Any

from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.laws.any_records import DEVICE, any_log
from tests.laws.drawn import records
from webapp.formats.log_record import canonical, read_record
from webapp.formats.record_coding import MOST_RECORDS
from webapp.formats.return_code import CAPACITIES, CodeError, make_header, make_payload, open_payload
from webapp.returned_code import decode_frame, encode_frames
from webapp.sealing import derive

KEY = bytes(range(32))
IV = bytes(12)


def sealed(body: bytes) -> str:
    """Seals any body rightly."""
    header = make_header(DEVICE, len(body))
    return make_payload(header, IV, AESGCM(derive(KEY, "code")).encrypt(IV, body, header))


def read_back(log: list[dict[str, Any]], max_version: int | None) -> list[bytes]:
    """Sends a log through frames; gives the contents that arrive."""
    frames = encode_frames(log, KEY, DEVICE, max_version=max_version)
    return [content for frame in frames for content in decode_frame(frame.payload, lambda _: KEY).contents]


@settings(max_examples=100)
@given(st.integers(0, 2**63))
def test_ten_thousand_records_of_every_kind_arrive_byte_for_byte(seed: int) -> None:
    """canonical(decode(encode(r))) = canonical(r): known kinds and unknown, usual values and utmost."""
    log = any_log(seed, 100)
    contents = [canonical(record) for record in log]
    assert [read_record(content).content for content in contents] == contents
    assert read_back(log, None) == contents


@settings(max_examples=150)
@given(st.lists(records(), max_size=3), st.sampled_from([5, 10, 15, None]))
def test_any_log_arrives_in_frames_of_any_size(drawn: list[dict[str, Any]], max_version: int | None) -> None:
    """Whatever the largest symbol."""
    log = [{**record, "device": DEVICE} for record in drawn]
    assert read_back(log, max_version) == [canonical(record) for record in log]


@settings(max_examples=40)
@given(st.integers(0, 2**63), st.sampled_from([10, 15]))
def test_frames_fit_their_symbol_and_hold_each_record_once(seed: int, max_version: int) -> None:
    """A frame goes over only with one record alone that is too long for any such symbol."""
    log = any_log(seed, 12)
    frames = encode_frames(log, KEY, DEVICE, max_version=max_version)
    assert [seq for frame in frames for seq in frame.seqs] == [record["seq"] for record in log]
    for frame in frames:
        fits = len(frame.payload) <= CAPACITIES[max_version - 1]
        assert fits or len(frame.seqs) == 1
        assert fits == (0 < frame.version <= max_version)


@settings(max_examples=25)
@given(st.integers(0, 2**63), st.data())
def test_frames_may_be_lost_repeated_and_shuffled(seed: int, data: st.DataObject) -> None:
    """Each frame is read by itself, so those that arrive give exactly their records."""
    log = any_log(seed, 12)
    frames = encode_frames(log, KEY, DEVICE, max_version=10)
    contents = {record["seq"]: canonical(record) for record in log}
    for frame in data.draw(st.lists(st.sampled_from(frames), max_size=6)):
        assert decode_frame(frame.payload, lambda _: KEY).contents == tuple(contents[seq] for seq in frame.seqs)


def refusal(payload: str) -> CodeError | None:
    """Gives why a payload is refused, None where it is read; any other error goes through."""
    try:
        decode_frame(payload, lambda _: KEY)
    except CodeError as error:
        return error
    return None


RUNS = st.builds(lambda length, byte: bytes([byte]) * length, st.integers(0, 1500), st.integers(0, 255))


@settings(max_examples=400)
@given(st.binary(max_size=400) | RUNS)
def test_hostile_body_rightly_sealed_is_read_or_refused_within_bounds(body: bytes) -> None:
    """Whoever holds a key can make the reader neither fail otherwise nor give without end."""
    refused = refusal(sealed(body))
    if refused:
        assert (refused.reason, refused.is_sealed) == ("malformed", True)
        return
    contents = decode_frame(sealed(body), lambda _: KEY).contents
    assert len(contents) <= MOST_RECORDS
    assert sum(len(content) for content in contents) < 4_000_000


@settings(max_examples=60)
@given(st.integers(0, 2**63), st.data())
def test_body_altered_within_a_right_seal_is_read_or_refused(seed: int, data: st.DataObject) -> None:
    """One bit of a real log's body, changed by whoever holds the key."""
    frame = open_payload(encode_frames(any_log(seed, 5), KEY, DEVICE, max_version=None)[0].payload)
    body = bytearray(AESGCM(derive(KEY, "code")).decrypt(frame.iv, frame.sealed, frame.header))
    body[data.draw(st.integers(0, len(body) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    refused = refusal(sealed(bytes(body)))
    assert refused is None or refused.reason == "malformed"


@given(st.text() | st.text(st.sampled_from("0123456789ABCDEF $%*+-./:")).map(lambda text: f"WB:{text}"))
def test_any_text_is_refused_in_words(text: str) -> None:
    """Whatever a camera reads, nothing but a CodeError comes of it."""
    refused = refusal(text)
    assert refused is not None
    assert refused.reason in {"other", "truncated", "changed", "newer"}
