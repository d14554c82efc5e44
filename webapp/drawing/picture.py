"""A drawing as SVG: a limb, left or right, with pads on it to scale. The same input gives the same bytes.

Everything is drawn as a right limb; a left one is its mirror image, and only what is read (names, letters) is not.
Colours come from the page's tokens by class (`styles/limb.css`): print and dark pages need nothing of their own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape

from webapp.drawing.pads import PlacedPad
from webapp.drawing.view import View

Words = Callable[..., str]
HEAD = 0.105  # of the height, above the limb: what is shown, in words
LARGE = 18  # a name is this part of the height
OPPOSITE = {"start": "end", "end": "start", "middle": "middle"}


def draw(
    view: View, side: str, pads: Sequence[PlacedPad], t: Words, *, movable: bool = False, large: bool = False
) -> str:
    """Draws a limb of the `left` or `right` side (any other: a right one, named without a side) with its pads.

    `movable` gives each pad a handle for the builder; `large` leaves what is shown to a caption on the page and writes
    names large, for a picture of half a phone's height.
    """
    left, top, width, height = view.box
    head = 0 if large else round(HEAD * height)
    size = round(height / LARGE if large else min(height / 26, width / 19))
    told, limb = escape(_told(view, side, pads, t)), "".join(_line(line.kind, line.path) for line in view.lines)
    moved = f' data-view="{view.id}" data-mirror="{_mirror(view, side)}"' if movable else ""
    parts = [
        f'<svg class="limb" viewBox="{left} {top - head} {width} {height + head}"',
        f' role="{"group" if movable else "img"}" aria-label="{told}" font-size="{size}"{moved}>',
        f'<svg x="{left}" y="{top}" width="{width}" height="{height}" viewBox="{left} {top} {width} {height}">',
        f"<g{_flip(view, side)}>{limb}</g></svg>",
        "" if large else _heading(view, side, t),
        *(_landmark(view, side, key.key, key.at, key.anchor, t) for key in view.landmarks),
        *(_pad(view, side, pad, t, movable) for pad in pads), "</svg>",
    ]  # fmt: skip
    return "".join(parts)


def draw_on_photo(href: str, height: int, marks: Sequence[PlacedPad], t: Words, *, movable: bool = False) -> str:
    """Shows a photo with marks on it; lengths and places in thousandths of its width."""
    moved = ' data-view="photo" data-mirror="0" data-fields="photo_x photo_y"' if movable else ""
    told = t("drawing.photo", pads=", ".join(mark.letter for mark in marks if mark.now))
    return "".join((
        f'<svg class="limb photo" viewBox="0 0 1000 {height}" role="{"group" if movable else "img"}"',
        f' aria-label="{escape(told)}" font-size="60"{moved}>',
        f'<image href="{escape(href)}" width="1000" height="{height}"/>',
        *(_mark(mark, mark.x_mm, t, movable) for mark in marks), "</svg>"))  # fmt: skip


def _heading(view: View, side: str, t: Words) -> str:
    left, top, width, height = view.box
    middle, head = left + width / 2, HEAD * height
    named = _text("limb-side", middle, top - head * 0.52, "middle", title(view, side, t))
    return named + _text("limb-seen", middle, top - head * 0.08, "middle", t(f"drawing.{view.id}.seen"))


def caption(view: View, side: str, t: Words) -> str:
    """Says what a drawing shows: "Right forearm and hand, the back, hairy side"."""
    return t("drawing.caption", limb=title(view, side, t), seen=t(f"drawing.{view.id}.seen"))


def _line(kind: str, path: str) -> str:
    return f'<path class="limb-{kind}" d="{path}"/>'


def title(view: View, side: str, t: Words) -> str:
    """Names the limb with its side: "Right forearm and hand"."""
    return t(f"drawing.{view.id}.{side}" if side in ("left", "right") else f"drawing.{view.id}.any")


def _told(view: View, side: str, pads: Sequence[PlacedPad], t: Words) -> str:
    """Says for a screen reader what is to be seen."""
    letters = ", ".join(pad.letter for pad in pads if pad.now)
    return t("drawing.told", limb=title(view, side, t), seen=t(f"drawing.{view.id}.seen"), pads=letters)


def _mirror(view: View, side: str) -> int:
    """Gives the sum of a place and its mirror image, 0 where nothing is mirrored."""
    return round(2 * view.box[0] + view.box[2]) if side == "left" else 0


def _x(view: View, side: str, x: float) -> float:
    return _mirror(view, side) - x if side == "left" else x


def _flip(view: View, side: str) -> str:
    return f' transform="matrix(-1 0 0 1 {_mirror(view, side)} 0)"' if side == "left" else ""


def _text(kind: str, x: float, y: float, anchor: str, words: str) -> str:
    return f'<text class="{kind}" x="{x:g}" y="{round(y, 1):g}" text-anchor="{anchor}">{escape(words)}</text>'


def _landmark(view: View, side: str, key: str, at: tuple[float, float], anchor: str, t: Words) -> str:
    shown = OPPOSITE[anchor] if side == "left" else anchor
    return _text("limb-name", _x(view, side, at[0]), at[1], shown, t(f"landmark.{key}"))


def _pad(view: View, side: str, pad: PlacedPad, t: Words, movable: bool) -> str:
    return _mark(pad, _x(view, side, pad.x_mm), t, movable)


def _mark(pad: PlacedPad, x: float, t: Words, movable: bool) -> str:
    kind = f"limb-pad of-{pad.channel}" + ("" if pad.now else " other")
    named = (
        f' data-pad="{pad.name}" tabindex="0" role="button" aria-label="{escape(t("drawing.pad", letter=pad.letter))}"'
    )
    half_w, half_h = pad.width_mm / 2, pad.height_mm / 2
    shape = (
        f'<ellipse rx="{half_w:g}" ry="{half_h:g}"/>'
        if pad.is_round
        else f'<rect x="{-half_w:g}" y="{-half_h:g}" width="{pad.width_mm:g}" height="{pad.height_mm:g}" rx="6"/>'
    )
    letter = f'<text text-anchor="middle" dy=".36em">{escape(t("drawing.letter", letter=pad.letter))}</text>'
    return f'<g class="{kind}"{named if movable else ""} transform="translate({x:g} {pad.y_mm:g})">{shape}{letter}</g>'
