"""Base45 (RFC 9285): two bytes as three letters of the QR alphanumeric set, the lowest digit first."""

from __future__ import annotations

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
_VALUES = {letter: value for value, letter in enumerate(ALPHABET)}


def encode(data: bytes) -> str:
    """Writes bytes as letters."""
    letters: list[str] = []
    for at in range(0, len(data), 2):
        pair = data[at : at + 2]
        value = int.from_bytes(pair, "big")
        for _ in range(len(pair) + 1):
            letters.append(ALPHABET[value % 45])
            value //= 45
    return "".join(letters)


def decode(text: str) -> bytes:
    """Reads bytes back; raises ValueError for a letter, a length or a group that no encoder writes."""
    data = bytearray()
    for at in range(0, len(text), 3):
        group = text[at : at + 3]
        if not all(letter in _VALUES for letter in group) or len(group) == 1:
            raise ValueError(f"not base45 at letter {at}")
        value = sum(_VALUES[letter] * 45**place for place, letter in enumerate(group))
        if value >> 8 * (len(group) - 1):
            raise ValueError(f"not base45 at letter {at}")
        data += value.to_bytes(len(group) - 1, "big")
    return bytes(data)
