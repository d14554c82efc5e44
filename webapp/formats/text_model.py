"""Predicts the bits of short texts, learning as it goes: byte for byte the same as static/formats/text_model.js.

Seven contexts (none; the last 1 to 5 bytes; the word so far) each give a chance; a logistic mix of them, whose weights
are learnt too, gives the chance that is coded. Both ends start from the same primer text. Logistic mixing as published
for the PAQ family of compressors (M. Mahoney, Adaptive Weighing of Context Models, 2005); the figures are our own.
"""

from __future__ import annotations

from collections.abc import Iterable

from webapp.formats.arithmetic import HALF, BitCoder

_MASK = 0xFFFFFFFF
_KNOTS = (
    *(1, 2, 3, 6, 10, 16, 27, 45, 73, 120, 194, 310, 488, 747, 1101, 1546, 2047),
    *(2549, 2994, 3348, 3607, 3785, 3901, 3975, 4024, 4050, 4068, 4079, 4085, 4089, 4092, 4093, 4094),
)
_LAST = 2047
_CONTEXTS = 7
_LONGEST = 5
_WEIGHT, _WEIGHT_OF_NONE, _WEIGHT_STEP = 14_000, 9_000, 3_000
_MOST_WEIGHT = 65_535
_SHARES = 6
_MOST_SEEN = 127
_RATES = [131_072 // (2 * n + 3) for n in range(_MOST_SEEN + 1)]
_SHARE = [n if n < 4 else 4 if n < 12 else 5 for n in range(_MOST_SEEN + 1)]
_LEAST, _MOST = 32, 65_503
_LEAST_CODED, _MOST_CODED = 64, 65_472
_SPREAD, _MIX, _STIR, _WORD = 0x9E3779B1, 0x2C1B3C6D, 0x297A2D39, 0x2F0B4C47
_FIFTH = 0x85EBCA6B


def squash(x: int) -> int:
    """Turns a logistic value (256 is 1 nat) into a chance of 4,096ths, by straight lines between 33 points."""
    if x > _LAST:
        return 4095
    if x < -_LAST:
        return 0
    at, part = (x >> 7) + 16, x & 127
    return (_KNOTS[at] * (128 - part) + _KNOTS[at + 1] * part + 64) >> 7


def _stretched() -> list[int]:
    """The inverse of `squash`: for each chance the least value that gives it or more."""
    table: list[int] = []
    for x in range(-_LAST, _LAST + 1):
        table.extend([x] * (squash(x) + 1 - len(table)))
    return table + [_LAST] * (4096 - len(table))


_STRETCH = _stretched()
Learnt = dict[int, list[int]]
_UNSEEN = (HALF, 0)


class _GivenBits:
    """Hands out the bits of a text that both ends know already."""

    def code(self, bit: int, chance: int) -> int:
        return bit


class TextModel:
    """Codes bytes by what came before them.

    `primed` is a model whose learning this one starts from; it is not changed, so many texts can start from one primer.
    """

    def __init__(self, primed: TextModel | None = None) -> None:
        self._base: list[Learnt] = primed._learnt if primed else [{} for _ in range(_CONTEXTS)]
        self._learnt: list[Learnt] = [{} for _ in range(_CONTEXTS)]
        self._weights: list[list[int]] = [list(row) for row in primed._weights] if primed else _first_weights()
        self._last_four: int = primed._last_four if primed else 0
        self._fifth: int = primed._fifth if primed else 0
        self._word: int = primed._word if primed else 0
        self._hashes = self._hash_contexts()
        self._rows = list(zip(range(_CONTEXTS), self._learnt, self._base, self._weights, strict=True))

    @classmethod
    def reading(cls, text: bytes) -> TextModel:
        """Makes a model that has read a text."""
        model, given = cls(), _GivenBits()
        for byte in text:
            model.code(given, byte)
        return model

    def code(self, coder: BitCoder, byte: int) -> int:
        """Codes one byte; gives it."""
        node = 1
        for place in range(7, -1, -1):
            node = node * 2 + self._code_bit(coder, node, byte >> place & 1)
        self._see(node & 0xFF)
        return node & 0xFF

    # The two methods below run for every bit: what would be clearer in small functions is written out, for speed.

    def _code_bit(self, coder: BitCoder, node: int, bit: int) -> int:
        found: list[tuple[list[int], int, list[int]]] = []
        total, step = 0, node * _SPREAD
        for context, learnt, base, row in self._rows:
            key = (self._hashes[context] + step) & _MASK
            one = learnt.get(key)
            if one is None:
                one = learnt[key] = list(base.get(key, _UNSEEN))
            given = _STRETCH[one[0] >> 4] if one[1] else 0
            total += row[_SHARE[one[1]]] * given
            found.append((one, given, row))
        mixed = squash(total >> 16)
        bit = coder.code(bit, min(max(mixed * 16 + 8, _LEAST_CODED), _MOST_CODED))
        self._learn(found, 65_535 if bit else 0, (bit << 12) - mixed)
        return bit

    def _learn(self, found: Iterable[tuple[list[int], int, list[int]]], goal: int, error: int) -> None:
        for one, given, row in found:
            chance, seen = one
            share = _SHARE[seen]
            weight = row[share] + ((given * error + 512) >> 10)
            is_within = -_MOST_WEIGHT < weight < _MOST_WEIGHT
            row[share] = weight if is_within else _MOST_WEIGHT if weight > 0 else -_MOST_WEIGHT
            chance += (goal - chance) * _RATES[seen] >> 16
            one[0] = chance if _LEAST < chance < _MOST else min(max(chance, _LEAST), _MOST)
            if seen < _MOST_SEEN:
                one[1] = seen + 1

    def _see(self, byte: int) -> None:
        self._fifth = self._last_four >> 24
        self._last_four = (self._last_four << 8 | byte) & _MASK
        lower = byte | 0x20
        is_letter = ord("a") <= lower <= ord("z") or byte >= 128
        self._word = (self._word * _WORD + lower + 1) & _MASK if is_letter else 0
        self._hashes = self._hash_contexts()

    def _hash_contexts(self) -> list[int]:
        hashes = [0]
        for length in range(1, _LONGEST + 1):
            part = self._last_four & ((1 << 8 * length) - 1)
            further = self._fifth * _FIFTH if length == _LONGEST else 0
            mixed = (part * _MIX + length * _SPREAD + further) & _MASK
            hashes.append((mixed ^ mixed >> 15) * _STIR & _MASK)
        return [*hashes, (self._word * _MIX + _CONTEXTS * _SPREAD) & _MASK]


def _first_weights() -> list[list[int]]:
    starts = [_WEIGHT_OF_NONE] + [_WEIGHT] * (_CONTEXTS - 1)
    return [[start + _WEIGHT_STEP * share for share in range(_SHARES)] for start in starts]
