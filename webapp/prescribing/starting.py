"""A starting point becomes the settings of an exercise by one press, and an exercise's settings become one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from webapp.guidance.starting_points import starting_points
from webapp.prescribing.drafting import CHOICES, CONVENTIONS, NUMBERS, Known, Raw, Typed, number, text

KEPT = tuple(name for name in (*CHOICES, *NUMBERS, *CONVENTIONS) if name not in ("delay_from", "delay_effect"))


def start_from(draft: Typed, n: int, id_: str, known: Known) -> None:
    """Sets exercise n's settings from a starting point: an id of the guidance, or `own:<id>` of the clinic's."""
    for name, value in _settings(id_, known).items():
        draft[f"ex{n}.{name}"] = f"{value:g}" if isinstance(value, (int, float)) else str(value)


def with_start(issued: Mapping[str, Any], n: int, id_: str, known: Known) -> Raw:
    """Gives a plan whose exercise n has a starting point's settings; what that does not say stays as it is."""
    told = {name: number(str(value)) if name in NUMBERS else value for name, value in _settings(id_, known).items()}
    exercises = [{**one, "settings": {**one["settings"], **told}} if one["exercise"] == n else one
                 for one in issued["exercises"]]
    return {**issued, "exercises": exercises}


def _settings(id_: str, known: Known) -> Mapping[str, object]:
    if id_.startswith("own:"):
        return known.own_starts.get(id_.removeprefix("own:"), {})
    found = starting_points().get(id_)
    return found.settings if found else {}


def kept_settings(draft: Typed, n: int) -> dict[str, str]:
    """Gives exercise n's settings as a starting point keeps them: no strength, no pad, no word of the client."""
    return {name: typed for name in KEPT if (typed := text(draft, f"ex{n}.{name}"))}
