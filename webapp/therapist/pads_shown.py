"""Where the pads of an issued plan go, shown on the pages that read it: the drawing, and the photo on request."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.prescribing.placing import channel_photo, channel_picture, letter_of
from webapp.serving import texts
from webapp.therapist import blueprint


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownPads:
    """One channel's pads: name, drawing, photo (both SVG or empty), and each pad in words with its letter."""

    title: str
    drawing: str
    photo: str
    pads: tuple[tuple[str, str], ...]


@blueprint.app_template_global("shown_pads")
def shown_pads(issued: Mapping[str, Any], client_id: int) -> list[ShownPads]:
    """Lists every channel of a plan that has a drawing or a photo."""
    found = [_shown(exercise, number, client_id) for exercise in issued["exercises"]
             for number in range(1, len(exercise["channels"]) + 1)]
    return [one for one in found if one.drawing or one.photo]


def _shown(exercise: Mapping[str, Any], number: int, client_id: int) -> ShownPads:
    channel, t = exercise["channels"][number - 1], texts()
    href = f"/clinic/clients/{client_id}/photos/{channel.get('photo')}.jpg"
    return ShownPads(
        title=t("placing.of_exercise", title=exercise["title"], name=channel["name"]),
        drawing=channel_picture(exercise, number, t), photo=channel_photo(exercise, number, t, href),
        pads=tuple((letter_of(number, n), pad["place"]) for n, pad in enumerate(channel["pads"])))
