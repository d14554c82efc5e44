"""The end of a rest by voice: six digits that only the clinic and one phone can work out for a finding."""

from __future__ import annotations

import hashlib
import hmac

from webapp.sealing import derive

LABEL = b"wattlebird rest ended 1"  # longer than a receipt's message, so neither can stand for the other
OTHER_LABEL = b"wattlebird rest of another phone ended 1"
DIGITS = 6


def rest_digits(device_key: bytes, device: str, through: int) -> str:
    """Makes the six digits that end a phone's rest through a record of its log.

    HMAC-SHA-256 with the receipt key over the label, the 8 bytes of the device and `through` (8 bytes, big-endian);
    its first 8 bytes as a number, modulo a million.
    """
    return _digits(device_key, LABEL + bytes.fromhex(device) + through.to_bytes(8, "big"))


def other_rest_digits(device_key: bytes, device: str, of: str, through: int) -> str:
    """Makes the six digits that end, on a phone, the rest that another phone's record asked for.

    As above, over a label of its own, the 8 bytes of this phone and of the other one, and `through`.
    """
    return _digits(device_key, OTHER_LABEL + bytes.fromhex(device) + bytes.fromhex(of) + through.to_bytes(8, "big"))


def _digits(device_key: bytes, message: bytes) -> str:
    made = hmac.new(derive(device_key, "receipt"), message, hashlib.sha256).digest()
    return f"{int.from_bytes(made[:8], 'big') % 10**DIGITS:0{DIGITS}d}"
