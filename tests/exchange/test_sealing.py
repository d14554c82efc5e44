"""The seals: the same keys in Python and on the phone, and nothing else opens them."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from hypothesis import given
from hypothesis import strategies as st

from webapp import sealing

KEY = bytes(range(32))
BODY = '{"device":"0123456789abcdef","note":"é"}'.encode()
PURPOSES: tuple[sealing.Purpose, ...] = ("sync", "receipt", "code", "cookie")


@pytest.mark.parametrize("purpose", PURPOSES)
def test_the_phone_makes_the_same_seal(root: Path, node: Path, purpose: sealing.Purpose) -> None:
    """Its own module, in its own language, from the same device key."""
    script = f"""
      const {{ rootKey, seal, sealIsRight }} = await import({json.dumps((root / "static/parts/sealing.js").as_uri())});
      const key = await rootKey(Uint8Array.from({list(KEY)})), body = Uint8Array.from({list(BODY)});
      const made = await seal(key, "{purpose}", body);
      const fits = (hex) => sealIsRight(key, "{purpose}", body, hex);
      console.log(made, await fits(made), await fits("00" + made));
    """
    ran = subprocess.run([node, "--input-type=module", "-e", script], capture_output=True, text=True, check=True)
    assert ran.stdout.split() == [sealing.seal(sealing.derive(KEY, purpose), BODY), "true", "false"]


def test_keys_are_derived_as_published() -> None:
    """RFC 5869, appendix A.3: SHA-256, no salt; the same library and call that `derive` uses."""
    made = HKDF(algorithm=hashes.SHA256(), length=42, salt=b"", info=b"").derive(bytes([0x0B]) * 22)
    assert made.hex() == ("8da4e775a563c18f715f802a063c5a31b8a11f5c5ee1879ec3454e5f3c738d2d9d201395faa4b61a96c8")


def test_each_purpose_has_a_key_of_its_own() -> None:
    """A seal for one thing says nothing about another."""
    assert len({sealing.derive(KEY, purpose) for purpose in PURPOSES}) == 4


@given(st.binary(max_size=200), st.integers(0, 199), st.integers(1, 255))
def test_a_changed_body_does_not_fit_its_seal(body: bytes, place: int, change: int) -> None:
    """Whichever byte was changed, and however."""
    key = sealing.derive(KEY, "sync")
    changed = bytearray(body or b"x")
    changed[place % len(changed)] ^= change
    assert not sealing.seal_is_right(key, bytes(changed), sealing.seal(key, body or b"x"))


@given(st.text(max_size=80))
def test_what_is_no_seal_opens_nothing(given_seal: str) -> None:
    """Any text may come in the header; it is refused, and breaks nothing."""
    assert not sealing.seal_is_right(sealing.derive(KEY, "sync"), BODY, given_seal)


def test_tokens_are_as_long_as_they_should_be() -> None:
    """160 bits in a link, 80 in a handle, 64 in a device's id, 256 in a cookie."""
    assert len(sealing.new_token()) == 32
    assert len(sealing.new_handle()) == 16
    assert len(sealing.new_device()) == 16
    assert len(sealing.new_cookie()) == 43
    assert len(sealing.new_device_key()) == 32
