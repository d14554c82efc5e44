"""From when on a client needs a look: the clinic's own thresholds, each with its default, range and reason.

What needs an answer whatever the clinic thinks has none: a skin finding, feeling unwell, records that do not fit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from types import MappingProxyType


@dataclass(frozen=True, slots=True, kw_only=True)
class Thresholds:
    """Whole numbers with their unit in the name; a page says each one's reason (`threshold.<name>.why`)."""

    quiet_days: int = 4  # two missed days are a weekend, four a pattern that a call may still turn; common practice
    silent_days: int = 7  # one clinic visit a week: no log for a week means that the next visit starts blind; ours
    unopened_days: int = 2  # the phone is set up before the client leaves the room; ours
    ends_within_days: int = 7  # the plan's last day comes before or at the next weekly visit; ours
    low_percent: int = 70  # "adherent" is over 70 % of the dose in a measure for stroke (reference.md §9 [S62])
    low_days: int = 14  # looked at over two weeks, so that one bad day does not decide
    low_due_n: int = 4  # and only where enough was due
    above_by: int = 0  # mA or levels above the ceiling of the plan: above is above
    different_percent: int = 3  # no clock is 3 % off: the unit is set differently from the plan; ours
    pain_severe_n: int = 7  # 7 to 10 is severe (reference.md §5 [S48])
    pain_rise_n: int = 2  # a change of two points is meaningful (reference.md §5 [S47])
    looks_n: int = 2  # one look forgotten is life, two are a habit; ours
    pads_days: int = 28  # pads are good for two to four weeks of daily use; common practice, no source
    recent_days: int = 14  # older pain and lost contacts are history, not a reason to call; ours
    note_days: int = 7  # what was written since about the last visit; ours
    slow_step_s: int = 120  # a step is one move of the hand: two minutes on one say that it does not come easily; ours

    @property
    def low_share(self) -> float:
        return self.low_percent / 100

    @property
    def window_days(self) -> int:
        """How far back from today a record can matter that is no open finding."""
        return max(self.low_days, self.recent_days, self.note_days, self.pads_days)


STANDARD = Thresholds()
RANGES: Mapping[str, tuple[int, int]] = MappingProxyType({
    "quiet_days": (1, 30), "silent_days": (1, 60), "unopened_days": (1, 30), "ends_within_days": (0, 60),
    "low_percent": (10, 100), "low_days": (7, 60), "low_due_n": (1, 60), "above_by": (0, 20),
    "different_percent": (1, 9), "pain_severe_n": (5, 10), "pain_rise_n": (1, 10), "looks_n": (1, 30),
    "pads_days": (7, 120), "recent_days": (2, 60), "note_days": (1, 60), "slow_step_s": (60, 900)})  # fmt: skip


def read_thresholds(told: Mapping[str, object]) -> Thresholds:
    """Reads what a clinic has stored; what is not there, or out of its range, is the default."""
    return Thresholds(**{
        f.name: value for f in fields(Thresholds)
        if type(value := told.get(f.name)) is int and RANGES[f.name][0] <= value <= RANGES[f.name][1]})
