"""Pads on a drawing, in millimetres of the right limb: how far apart they lie, and what they must not lie over."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from webapp.drawing.curve import Point
from webapp.drawing.view import View

EDGE_POINTS = 16  # on a pad's edge, each looked at whether it lies in a region where no pad belongs


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPad:
    """A pad as it lies on a drawing: the middle and the size in mm, and how it is shown.

    `name` says which pad of the plan it is (`ch1.pad_a`), `letter` stands on it, `now` is the pad that is spoken of.
    """

    name: str
    letter: str
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    shape: str = "square"
    channel: int = 1
    now: bool = True

    @property
    def is_round(self) -> bool:
        return self.shape == "round"


def gap_mm(one: PlacedPad, other: PlacedPad) -> float:
    """Measures the gap from edge to edge, 0 where they touch; a round pad counts as the ellipse that it is."""
    if one.is_round or other.is_round:
        return min((math.dist(a, b) for a in _edge(one) for b in _edge(other)), default=0.0)
    across = abs(one.x_mm - other.x_mm) - (one.width_mm + other.width_mm) / 2
    along = abs(one.y_mm - other.y_mm) - (one.height_mm + other.height_mm) / 2
    return math.hypot(max(across, 0), max(along, 0))


def _edge(pad: PlacedPad) -> Iterator[Point]:
    for k in range(4 * EDGE_POINTS):
        turn = math.tau * k / (4 * EDGE_POINTS)
        x, y = math.cos(turn), math.sin(turn)
        reach = 1.0 if pad.is_round else 1 / max(abs(x), abs(y))
        yield pad.x_mm + reach * x * pad.width_mm / 2, pad.y_mm + reach * y * pad.height_mm / 2


def narrowest_mm(pads: Sequence[PlacedPad]) -> float:
    """Gives the width of the narrowest pad: pads should lie at least that far apart."""
    return min(min(pad.width_mm, pad.height_mm) for pad in pads)


def regions_under(view: View, pad: PlacedPad) -> tuple[str, ...]:
    """Names the regions where no pad belongs that a pad lies over, even in part."""
    looked_at = [(pad.x_mm, pad.y_mm), *_edge(pad)]
    return tuple(region.key for region in view.forbidden if any(_inside(region.corners, one) for one in looked_at))


def _inside(corners: Sequence[Point], at: Point) -> bool:
    """Tells whether a point lies in a polygon, by counting the edges to its right."""
    x, y = at
    within = False
    for (x1, y1), (x2, y2) in zip(corners, (*corners[1:], corners[0]), strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1):
            within = not within
    return within
