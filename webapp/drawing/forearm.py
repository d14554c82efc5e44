"""The right forearm and hand, fingers up the page: the back (hairy side) and the palm side."""

from __future__ import annotations

from webapp.drawing.curve import Point, finger, fold, nail, points, smooth
from webapp.drawing.view import Landmark, Line, View

# base, degrees, length, width at the base, width at the tip; as seen from the back, the thumb on the left
FINGERS: tuple[tuple[Point, float, float, float, float], ...] = (
    ((80, 98), -7, 70, 21.5, 16),
    ((103, 92), -1, 81, 21.5, 16.5),
    ((126, 97), 5, 74, 20.5, 15.5),
    ((147, 112), 14, 57, 18, 13.5),
)
THUMB: tuple[Point, float, float, float, float] = ((56, 142), -33, 68, 24, 18)
WIDTH = 220  # of the drawing; the palm side is the back mirrored about its middle

_RADIAL = points("62,520 59,478 55,448 51,410 54,368 62,322 70,280 76,240 78,212 76,196 68,178 54,161")
_ULNAR = points(
    "156,135 154,156 147,180 140,198 140,214 144,240 152,282 161,326 167,370 168,412 163,448 158,478 157,520"
)


def _outline(*, mirrored: bool) -> str:
    web = points("69,128")
    around = [*_RADIAL, *finger(*THUMB)[1:-2], *web]
    for one in FINGERS:
        around += finger(*one)
    around += _ULNAR
    return smooth(_flipped(around) if mirrored else around)


def _flipped(some: list[Point]) -> list[Point]:
    return [(WIDTH - x, y) for x, y in some]


def _detail(text: str, *, mirrored: bool = False) -> Line:
    through = points(text)
    return Line(kind="detail", path=smooth(_flipped(through) if mirrored else through))


def _folds(*, mirrored: bool) -> list[Line]:
    lines = []
    for (x, y), degrees, length, width, _tip in FINGERS:
        base, turn = ((WIDTH - x, y), -degrees) if mirrored else ((x, y), degrees)
        lines += [Line(kind="detail", path=fold(base, turn, length * part, width)) for part in (0.4, 0.69)]
    return lines


_NAILS = [
    Line(kind="detail", path=nail(base, degrees, length, tip)) for base, degrees, length, _, tip in (*FINGERS, THUMB)
]

BACK = View(
    id="forearm_back",
    box=(-75, 4, 370, 504),
    start=((98, 384), (107, 282)),
    lines=(
        Line(kind="skin", path=_outline(mirrored=False)),
        *_NAILS,
        *_folds(mirrored=False),
        _detail("84,124 82,150 88,176"),
        _detail("106,122 105,150 103,180"),
        _detail("126,126 124,150 116,180"),
        _detail("124,206 131,201 137,208 134,218"),  # the knob of the ulna, on the little finger's side
        _detail("112,478 118,464 130,462 139,470 142,484"),
        _detail("66,450 74,443 83,449"),  # tip and outer side of the elbow
    ),
    landmarks=(
        Landmark(key="thumb", at=(22, 70), anchor="end"),
        Landmark(key="little_finger", at=(176, 74)),
        Landmark(key="wrist", at=(160, 206)),
        Landmark(key="elbow", at=(176, 470)),
    ),
)
PALM = View(
    id="forearm_palm",
    box=(-75, 4, 370, 504),
    start=((94, 396), (104, 294)),
    lines=(
        Line(kind="skin", path=_outline(mirrored=True)),
        *_folds(mirrored=True),
        _detail("72,126 88,128 96,141 98,160 92,184", mirrored=True),  # round the ball of the thumb
        _detail("70,122 92,124 116,136 136,152", mirrored=True),
        _detail("154,134 136,122 116,116 104,106", mirrored=True),
        _detail("81,200 108,204 137,200", mirrored=True),
        _detail("82,207 108,211 137,207", mirrored=True),
        _detail("48,134 56,129", mirrored=True),
        _detail("64,462 92,472 126,474 160,462", mirrored=True),  # the crease of the elbow
        _detail("104,226 103,252", mirrored=True),
        _detail("112,226 113,252", mirrored=True),  # tendons
    ),
    landmarks=(
        Landmark(key="thumb", at=(198, 70)),
        Landmark(key="little_finger", at=(44, 74), anchor="end"),
        Landmark(key="wrist", at=(60, 210), anchor="end"),
        Landmark(key="elbow_crease", at=(176, 470)),
    ),
)
