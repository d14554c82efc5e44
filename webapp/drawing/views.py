"""Every drawing by its id, and which of them show the region of a movement."""

from __future__ import annotations

from collections.abc import Mapping

from webapp.drawing import forearm, leg, shoulder
from webapp.drawing.view import View

VIEWS: Mapping[str, View] = {view.id: view for view in (
    forearm.BACK, forearm.PALM, shoulder.UPPER_ARM_FRONT, shoulder.UPPER_ARM_BEHIND, shoulder.SHOULDER_FRONT,
    shoulder.SHOULDER_BEHIND, leg.THIGH_FRONT, leg.THIGH_BEHIND, leg.LOWER_LEG_OUTER, leg.LOWER_LEG_FRONT,
    leg.LOWER_LEG_BEHIND)}  # fmt: skip
