"""Two small charts of the review: the skin over time, place by place, and the time of day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from webapp.practice.session import DAY_ZERO, MINUTES_A_DAY
from webapp.practice.skin_map import SkinSeen
from webapp.therapist.charts import LEFT, RIGHT, WIDTH, Mark, Tick, days_to_name

ROW_HEIGHT, FOOT = 25, 20
HOUR_WIDTH, HOURS_HEIGHT, HOURS_FOOT = 10, 42, 18
NAMED_HOURS = (6, 12, 18)


@dataclass(frozen=True, slots=True, kw_only=True)
class SkinRow:
    """One place: even pink as rings, findings as filled diamonds."""

    place: str
    y: float
    pink: tuple[Mark, ...]
    findings: tuple[Mark, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SkinChart:
    """The places at which anything was seen, over the same days as the other charts."""

    width: int
    height: int
    left: int
    right: int
    rows: tuple[SkinRow, ...]
    dates: tuple[Tick, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """The sessions of one hour of the day."""

    x: float
    y: float
    height: float
    hour: int
    n: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursChart:
    """The day's hours from midnight on."""

    width: int
    height: int
    bottom: float
    bars: tuple[Bar, ...]
    named: tuple[tuple[float, int], ...]


def skin_chart(seen: Sequence[SkinSeen], first: date, last: date, width: int = WIDTH) -> SkinChart | None:
    """Lays what was seen on the skin over days; None where nothing was."""
    shown = [one for one in seen if first <= day_of(one) <= last]
    places = sorted({one.place for one in shown})
    days = max(1.0, (last - first).days + 1.0)

    def x(one: SkinSeen) -> float:
        return round(LEFT + (width - LEFT - RIGHT) * (one.at_min / MINUTES_A_DAY - (first - DAY_ZERO).days) / days, 1)

    rows = []
    for n, place in enumerate(places):
        y = ROW_HEIGHT * n + 20.0
        here = [one for one in shown if one.place == place]
        rows.append(SkinRow(
            place=place, y=y, pink=tuple(Mark(x=x(one), y=y) for one in here if not one.is_finding),
            findings=tuple(Mark(x=x(one), y=y) for one in here if one.is_finding)))
    if not rows:
        return None
    dates = tuple(Tick(at=round(LEFT + (width - LEFT - RIGHT) * (day - first).days / days, 1), value=0, day=day)
                  for day in days_to_name(first, last))
    return SkinChart(width=width, height=ROW_HEIGHT * len(rows) + FOOT, left=LEFT, right=width - RIGHT,
                     rows=tuple(rows), dates=dates)


def day_of(one: SkinSeen) -> date:
    """Gives the local day of an answer."""
    return date.fromordinal(DAY_ZERO.toordinal() + one.at_min // MINUTES_A_DAY)


def hours_chart(counts: Sequence[int]) -> HoursChart | None:
    """Draws how many sessions began in each hour; None where there is none."""
    most = max(counts, default=0)
    if not most:
        return None
    bottom = float(HOURS_HEIGHT - HOURS_FOOT)
    bars = tuple(
        Bar(x=HOUR_WIDTH * hour + 1.0, y=round(bottom - (bottom - 2) * n / most, 1),
            height=round((bottom - 2) * n / most, 1), hour=hour, n=n) for hour, n in enumerate(counts) if n)
    return HoursChart(width=HOUR_WIDTH * len(counts), height=HOURS_HEIGHT, bottom=bottom, bars=bars,
                      named=tuple((HOUR_WIDTH * hour + HOUR_WIDTH / 2, hour) for hour in NAMED_HOURS))
