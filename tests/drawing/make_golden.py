"""Writes the golden drawings anew: `python -m tests.drawing.make_golden`; look at each before it is committed."""

from __future__ import annotations

from collections.abc import Iterator

from tests.tree import ROOT
from webapp.drawing.pads import PlacedPad
from webapp.drawing.picture import draw
from webapp.drawing.views import VIEWS
from webapp.translations import translator

FOLDER = ROOT / "tests" / "golden" / "drawings"


def golden_drawings() -> Iterator[tuple[str, str]]:
    """Draws every limb, left and right, with two pads where they start."""
    for view in VIEWS.values():
        pads = [PlacedPad(name=f"ch1.pad_{letter.lower()}", letter=letter, x_mm=x, y_mm=y, width_mm=50, height_mm=50,
                          now=letter == "A") for letter, (x, y) in zip("AB", view.start, strict=True)]
        for side in ("left", "right"):
            yield f"{view.id}-{side}.svg", draw(view, side, pads, translator("en")) + "\n"


if __name__ == "__main__":
    for name, drawing in golden_drawings():
        (FOLDER / name).write_text(drawing, encoding="utf-8")
