"""The clinic's own measures of a client: what was measured when, and whether the change is one that matters."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import isclose

MORE, LESS = "more", "less"  # which direction is better
DIRECTIONS = (MORE, LESS)
TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """What is measured; `smallest_change` is the least that matters, None where nobody knows one."""

    number: int
    name: str
    unit: str
    direction: str
    smallest_change: float | None = None
    source: str = ""  # where the smallest change comes from


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One measurement."""

    measure: int
    day: date
    value: float
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """First reading against last."""

    measure: Measure
    first: Reading
    last: Reading

    @property
    def difference(self) -> float:
        return self.last.value - self.first.value

    @property
    def verdict(self) -> str:
        """Says one of: same, better, worse (by what matters), less (than matters), unknown (what matters)."""
        if isclose(self.difference, 0, abs_tol=TOLERANCE):
            return "same"
        least = self.measure.smallest_change
        if least is None:
            return "unknown"
        if abs(self.difference) < least * (1 - TOLERANCE):
            return "less"
        return "better" if (self.difference > 0) == (self.measure.direction == MORE) else "worse"


def of_measure(measure: Measure, readings: Iterable[Reading], first: date = date.min,
               last: date = date.max) -> tuple[Reading, ...]:
    """Lists the readings of a measure in a period, oldest first; of several on one day the one noted last counts."""
    by_day = {r.day: r for r in readings if r.measure == measure.number and first <= r.day <= last}
    return tuple(by_day[day] for day in sorted(by_day))


def change(measure: Measure, readings: Sequence[Reading], first: date = date.min,
           last: date = date.max) -> Change | None:
    """Compares the first reading of a period with its last; None where there are not two."""
    found = of_measure(measure, readings, first, last)
    return Change(measure=measure, first=found[0], last=found[-1]) if len(found) > 1 else None
