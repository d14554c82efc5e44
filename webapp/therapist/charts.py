"""Where the marks of the review's charts lie: numbers in, coordinates out; the templates draw them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from webapp.practice.adherence import is_cut_short
from webapp.practice.session import MINUTES_A_DAY
from webapp.practice.summary import Point, StrengthLine

WIDTH = 280  # a column of the review: drawn at its size, so that its letters can be read
LEFT, RIGHT, TOP, BOTTOM = 30, 26, 16, 20  # room for the scale, the ceilings, the versions, the dates
APART = 20  # between the names of two versions
SIGNS = ("m-2.2 0a2.2 2.2 0 1 0 4.4 0a2.2 2.2 0 1 0-4.4 0Z", "m-2-2h4v4h-4Z", "m0-2.6l2.5 4.4h-5Z",
         "m0-3.4l3.4 3.4-3.4 3.4-3.4-3.4Z")  # a disc, a square, a triangle, a diamond, round where the path has come to
STEPS = (1, 2, 5, 10, 20, 25, 50, 100, 200, 250, 500)
ROWS = 4  # lines of a scale, at most


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One point of a chart."""

    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """One line of a scale: where it is, what stands there."""

    at: float
    value: float
    day: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One series: its way from point to point, the signs of its points, which of the `SIGNS` that is, its ceiling.

    Way, signs and ceiling are SVG paths, "" for none: some hundred signs drawn one by one take half of a page.
    """

    path: str
    signs: str
    cut_signs: str  # of sessions that were cut short
    shape: int
    ceiling: str = ""
    ceiling_end: tuple[float, float] | None = None  # (y, value) where it ends


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """One chart, ready to draw; `versions` are (x, version)."""

    width: int
    height: int
    left: int
    right: int
    bottom: float
    rows: tuple[Tick, ...]
    dates: tuple[Tick, ...]
    lines: tuple[Line, ...]
    versions: tuple[tuple[float, int], ...]
    pads: tuple[float, ...] = ()  # where new pads were noted


def scale(top_value: float) -> tuple[float, ...]:
    """Picks round values from 0 to at least the greatest, in at most four steps."""
    step = next((s for s in STEPS if s * ROWS >= top_value), STEPS[-1])
    return tuple(float(step * n) for n in range(max(2, -int(-top_value // step) + 1)))


def days_to_name(first: date, last: date, most: int = 4) -> tuple[date, ...]:
    """Picks the Mondays to write under a chart, whole weeks apart; the first day where there is none."""
    monday = first + timedelta(days=-first.weekday() % 7)
    weeks = (last - monday).days // 7 + 1
    every = max(1, -(-weeks // most))
    found = tuple(monday + timedelta(weeks=n) for n in range(0, weeks, every))
    return found or (first,)


def draw(series: Sequence[Sequence[Point]], first: date, last: date, versions: Iterable[tuple[date, int]], *,
         width: int, height: int, top_value: float, ceilings: Sequence[Sequence[tuple[date, float]]] = (),
         pads: Sequence[date] = ()) -> Chart:
    """Lays series of points over days: each point at its session's moment, each ceiling as steps."""
    values = scale(top_value)
    days = max(1.0, (last - first).days + 1.0)
    bottom = height - BOTTOM

    def x(day: float) -> float:
        return round(LEFT + (width - LEFT - RIGHT) * day / days, 1)

    def y(value: float) -> float:
        return round(bottom - (bottom - TOP) * value / values[-1], 1)

    def moment(point: Point) -> float:
        entry = point.session.entry
        return (entry.day - first).days + entry.at_min % MINUTES_A_DAY / MINUTES_A_DAY

    lines = []
    for n, points in enumerate(series):
        places = [f"{x(moment(p)):g} {y(p.value):g}" for p in points]
        marks = [(at, is_cut_short(p.session)) for at, p in zip(places, points, strict=True)]
        shape = n % len(SIGNS)
        steps = ceilings[n] if n < len(ceilings) else ()
        lines.append(Line(path="M" + "L".join(places) if places else "", shape=shape,
                          signs=_signs((at for at, is_cut in marks if not is_cut), shape),
                          cut_signs=_signs((at for at, is_cut in marks if is_cut), shape),
                          ceiling=_steps(steps, first, last, x, y),
                          ceiling_end=(y(steps[-1][1]), steps[-1][1]) if steps else None))
    return Chart(
        width=width, height=height, left=LEFT, right=width - RIGHT, bottom=bottom,
        rows=tuple(Tick(at=y(v), value=v) for v in values),
        dates=tuple(Tick(at=x((d - first).days), value=0, day=d) for d in days_to_name(first, last)),
        lines=tuple(lines),
        versions=_versions(versions, first, last, x),
        pads=tuple(x((day - first).days + 0.5) for day in pads if first <= day <= last))


def _versions(versions: Iterable[tuple[date, int]], first: date, last: date, x: Callable[[float], float]
              ) -> tuple[tuple[float, int], ...]:
    """Says where each version begins; of several too close to be read, or begun before the first day, the newest."""
    placed = [(x(max(0, (day - first).days)), version) for day, version in sorted(versions) if day <= last]
    return tuple(one for one, after in pairwise([*placed, (float("inf"), 0)]) if after[0] - one[0] >= APART)


def _signs(places: Iterable[str], shape: int) -> str:
    return "".join(f"M{at}{SIGNS[shape]}" for at in places)


def _steps(steps: Sequence[tuple[date, float]], first: date, last: date, x: Callable[[float], float],
           y: Callable[[float], float]) -> str:
    """Draws what holds from day to day as a staircase up to the end of the last day."""
    bounds = [*steps, (last + timedelta(days=1), 0.0)]
    found = ""
    for (start, value), (end, _next) in pairwise(bounds):
        begin, stop = max(0, (start - first).days), min((end - first).days, (last - first).days + 1)
        if stop > begin:
            found += f"{'L' if found else 'M'}{x(begin):g} {y(value):g}H{x(stop):g}"
    return found


def strength_chart(lines: Sequence[StrengthLine], first: date, last: date, versions: Iterable[tuple[date, int]],
                   pads: Sequence[date] = (), width: int = WIDTH, height: int = 124) -> Chart:
    """Draws the channels of one exercise and unit, each with its ceiling, and when there were new pads."""
    values = [p.value for line in lines for p in line.points] + [c for line in lines for _day, c in line.ceilings]
    top = max(values, default=1)
    return draw([line.points for line in lines], first, last, versions, width=width, height=height, top_value=top,
                ceilings=[line.ceilings for line in lines], pads=pads)


def scales_chart(series: Sequence[Sequence[Point]], first: date, last: date, versions: Iterable[tuple[date, int]],
                 width: int = WIDTH, height: int = 84) -> Chart:
    """Draws answers from 0 to 10."""
    return draw(series, first, last, versions, width=width, height=height, top_value=10)
