"""The device's keys: what a phone sends and what it is told carries a seal that only the two of them can make."""

from __future__ import annotations

import base64
import hashlib
import hmac
import secrets
from functools import lru_cache
from typing import Literal

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

Purpose = Literal["sync", "receipt", "code", "cookie"]
KEY_BYTES = 32


@lru_cache(maxsize=1024)
def derive(device_key: bytes, purpose: Purpose) -> bytes:
    """Derives the 32-byte key of one purpose: HKDF-SHA256 (RFC 5869), empty salt, info `wattlebird <purpose> 1`."""
    info = f"wattlebird {purpose} 1".encode()
    return HKDF(algorithm=hashes.SHA256(), length=KEY_BYTES, salt=b"", info=info).derive(device_key)


def seal(key: bytes, body: bytes) -> str:
    """Makes the seal of a body: HMAC-SHA256 in hex."""
    return hmac.new(key, body, hashlib.sha256).hexdigest()


def seal_is_right(key: bytes, body: bytes, given: str) -> bool:
    """Tells whether a seal belongs to a body, in the same time for every wrong one."""
    return hmac.compare_digest(seal(key, body).encode(), given.encode("utf-8", "replace"))


def sha256_hex(text: str) -> str:
    """Hashes a bearer token for storage: the database never holds the token itself."""
    return hashlib.sha256(text.encode()).hexdigest()


def _base32(random: bytes) -> str:
    return base64.b32encode(random).decode().rstrip("=").lower()


def new_token() -> str:
    """Draws a link's token: 160 bits, 32 characters of lower-case base32."""
    return _base32(secrets.token_bytes(20))


def new_handle() -> str:
    """Draws a phone's public handle: 80 bits, 16 characters of lower-case base32."""
    return _base32(secrets.token_bytes(10))


def new_device() -> str:
    """Draws a device's id: 64 bits, 16 hex digits."""
    return secrets.token_hex(8)


def new_device_key() -> bytes:
    """Draws a device's root key."""
    return secrets.token_bytes(KEY_BYTES)


def new_cookie() -> str:
    """Draws the value of a phone's cookie: 256 bits."""
    return secrets.token_urlsafe(32)


def rejoin_token(device_key: bytes, ends_ms: int) -> str:
    """Computes the re-join token of a device that ends at a moment: nothing readable has to be stored for it."""
    made = hmac.new(derive(device_key, "cookie"), f"rejoin {ends_ms}".encode(), hashlib.sha256).digest()
    return _base32(made[:20])
