"""Where the marks of a measure's chart lie: readings as a line above, each week's practice by the log as bars below."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, floor, log10

from webapp.practice.measures import MORE, Measure, Reading
from webapp.practice.weeks import Week
from webapp.therapist.charts import days_to_name

WIDTH, HEIGHT = 560, 210
LEFT, RIGHT, TOP, BOTTOM = 44, 16, 16, 22
BARS = 44  # height of the bars' part
GAP = 12
ROWS = 4
SLACK = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One week of practice; `minutes` is what was cued."""

    x: float
    width: float
    y: float
    height: float
    week: date
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureChart:
    """One measure's chart, ready to draw; `matters_y` is where the smallest change that matters is reached."""

    width: int
    height: int
    left: int
    right: int
    ground: float  # of the readings' part
    bars_ground: float
    rows: tuple[tuple[float, float], ...]  # (y, value)
    dates: tuple[tuple[float, date], ...]
    path: str
    marks: tuple[tuple[float, float, float], ...]  # (x, y, value)
    matters_y: float | None
    bars: tuple[Bar, ...]
    most_minutes: int
    versions: tuple[tuple[float, int], ...]


def values_of_scale(least: float, greatest: float) -> tuple[float, ...]:
    """Picks round values around what is shown, from zero where nothing lies below it."""
    low, high = min(0.0, least), max(0.0, greatest)
    span = max(high - low, 1e-6)
    power = 10.0 ** floor(log10(span / ROWS))
    step = next(power * s for s in (1, 2, 5, 10) if power * s * ROWS >= span * (1 - SLACK))
    first = floor(low / step + SLACK)
    last = max(first + 1, ceil(high / step - SLACK))
    return tuple(round(step * n, 10) for n in range(first, last + 1))


def measure_chart(measure: Measure, readings: Sequence[Reading], weeks: Sequence[Week],
                  versions: Iterable[tuple[date, int]]) -> MeasureChart:
    """Lays the readings of a measure and the weeks of practice over the same days."""
    days = [r.day for r in readings] + [w.start for w in weeks] + [w.start + timedelta(days=6) for w in weeks]
    first, last = min(days), max(days)
    span = (last - first).days + 1
    bars_ground = HEIGHT - BOTTOM
    ground = bars_ground - BARS - GAP
    goal = _matters(measure, readings)
    shown = [r.value for r in readings] + ([goal] if goal is not None else [])
    values = values_of_scale(min(shown), max(shown))

    def x(day: date, at: float = 0.5) -> float:
        return round(LEFT + (WIDTH - LEFT - RIGHT) * ((day - first).days + at) / span, 1)

    def y(value: float) -> float:
        return round(ground - (ground - TOP) * (value - values[0]) / (values[-1] - values[0]), 1)

    marks = tuple((x(r.day), y(r.value), r.value) for r in readings)
    minutes = [round(w.count.cued_s / 60) for w in weeks]
    most = max(minutes, default=0)
    bars = tuple(
        Bar(x=x(w.start, 0.3), width=max(1.0, round(x(w.start, 6.7) - x(w.start, 0.3), 1)), week=w.start, minutes=n,
            height=(high := round(BARS * n / most, 1)), y=round(bars_ground - high, 1))
        for w, n in zip(weeks, minutes, strict=True) if most)
    return MeasureChart(
        width=WIDTH, height=HEIGHT, left=LEFT, right=WIDTH - RIGHT, ground=ground, bars_ground=bars_ground,
        rows=tuple((y(v), v) for v in values), dates=tuple((x(d, 0), d) for d in days_to_name(first, last, 6)),
        path="".join(f"{'L' if n else 'M'}{a:g} {b:g}" for n, (a, b, _v) in enumerate(marks)), marks=marks,
        matters_y=y(goal) if goal is not None else None, bars=bars, most_minutes=most,
        versions=tuple((x(max(day, first), 0), version) for day, version in versions if day <= last))


def _matters(measure: Measure, readings: Sequence[Reading]) -> float | None:
    """Gives the value at which the change from the first reading begins to matter."""
    if measure.smallest_change is None or not readings:
        return None
    return readings[0].value + (measure.smallest_change if measure.direction == MORE else -measure.smallest_change)
