"""What one phone's records have shown so far, from which the next one is guessed; the same as in record_habits.js.

Whole numbers only. Means are kept in 64ths, rates in 65,536ths; both follow the last sixteen values or so.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

_PARTS = 64
_MOST_SEEN = 16
_RATE_PARTS = 65_536
# a rate times what it is of stays below 2^53
MOST_RATED = 1 << 18

Fields = Mapping[str, Any]
NOTHING: Fields = {}


class RecordHabits:
    """Remembers the last records, what was answered last, running means and rates."""

    def __init__(self, head: Mapping[str, int]) -> None:
        self.head = dict(head)
        self.sizes: dict[str, int] = {}
        self.steps: dict[str, int] = {}
        self._last: dict[str, Fields] = {}
        self._answered: dict[str, int] = {}
        self._means: dict[str, tuple[int, int]] = {}
        self._rates: dict[str, tuple[int, int, int]] = {}

    def last(self, kind: str, group: str = "") -> Fields:
        """Gives the last record of a kind, where there is one the last of the same group (the same exercise)."""
        return self._last.get(kind + group, self._last.get(kind, NOTHING))

    def remember(self, kind: str, group: str, record: Fields) -> None:
        """Makes a record the last of its kind and of its group."""
        self._last[kind] = self._last[kind + group] = record

    def answered(self, field: str, n: int, first: int) -> int:
        """Gives what was answered last, by entry n of a list or by its first, or else a usual value."""
        return self._answered.get(f"{field} {n}", self._answered.get(f"{field} 0", first))

    def see_answer(self, field: str, n: int, value: int) -> None:
        """Notes an answer."""
        self._answered[f"{field} {n}"] = value

    def see(self, name: str, value: int) -> None:
        """Takes a value into a running mean."""
        mean, seen = self._means.get(name, (0, 0))
        seen = min(seen + 1, _MOST_SEEN)
        self._means[name] = (mean + (value * _PARTS + _PARTS // 2 - mean) // seen, seen)

    def mean(self, name: str, first: int) -> int:
        """Gives a running mean, rounded, or a usual value."""
        return self._means.get(name, (first * _PARTS, 0))[0] // _PARTS

    def towards_mean(self, name: str, value: int) -> int:
        """Draws a value by three eighths towards its running mean."""
        mean, seen = self._means.get(name, (0, 0))
        return (value * 5 * _PARTS + mean * 3 + 4 * _PARTS) // (8 * _PARTS) if seen else value

    def see_rate(self, name: str, version: int, value: int, of: int) -> None:
        """Takes value ÷ of into a running rate, which begins afresh with each version."""
        if not (0 < of <= MOST_RATED and 0 < value <= MOST_RATED):
            return
        now = value * _RATE_PARTS // of
        rate, rated, seen = self._rates.get(name, (0, version, 0))
        seen = min(seen + 1, _MOST_SEEN) if rated == version else 1
        self._rates[name] = (rate + (now - rate) // seen, version, seen)

    def by_rate(self, name: str, of: int) -> int:
        """Gives what the rate makes of a number, rounded; 0 where no rate is known."""
        rate = self._rates.get(name, (0, 0, 0))[0]
        return (of * rate + _RATE_PARTS // 2) // _RATE_PARTS if 0 < of <= MOST_RATED else 0
