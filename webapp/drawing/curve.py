"""Smooth lines through points, and the outlines of fingers and toes, in millimetres of the body."""

from __future__ import annotations

import math
from collections.abc import Sequence

Point = tuple[float, float]


def points(text: str) -> list[Point]:
    """Reads "x,y x,y …" as points."""
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in text.split())]


def smooth(through: Sequence[Point], *, closed: bool = False) -> str:
    """Writes a path that runs smoothly through points: a Catmull-Rom spline as cubic curves, in half millimetres."""
    n = len(through)
    path = [f"M{_number(through[0][0])} {_number(through[0][1])}"]
    for k in range(n if closed else n - 1):
        before, start, end, after = (_at(through, k + step, closed) for step in (-1, 0, 1, 2))
        first = (start[0] + (end[0] - before[0]) / 6, start[1] + (end[1] - before[1]) / 6)
        second = (end[0] - (after[0] - start[0]) / 6, end[1] - (after[1] - start[1]) / 6)
        path.append("C" + " ".join(f"{_number(x)} {_number(y)}" for x, y in (first, second, end)))
    return "".join(path) + ("Z" if closed else "")


def _at(through: Sequence[Point], k: int, closed: bool) -> Point:
    return through[k % len(through)] if closed else through[min(max(k, 0), len(through) - 1)]


def _number(value: float) -> str:
    return f"{round(2 * value) / 2:g}"


def finger(base: Point, degrees: float, length: float, width: float, tip: float) -> list[Point]:
    """Outlines a finger or toe from its left to its right base; 0 degrees points up the page, positive to the right."""
    half, end = width / 2, tip / 2
    side = [(-half, 0), (-half * 0.93, 0.3), (-half * 0.96, 0.48), (-(half + end) / 2.12, 0.72), (-end, 0.88)]
    cap = [(-end * 0.62, 0.97), (0, 1.0), (end * 0.62, 0.97)]
    local = [*side, *cap, *((-x, y) for x, y in reversed(side))]
    return [_turned(base, degrees, x, y * length) for x, y in local]


def nail(base: Point, degrees: float, length: float, tip: float) -> str:
    """Draws a nail on a finger or toe of this axis."""
    across, up = tip * 0.32, length
    local = [
        (-across, up * 0.83),
        (-across * 0.9, up * 0.93),
        (0, up * 0.965),
        (across * 0.9, up * 0.93),
        (across, up * 0.83),
        (0, up * 0.805),
    ]
    return smooth([_turned(base, degrees, x, y) for x, y in local], closed=True)


def fold(base: Point, degrees: float, at: float, width: float) -> str:
    """Draws a fold across a finger, `at` millimetres from its base."""
    half = width * 0.3
    return smooth([_turned(base, degrees, x, y) for x, y in ((-half, at), (0, at - 1.2), (half, at))])


def _turned(base: Point, degrees: float, x: float, y: float) -> Point:
    turn = math.radians(degrees)
    return (base[0] + x * math.cos(turn) + y * math.sin(turn), base[1] + x * math.sin(turn) - y * math.cos(turn))
