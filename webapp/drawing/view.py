"""What a drawing is made of: lines, landmarks with names, and regions where no pad belongs. Always a right limb."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.drawing.curve import Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a drawing; `kind` is skin (a closed outline), edge, detail or faint."""

    kind: str
    path: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Landmark:
    """A name beside the limb: its key (`landmark.<key>`), where it stands, and which end of the text is there."""

    key: str
    at: Point
    anchor: str = "start"


@dataclass(frozen=True, slots=True, kw_only=True)
class Forbidden:
    """A region where no pad belongs (`forbidden.<key>`), as a polygon."""

    key: str
    corners: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A right limb seen from one side, in millimetres; `box` is left, top, width, height of what is shown.

    `start` is where the middles of two pads stand until somebody puts them elsewhere.
    """

    id: str
    box: tuple[float, float, float, float]
    lines: tuple[Line, ...]
    landmarks: tuple[Landmark, ...]
    start: tuple[Point, Point]
    forbidden: tuple[Forbidden, ...] = ()
