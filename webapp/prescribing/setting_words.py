"""The settings of a unit in the order of its own menu, and their values in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from webapp.stimulation.plan import PATTERNS, RELATIONS, WAVEFORMS
from webapp.stimulation.units import number_text
from webapp.translations import Translate

# what a plan decides that may be set on a unit; the strength is found anew each time and is not among them
ON_THE_UNIT = (
    "frequency_hz",
    "pulse_width_us",
    "waveform",
    "pattern",
    "session_min",
    "ramp_up_s",
    "hold_s",
    "ramp_down_s",
    "rest_s",
    "relation",
    "delay_s",
)
NUMBERS = frozenset(
    {"frequency_hz", "pulse_width_us", "session_min", "ramp_up_s", "hold_s", "ramp_down_s", "rest_s", "delay_s"}
)
CYCLE_ONLY = frozenset({"hold_s", "ramp_down_s", "rest_s", "relation", "delay_s"})
TWO_ONLY = frozenset({"relation", "delay_s"})
DEFAULTS: Mapping[str, Any] = {
    "ramp_up_s": 0,
    "ramp_down_s": 0,
    "delay_s": 0,
    "relation": "together",
    "waveform": "symmetric_biphasic",
    "pattern": "continuous",
}


def applies(name: str, settings: Mapping[str, Any]) -> bool:
    """Tells whether a setting means anything for a plan's drive and number of channels."""
    if settings.get("drive") == "steady" and name in CYCLE_ONLY:
        return False
    return not (name in TWO_ONLY and len(settings.get("channels", ())) < 2)


def menu_settings(stimulator: Mapping[str, Any], settings: Mapping[str, Any]) -> list[tuple[str, Any]]:
    """Gives the plan's settings that this unit can set, in the order in which its menu asks."""
    names = [each["name"] for each in stimulator.get("settings", ())]
    found = [
        (name, settings.get(name, DEFAULTS.get(name)))
        for name in names
        if name in ON_THE_UNIT and applies(name, settings)
    ]
    return [(name, value) for name, value in found if _can_be_said(name, value)]


def _can_be_said(name: str, value: Any) -> bool:
    """Tells whether a value is one that a plan may hold; a draft may hold anything."""
    if name in NUMBERS:
        return isinstance(value, (int, float))
    return value in {"waveform": WAVEFORMS, "pattern": PATTERNS, "relation": RELATIONS}[name]


def value_text(name: str, value: Any, t: Translate) -> str:
    """Writes a setting's value with its unit, in words of the client's language."""
    if name in NUMBERS:
        return t(f"value.{name}", n=number_text(value))
    return t(f"value.{name}.{value}")
