"""A binary arithmetic coder: whole numbers only, byte for byte the same as static/formats/arithmetic.js.

The interval [low, high] has 32 bits and is kept without carries: as soon as the top bytes of both ends agree, that byte
is written. A chance is a whole number of 65,536ths, from 1 to 65,535.
"""

from __future__ import annotations

from typing import Protocol

HALF = 32_768
_TOP = 0xFFFFFFFF
_TOP_BYTE = 0xFF000000
_INTERVAL_BYTES = 4


class BodyError(ValueError):
    """The bytes are none that an encoder of this format writes."""


class BitCoder(Protocol):
    """Writes the bit it is given, or reads one and takes no notice of what it is given."""

    def code(self, bit: int, chance: int) -> int:
        """Codes one bit whose chance of being 1 is `chance` / 65,536; gives the bit."""


def _middle(low: int, high: int, chance: int) -> int:
    span = high - low
    # in two parts, so that no product passes 32 bits
    return low + (span >> 16) * chance + ((span & 0xFFFF) * chance >> 16)


class Encoder:
    """Codes bits into bytes."""

    def __init__(self) -> None:
        self._low = 0
        self._high = _TOP
        self._out = bytearray()

    def code(self, bit: int, chance: int) -> int:
        """Writes one bit; gives it back."""
        middle = _middle(self._low, self._high, chance)
        if bit:
            self._high = middle
        else:
            self._low = middle + 1
        while not (self._low ^ self._high) & _TOP_BYTE:
            self._out.append(self._high >> 24)
            self._low = (self._low << 8) & _TOP
            self._high = ((self._high << 8) & _TOP) | 0xFF
        return bit

    def copy(self) -> Encoder:
        """Gives an encoder that goes on from here by itself."""
        other = Encoder()
        other._low, other._high, other._out = self._low, self._high, bytearray(self._out)
        return other

    def finish(self) -> bytes:
        """Gives the bytes, with the shortest end that lies in the interval when zeros follow it."""
        for count in range(_INTERVAL_BYTES):
            unit = 1 << (32 - 8 * count)
            value = -(-self._low // unit) * unit
            if value <= self._high:
                return bytes(self._out) + (value >> (32 - 8 * count)).to_bytes(count, "big")
        return bytes(self._out) + self._low.to_bytes(_INTERVAL_BYTES, "big")


class Decoder:
    """Reads back what an `Encoder` wrote.

    Zeros follow the last byte. What an encoder wrote is read without looking further than one interval beyond it:
    there a BodyError is raised.
    """

    def __init__(self, data: bytes) -> None:
        self._length = len(data)
        self._data = data + bytes(_INTERVAL_BYTES)
        self._at = _INTERVAL_BYTES
        self._low = 0
        self._high = _TOP
        self._value = int.from_bytes(self._data[:_INTERVAL_BYTES], "big")

    def code(self, bit: int, chance: int) -> int:
        """Reads one bit whose chance of being 1 was `chance` / 65,536."""
        middle = _middle(self._low, self._high, chance)
        found = 1 if self._value <= middle else 0
        if found:
            self._high = middle
        else:
            self._low = middle + 1
        while not (self._low ^ self._high) & _TOP_BYTE:
            self._low = (self._low << 8) & _TOP
            self._high = ((self._high << 8) & _TOP) | 0xFF
            self._value = ((self._value << 8) & _TOP) | self._next()
        return found

    @property
    def has_read_all(self) -> bool:
        """Whether no byte is left over: none is where an encoder ended."""
        return self._at >= self._length

    def _next(self) -> int:
        if self._at >= len(self._data):
            raise BodyError("the body ends early")
        byte = self._data[self._at]
        self._at += 1
        return byte
