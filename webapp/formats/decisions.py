"""Decisions between two, each with a chance that is learnt under a name; numbers and symbols are made of them.

A chance starts where the table says (or at one half) and moves to what it sees, fast at first: the n-th decision moves
it by about 2 / (2n + 3). Byte for byte the same as static/formats/decisions.js.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from webapp.formats.arithmetic import HALF, BitCoder, BodyError

LEAST, MOST = 100, 65_436
_ONE = 65_535
_MOST_SEEN = 250
_RATES = [131_072 // (2 * n + 3) for n in range(_MOST_SEEN + 1)]
# so that no number, sum or difference of two passes 2^53, up to which both languages are exact
MOST_DIGITS = 42
_NAMED_DIGITS = 3


class Decisions:
    """Codes decisions, symbols and numbers by the name of what they depend on.

    Each method takes the value to write and gives the value; when reading, what it is given does not matter.
    """

    def __init__(self, coder: BitCoder, start: Mapping[str, Sequence[int]]) -> None:
        self._coder = coder
        self._start = start
        self._learnt: dict[str, list[int]] = {}
        self.made = 0

    def bit(self, name: str, value: int) -> int:
        """Codes a 0 or 1."""
        self.made += 1
        learnt = self._learnt.get(name)
        if learnt is None:
            learnt = self._learnt[name] = list(self._start.get(name, (HALF, 0)))
        chance, seen = learnt
        value = self._coder.code(value, chance)
        moved = chance + (((_ONE if value else 0) - chance) * _RATES[seen] >> 16)
        learnt[0] = min(max(moved, LEAST), MOST)
        learnt[1] = min(seen + 1, _MOST_SEEN)
        return value

    def flat(self, bits: int, value: int) -> int:
        """Codes a whole number of so many bits, all equally likely."""
        found = 0
        for place in range(bits - 1, -1, -1):
            found = found * 2 + self._coder.code(value >> place & 1, HALF)
        return found

    def symbol(self, name: str, bits: int, value: int) -> int:
        """Codes one of 2^bits values, each learnt by itself."""
        node = 1
        for place in range(bits - 1, -1, -1):
            node = node * 2 + self.bit(f"{name}/{node}", value >> place & 1)
        return node - (1 << bits)

    def count(self, name: str, value: int) -> int:
        """Codes a whole number from 0: how many binary digits `value + 1` has after its first, then these."""
        more = (value + 1).bit_length() - 1
        digits = 0
        while self.bit(f"{name}+{digits}", int(more > digits)):
            digits += 1
            if digits > MOST_DIGITS:
                raise BodyError("a number is too large")
        found = 1
        for place in range(digits - 1, -1, -1):
            is_named = digits - place <= _NAMED_DIGITS
            digit = f"{name}={digits}.{found}" if is_named else f"{name}={digits}-{place}"
            found = found * 2 + self.bit(digit, value + 1 >> place & 1)
        return found - 1

    def number(self, name: str, value: int) -> int:
        """Codes a whole number: whether it is 0, its sign, its size."""
        if not self.bit(f"{name}?", int(value != 0)):
            return 0
        is_below = self.bit(f"{name}-", int(value < 0))
        size = self.count(name, max(abs(value) - 1, 0)) + 1
        return -size if is_below else size
