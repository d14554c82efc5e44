"""Which part of the body is treated on which side, and which hand is the good one: the same words on every page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from webapp.drawing.picture import title
from webapp.drawing.views import VIEWS
from webapp.stimulation.placement import movement
from webapp.therapist import blueprint
from webapp.translations import Translate


@blueprint.app_template_global("sides")
def sides(exercises: Iterable[Mapping[str, Any]], good_hand: str, t: Translate) -> str:
    """Says "Treated: left shoulder · good hand: right" of a plan's exercises, as far as they are described."""
    treated = ", ".join(dict.fromkeys(part for exercise in exercises for part in _parts(exercise, t)))
    good = t(f"sides.good.{good_hand}")
    return t("sides.both_told", treated=treated, good=good) if treated else t("sides.good_only", good=good)


def _parts(exercise: Mapping[str, Any], t: Translate) -> Iterator[str]:
    side, made = str(exercise.get("side", "")), movement(str(exercise.get("movement", "")))
    if side not in ("left", "right", "both"):
        return
    for channel in exercise["channels"]:
        view = VIEWS.get(channel.get("view") or (made.pads.view if made else ""))
        name = title(view, side, t) if view else t(f"side.{side}")
        part = name[:1].lower() + name[1:]
        yield t("sides.on_both", part=part) if view and side == "both" else part
