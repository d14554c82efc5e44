"""Drawings of limbs: the same bytes each time, left the mirror of right, nothing that is read mirrored."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from tests.drawing.make_golden import FOLDER, golden_drawings
from webapp.drawing.pads import PlacedPad
from webapp.drawing.picture import draw
from webapp.drawing.views import VIEWS
from webapp.translations import translator

T = translator("en")
GOLDEN = dict(golden_drawings())
MOST_BYTES = 7_500


@pytest.mark.parametrize("name", sorted(GOLDEN))
def test_drawing_is_the_golden_one(name: str) -> None:
    """A drawing changes only when somebody means it and has looked at it."""
    assert GOLDEN[name] == (FOLDER / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", sorted(GOLDEN))
def test_drawing_is_whole_small_and_says_what_it_shows(name: str) -> None:
    """Each is well-formed XML, a few kB, and names its side for who cannot see it."""
    drawing = GOLDEN[name]
    root = ET.fromstring(drawing.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))
    side = "Left" if name.endswith("-left.svg") else "Right"
    assert root.get("role") == "img"
    assert (root.get("aria-label") or "").startswith(side)
    assert len(drawing.encode()) <= MOST_BYTES
    assert not re.search(r"#[0-9a-f]{3}|style=|<style", drawing)


@pytest.mark.parametrize("named", VIEWS)
def test_left_is_the_mirror_of_right_and_what_is_read_is_not(named: str) -> None:
    """Lines are turned over by one transform; each name and each pad stands at its mirrored place, unturned."""
    right, left = GOLDEN[f"{named}-right.svg"], GOLDEN[f"{named}-left.svg"]
    mirror = 2 * VIEWS[named].box[0] + VIEWS[named].box[2]
    assert re.findall(r' d="([^"]+)"', right) == re.findall(r' d="([^"]+)"', left)
    assert f'transform="matrix(-1 0 0 1 {mirror} 0)"' in left
    assert "matrix" not in right
    for pattern in (r'limb-name" x="([-\d.]+)"', r"translate\(([-\d.]+) "):
        turned = [mirror - float(x) for x in re.findall(pattern, right)]
        assert turned == pytest.approx([float(x) for x in re.findall(pattern, left)])


def test_a_pad_is_drawn_to_scale_and_named_in_safe_text() -> None:
    """Sizes are millimetres of the body; what people typed is never markup."""
    pad = PlacedPad(name="ch1.pad_a", letter="<b>", x_mm=100, y_mm=300, width_mm=90, height_mm=50, shape="rectangle")
    drawing = draw(VIEWS["forearm_back"], "right", [pad], T)
    assert 'width="90" height="50"' in drawing
    assert "<b>" not in drawing
    assert "&lt;b&gt;" in drawing
