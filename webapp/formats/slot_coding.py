"""Codes one field as its line of the table says; the same as in static/formats/slot_coding.js."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from webapp.formats.arithmetic import BodyError
from webapp.formats.decisions import Decisions
from webapp.formats.record_habits import Fields, RecordHabits

MOST_ENTRIES = 128
_USUAL_ENTRIES = 2
_MOST_CONTEXT = 6


def whole(value: object) -> int:
    """Gives a whole number, or 0 where there is none (when reading, nothing is given)."""
    return value if isinstance(value, int) else 0


def entry(value: object, n: int) -> int:
    """Gives entry n of a list, or the number itself; −1 where there is none."""
    if isinstance(value, list):
        return whole(value[n]) if n < len(value) else -1
    return value if isinstance(value, int) else -1


def _bounded(length: int) -> int:
    if not 0 <= length <= MOST_ENTRIES:
        raise BodyError("a list is too long")
    return length


class SlotCoding:
    """One field of one record under way; `name` is the field with its kind, `group` its exercise."""

    def __init__(
        self,
        *,
        bits: Decisions,
        habits: RecordHabits,
        slot: Mapping[str, Any],
        name: str,
        group: str,
        last: Fields,
        out: dict[str, Any],
    ) -> None:
        self._bits, self._habits, self._slot, self._name = bits, habits, slot, name
        self._group, self._last, self._out = group, last, out
        self._field: str = slot["field"]

    def code(self, given: object) -> int | list[int]:
        """Codes a number or a list of them; gives it."""
        if self._slot["code"] == "set":
            return self._code_set(given if isinstance(given, list) else [])
        if "list" in self._slot:
            return self._code_list(given if isinstance(given, list) else [])
        return self._code_entry(0, whole(given))

    def _code_set(self, given: list[int]) -> list[int]:
        same = list(self._last.get(self._field, ()))
        if not self._bits.bit(f"{self._name}~", int(given != same)):
            return same
        found: list[int] = []
        before = 0
        for n in range(_bounded(self._bits.count(f"{self._name}#", len(given)))):
            before += self._bits.number(f"{self._name}[", entry(given, n) - before)
            found.append(before)
        return found

    def _code_list(self, given: list[int]) -> list[int]:
        found: list[int] = []
        self._out[self._field] = found
        for n in range(self._code_size(self._slot["list"], len(given))):
            found.append(self._code_entry(n, entry(given, n)))
        return found

    def _code_size(self, of: str, length: int) -> int:
        usual = self._habits.sizes.get(of)
        if usual is None:
            size = self._bits.count(f"size {of}", length)
        else:
            size = usual + self._bits.number(f"resize {of}", length - usual)
        self._habits.sizes[of] = _bounded(size)
        return size

    def _code_entry(self, n: int, given: int) -> int:
        where = f"{self._name}({self._context(n)})"
        if self._slot["code"] == "symbol":
            return self._bits.symbol(where, self._slot["bits"], given)
        if self._slot["code"] == "steady":
            return self._code_steady(where, given)
        return self._code_number(where, n, given)

    def _code_steady(self, where: str, given: int) -> int:
        before = whole(self._last.get(self._field))
        if not self._bits.bit(f"{where}~", int(given != before)):
            return before
        unit: int = self._slot["unit"]
        step = unit if self._bits.bit(f"{where}%", int(given % unit == 0)) else 1
        return step * self._bits.number(f"{where}{step}", given // step)

    def _code_number(self, where: str, n: int, given: int) -> int:
        none = self._slot.get("not_answered")
        seen = self._last.get(self._field)
        if isinstance(seen, list):
            seen = seen[n] if n < len(seen) else None
        if none is not None and self._bits.bit(f"{where}!{int(seen == none)}", int(given == none)):
            return int(none)
        guess = self._guess_rated(n) if self._slot["code"] == "rate" else self._guess(n, seen)
        value = guess + self._bits.number(where, given - guess)
        self._see(n, value)
        return value

    def _see(self, n: int, value: int) -> None:
        self._habits.see_answer(self._field, n, value)
        if self._slot.get("from") in ("drift", "mean"):
            self._habits.see(self._field, value)
        if self._slot["code"] == "rate" and n:
            self._habits.steps[self._field] = value - self._out[self._field][0]
        elif self._slot["code"] == "rate":
            version = self._out.get("version", 0)
            self._habits.see_rate(self._field + self._group, version, value, self._out[self._slot["of"]])

    def _guess_rated(self, n: int) -> int:
        if n:
            return int(self._out[self._field][0]) + self._habits.steps.get(self._field, 0)
        return self._habits.by_rate(self._field + self._group, self._out[self._slot["of"]])

    def _guess(self, n: int, seen: int | None) -> int:
        source, none = self._slot.get("from"), self._slot.get("not_answered")
        if source is None:
            return 0
        known = seen if seen is not None and seen != none else self._habits.answered(self._field, n, self._first())
        if source == "last":
            return known
        if source == "drift":
            return self._habits.towards_mean(self._field, known)
        if source == "mean":
            return self._habits.mean(self._field, known)
        value = whole(self._out.get(source, self._habits.head.get(source)))
        return known if value == none else value

    def _first(self) -> int:
        return whole(self._slot.get("first"))

    def _context(self, n: int) -> str:
        found = (self._seen_by(one, n) for one in self._slot.get("context", ()))
        return ",".join(str(value) for value in found)

    def _seen_by(self, one: str | Mapping[str, Any], n: int) -> int:
        if one == "index":
            return min(n, 3)
        if isinstance(one, str):
            return self._moved(n)
        value = entry(self._last.get(one["last"]), n) if "last" in one else entry(self._out.get(one["now"]), n)
        return max(-1, min(value, int(one.get("most", _MOST_CONTEXT))))

    def _moved(self, n: int) -> int:
        before = self._last.get(self._field)
        if n < 1 or not before:
            return 3
        earlier, now = int(before[0]), int(self._out[self._field][0])
        return (now > earlier) - (now < earlier)
