"""What a unit can do, in the clinic's own words: wattlebird.stimulator/1. Nothing here knows a make or a model."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, floor

from webapp.stimulation import plan

UNKNOWN = "unknown"
SETTABLE_NAMES = (
    "frequency_hz",
    "pulse_width_us",
    "waveform",
    "pattern",
    "session_min",
    "ramp_up_s",
    "hold_s",
    "ramp_down_s",
    "rest_s",
    "ramps",
    "relation",
    "delay_s",
    "delay_effect",
    "delay_from",
    "alternating_rest",
    "starts_with",
    "at_end",
    "drive",
    "intensity_ma",
    "intensity_level",
)
SIDES = ("left", "right", "top", "bottom", "front", "back", "middle", UNKNOWN)
SWITCH_SOCKETS = ("none", "hand", "foot", "both")
SWITCH_DOES = ("press_on_press_off", "while_pressed", "on_release", "one_contraction", UNKNOWN, "none")
BEHAVIOURS: dict[str, tuple[str, ...]] = {
    "switch_does": SWITCH_DOES,
    "ramps": (*plan.RAMPS, UNKNOWN),
    "alternating_rest": (*plan.ALTERNATING_RESTS, UNKNOWN),
    "delay_from": (*plan.DELAY_FROM, UNKNOWN),
    "delay_effect": (*plan.DELAY_EFFECTS, UNKNOWN),
    "starts_with": (*plan.STARTS_WITH, UNKNOWN),
    "at_end": (*plan.AT_END, "goes_on", UNKNOWN),
    "clock_from": ("start", "first_strength", "none", UNKNOWN),
    "pause_stops_clock": ("yes", "no", UNKNOWN),
    "strength_changes": ("any_time", "while_working", "starts_contraction", UNKNOWN),
    "lost_contact": ("channel_to_zero", "both_to_zero", "stops", "nothing", UNKNOWN),
    "settings_survive_off": ("yes", "no", UNKNOWN),
}
_STEP_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Settable:
    """One thing that can be set: a range in steps, or a list of values; `how` says how one gets there."""

    name: str
    minimum: float | None = None
    maximum: float | None = None
    step: float | None = None
    values: tuple[float | str, ...] | None = None
    how: str = ""

    def takes(self, value: float | str) -> bool:
        """Says whether this very value can be set."""
        return value in self.nearest(value)

    def nearest(self, value: float | str) -> tuple[float | str, ...]:
        """Gives the value itself where it can be set, else the settable ones next to it, below and above."""
        if isinstance(value, str):
            return (value,) if value in (self.values or ()) else (self.values or ())
        steps = sorted(self._numbers_near(value))
        if any(abs(one - value) <= _STEP_TOLERANCE for one in steps):
            return (value,)
        below = [one for one in steps if one < value]
        above = [one for one in steps if one > value]
        return (*below[-1:], *above[:1])

    def _numbers_near(self, value: float) -> Iterator[float]:
        if self.values is not None:
            yield from (one for one in self.values if not isinstance(one, str))
            return
        low, high, step = self.minimum or 0.0, self.maximum or 0.0, self.step or 1.0
        last = floor((high - low) / step + _STEP_TOLERANCE)
        place = (value - low) / step
        for n in {0, last, floor(place + _STEP_TOLERANCE), ceil(place - _STEP_TOLERANCE)}:
            if 0 <= n <= last:
                yield round(low + n * step, 6)


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitChannel:
    """One channel of a unit: the sides of its socket and of its control, and the marks of its two leads."""

    socket_side: str = UNKNOWN
    control_side: str = UNKNOWN
    lead_mark_a: str = ""
    lead_mark_b: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stimulator:
    """A unit. `settings` stand in the order in which its own menu asks; any behaviour may be `unknown`."""

    name: str
    channels: tuple[UnitChannel, ...]
    drives: tuple[str, ...]
    settings: tuple[Settable, ...]
    quickest_stop: str
    maker_note: str = ""
    how_to_settings: str = ""
    stored_settings: str = ""
    turn_one_down: str = ""
    pause_does: str = ""
    key_lock: str = ""
    low_battery_sign: str = ""
    start_sign: str = ""
    switch_socket: str = "none"
    switch_does: str = "none"
    ramps: str = UNKNOWN
    alternating_rest: str = UNKNOWN
    delay_from: str = UNKNOWN
    delay_effect: str = UNKNOWN
    starts_with: str = UNKNOWN
    at_end: str = UNKNOWN
    clock_from: str = UNKNOWN
    pause_stops_clock: str = UNKNOWN
    strength_changes: str = UNKNOWN
    lost_contact: str = UNKNOWN
    settings_survive_off: str = UNKNOWN
    session_limit_min: int | None = None
    shows: str = "ma"

    def settable(self, name: str) -> Settable | None:
        """Gives what can be set under a name, or None."""
        return next((one for one in self.settings if one.name == name), None)
