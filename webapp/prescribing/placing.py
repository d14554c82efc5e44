"""Where an exercise's pads lie on the drawing: kept with the draft, shown on every page, looked at by the check."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from webapp.drawing.pads import PlacedPad, gap_mm, narrowest_mm, regions_under
from webapp.drawing.picture import caption, draw, draw_on_photo
from webapp.drawing.view import View
from webapp.drawing.views import VIEWS
from webapp.prescribing.drafting import PADS, Typed, text
from webapp.prescribing.drafting import number as read_number
from webapp.stimulation.finding import CAUTION, Finding, make_finding
from webapp.stimulation.placement import movement
from webapp.translations import Translate

LETTERS = ("A", "B", "C", "D")
MARK = 140  # thousandths of a photo's width: the mark of a pad on it
Channel = Mapping[str, Any]


def place_pads(draft: Typed, ch: str, movement_id: str) -> None:
    """Lays a channel's pads where the drawing that was just chosen has them; pads that somebody moved stay."""
    view = VIEWS.get(text(draft, f"{ch}.view"))
    if view is None or text(draft, f"{ch}.placed_on") == view.id:
        return
    made = movement(movement_id)
    at = made.pads.at if made and made.pads.view == view.id else view.start
    for pad, (x, y) in zip(PADS, at, strict=True):
        draft |= {f"{ch}.{pad}.x_mm": f"{x:g}", f"{ch}.{pad}.y_mm": f"{y:g}"}
    draft[f"{ch}.placed_on"] = view.id


def mark_photo(draft: Typed, ch: str) -> None:
    """Puts the marks of the pads on a photo that was just added; marks that somebody moved stay."""
    if text(draft, f"{ch}.photo"):
        for pad, x in zip(PADS, ("350", "650"), strict=True):
            if not text(draft, f"{ch}.{pad}.photo_x"):
                half = read_number(text(draft, f"{ch}.photo_height"))
                draft[f"{ch}.{pad}.photo_x"] = x
                draft[f"{ch}.{pad}.photo_y"] = str(500 if isinstance(half, str) else round(half / 2))


def placed_pads(channel: Channel, number: int, now: int | None = None) -> list[PlacedPad]:
    """Gives the pads of a channel (as in wattlebird.issued/1) that have a place on its drawing.

    `number` is the channel's, from 1; `now` the pad that is spoken of, from 0 (None: all of them).
    """
    found = []
    for n, pad in enumerate(channel.get("pads", ())):
        sizes = [pad.get(name) for name in ("x_mm", "y_mm", "width_cm", "height_cm")]
        if all(isinstance(size, (int, float)) for size in sizes):
            x, y, width, height = sizes
            found.append(PlacedPad(
                name=f"ch{number}.{PADS[min(n, 1)]}", letter=letter_of(number, n), x_mm=x, y_mm=y, channel=number,
                width_mm=width * 10, height_mm=height * 10, shape=pad.get("shape", "square"),
                now=now is None or now == n))  # fmt: skip
    return found


def letter_of(channel: int, pad: int) -> str:
    """Names a pad by a letter: A and B of channel 1, C and D of channel 2."""
    return LETTERS[min(2 * (channel - 1) + pad, len(LETTERS) - 1)]


def channel_picture(
    exercise: Mapping[str, Any],
    number: int,
    t: Translate,
    *,
    now: int | None = None,
    movable: bool = False,
    large: bool = False,
) -> str:
    """Draws one channel's pads on its limb, as SVG; empty where the plan has no drawing for it."""
    channel = exercise["channels"][number - 1]
    view = VIEWS.get(channel.get("view") or "")
    pads = placed_pads(channel, number, now) if view else []
    return draw(view, exercise["side"], pads, t, movable=movable, large=large) if view and pads else ""


def what_is_drawn(exercise: Mapping[str, Any], number: int, t: Translate) -> str:
    """Says what one channel's drawing shows; empty where the plan has none for it."""
    view = VIEWS.get(exercise["channels"][number - 1].get("view") or "")
    return caption(view, exercise["side"], t) if view else ""


def step_drawings(exercise: Mapping[str, Any], t: Translate) -> dict[int, str]:
    """Draws, for each set-up step that speaks of a pad's place, that pad; by the step's number."""
    places = [(number, k, pad["place"]) for number, channel in enumerate(exercise["channels"], 1)
              for k, pad in enumerate(channel["pads"]) if pad["place"]]
    steps = [step for step in exercise["set_up_steps"] if step["part"] == "pads"]
    found = {step["step"]: next(((n, k) for n, k, place in places if place in step["text"]), None) for step in steps}
    drawn = {step: channel_picture(exercise, at[0], t, now=at[1], large=True) for step, at in found.items() if at}
    return {step: drawing for step, drawing in drawn.items() if drawing}


def channel_photo(
    exercise: Mapping[str, Any], number: int, t: Translate, href: str, *, now: int | None = None, movable: bool = False
) -> str:
    """Shows one channel's photo with its pads marked, as SVG; empty where the plan has no photo for it."""
    channel = exercise["channels"][number - 1]
    height = channel.get("photo_height")
    if not channel.get("photo") or not isinstance(height, int):
        return ""
    at = [(n, pad.get("photo_x"), pad.get("photo_y")) for n, pad in enumerate(channel["pads"])]
    marks = [
        PlacedPad(
            name=f"ch{number}.{PADS[min(n, 1)]}", letter=letter_of(number, n), x_mm=x, y_mm=y, width_mm=MARK,
            height_mm=MARK, shape="round", channel=number, now=now is None or now == n)
        for n, x, y in at if isinstance(x, int) and isinstance(y, int)]  # fmt: skip
    return draw_on_photo(href, height, marks, t, movable=movable)


def picture_caption(exercise: Mapping[str, Any], number: int, t: Translate) -> str:
    """Says what a channel's drawing shows."""
    view = VIEWS.get(exercise["channels"][number - 1].get("view") or "")
    return caption(view, exercise["side"], t) if view else ""


def placement_findings(channels: Sequence[Channel]) -> Iterator[tuple[int, Finding]]:
    """Finds pads that lie too close on the drawing or over a region where none belongs, with the channel's number."""
    for number, channel in enumerate(channels, 1):
        view = VIEWS.get(channel.get("view") or "")
        if view is not None:
            for finding in _on_drawing(view, placed_pads(channel, number), number, channel.get("pads_apart_cm")):
                yield number, finding


def _on_drawing(view: View, pads: list[PlacedPad], number: int, measured: object) -> Iterator[Finding]:
    if len(pads) == 2 and measured is None and (gap := gap_mm(*pads)) < (least := narrowest_mm(pads)) * (1 - 1e-9):
        yield make_finding(
            CAUTION, "pads_close_drawn", source="practice", field="pads", value=round(gap / 10, 1), limit=least / 10,
            channel=number)  # fmt: skip
    for pad in pads:
        for key in regions_under(view, pad):
            yield make_finding(
                CAUTION, "pad_over", source=REGION_SOURCES.get(key, "practice_memory"), field="pads",
                channel=number, letter=pad.letter, region_key=f"forbidden.{key}")  # fmt: skip


REGION_SOURCES = {"neck": "S2", "face": "S2", "chest": "S2", "head": "S2"}
