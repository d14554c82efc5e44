"""What a client shows with the unit on, beside the set-up steps: turning up, stopping, trouble, the end, the skin.

These rows belong to no plan: nobody can reword them or take one away.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from webapp.stimulation.units import number_text
from webapp.translations import Translate

ROWS = ("turn_up", "stop", "trouble", "off", "skin_after")


def asked_of_client(t: Translate) -> dict[str, str]:
    """Gives what the client is asked to show, row by row, in the client's language."""
    return {row: t(f"practised.{row}") for row in ROWS}


def quickest_stop(exercise: Mapping[str, Any]) -> str:
    """Gives the fastest way to stop this unit in its own words; empty where there is no unit yet."""
    return str((exercise.get("stimulator") or {}).get("quickest_stop", ""))


def strengths(exercise: Mapping[str, Any], t: Translate) -> Iterator[str]:
    """Names what was found and the ceiling of each channel, as far as the draft has them."""
    dosed = exercise.get("settings", {}).get("channels", ())
    for channel, settings in zip(exercise.get("channels", ()), dosed, strict=False):
        ceiling = channel.get("ceiling_ma", channel.get("ceiling_level"))
        start = settings.get("intensity_ma", settings.get("intensity_level"))
        if isinstance(ceiling, int | float) and isinstance(start, int | float):
            unit = " mA" if "ceiling_ma" in channel else ""
            said = t("sheet.strength", start=f"{number_text(start)}{unit}", ceiling=f"{number_text(ceiling)}{unit}")
            yield f"{channel['name']}: {said}" if channel.get("name") else said
