"""Pads on a drawing: the gap between them, and the regions where none belongs."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.drawing.pads import PlacedPad, gap_mm, narrowest_mm, regions_under
from webapp.drawing.views import VIEWS
from webapp.stimulation.placement import MOVEMENTS, Movement


def pad(x: float, y: float, width: float = 50, height: float = 50, shape: str = "square") -> PlacedPad:
    return PlacedPad(name="ch1.pad_a", letter="A", x_mm=x, y_mm=y, width_mm=width, height_mm=height, shape=shape)


def placed(movement: Movement) -> list[PlacedPad]:
    size = (movement.pads.width_cm * 10, movement.pads.height_cm * 10, movement.pads.shape)
    return [pad(x, y, *size) for x, y in movement.pads.at]


@pytest.mark.parametrize("movement", MOVEMENTS, ids=lambda one: one.id)
def test_the_usual_place_is_on_the_drawing_apart_and_off_forbidden_skin(movement: Movement) -> None:
    """Where a movement's pads start, nothing is to remark: one pad width apart, over no region that is off limits."""
    view, pads = VIEWS[movement.pads.view], placed(movement)
    left, top, width, height = view.box
    assert all(left <= one.x_mm <= left + width and top <= one.y_mm <= top + height for one in pads)
    assert gap_mm(*pads) >= narrowest_mm(pads)
    assert [regions_under(view, one) for one in pads] == [(), ()]


@pytest.mark.parametrize(("view", "x", "y", "region"), [
    ("shoulder_front", 300, 265, "neck"), ("shoulder_front", 280, 130, "face"), ("shoulder_front", 190, 380, "chest"),
    ("upper_arm_front", 200, 420, "chest"), ("shoulder_behind", 300, 120, "head"),
    ("shoulder_behind", 300, 260, "neck_behind"), ("shoulder_behind", 320, 450, "spine"),
    ("thigh_front", 220, 80, "groin"),
])  # fmt: skip
def test_a_pad_over_forbidden_skin_is_named(view: str, x: float, y: float, region: str) -> None:
    """Even a pad that only reaches into a region is found."""
    assert region in regions_under(VIEWS[view], pad(x, y))


coordinates = st.floats(-100, 700)


@given(coordinates, coordinates, coordinates, coordinates, st.sampled_from(["square", "round"]))
def test_the_gap_is_the_same_both_ways_and_never_more_than_between_the_middles(
    x1: float, y1: float, x2: float, y2: float, shape: str
) -> None:
    """The gap is symmetric, and at least the distance of the middles without both half diagonals."""
    one, other = pad(x1, y1), pad(x2, y2, shape=shape)
    between = math.dist((x1, y1), (x2, y2))
    assert gap_mm(one, other) == pytest.approx(gap_mm(other, one))
    assert between - 2 * math.hypot(25, 25) - 1e-6 <= gap_mm(one, other)
    if between > 2 * math.hypot(25, 25):
        assert gap_mm(one, other) <= between
