"""A rest that the clinic asks for: an answer *not at home* after issue, or a therapist who lets practice rest a while.

It reaches the phones as the rest of a device that no phone is, and rests every exercise.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

CLINIC = "0" * 16  # stands where a phone's rest names the device whose record asks for it
NOT_AT_HOME, BY_WORD = "not_at_home", "by_word"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """One rest that the clinic asks for; `id` only ever grows, so a later one is told from one that is over.

    `row` is the screening's row that says *not at home*; `why` what a therapist wrote, `until` the day from which
    practice goes on by itself. `ended_why` is the reason of a lead's override.
    """

    id: int
    kind: str
    since_ms: int
    first_day: date
    by: str
    row: str = ""
    why: str = ""
    until: date | None = None
    ended_ms: int | None = None
    ended_day: date | None = None
    ended_by: str = ""
    ended_why: str = ""

    def holds(self, today: date) -> bool:
        """Tells whether practice rests by it today."""
        return self.ended_ms is None and (self.until is None or today < self.until)

    def days(self, today: date) -> frozenset[date]:
        """Gives the days, today included, on which nobody expects a session because of it."""
        ends = min(day for day in (self.ended_day, self.until, today + timedelta(days=1)) if day)
        return frozenset(self.first_day + timedelta(days=n) for n in range((ends - self.first_day).days))


def holding(holds: Iterable[Hold], today: date) -> tuple[Hold, ...]:
    """Picks those by which practice rests today, the oldest first."""
    return tuple(hold for hold in holds if hold.holds(today))


def stops(holds: Iterable[Hold]) -> tuple[Hold, ...]:
    """Picks those that stop the plan itself: no code, no new phone, no sheet until they are lifted."""
    return tuple(hold for hold in holds if hold.kind == NOT_AT_HOME)
