"""Practice ranges: what trials and reviews used, by goal. Outside them is worth a note, nothing more.

Each range names its source. `practice_memory` marks what is common practice recalled without a source at hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from webapp.stimulation.finding import NOTE, Finding, make_finding
from webapp.stimulation.plan import Settings
from webapp.stimulation.units import MS_PER_S


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """A range of one quantity for one goal, with its source."""

    goal: str
    quantity: str
    least: float
    most: float
    source: str


def _range(goal: str, quantity: str, least: float, most: float, source: str) -> Range:
    return Range(goal=goal, quantity=quantity, least=least, most=most, source=source)


MUSCLE_RANGES = (
    _range("strengthening", "frequency_hz", 30, 75, "S10"),
    _range("strengthening", "pulse_width_us", 250, 400, "S10"),
    _range("strengthening", "ramp_up_s", 0.5, 3.5, "S10"),
    _range("strengthening", "on_s", 5, 15, "S10"),
    _range("strengthening", "off_s", 10, 50, "S10"),
    _range("wrist_extension", "frequency_hz", 20, 50, "S21"),
    _range("wrist_extension", "pulse_width_us", 200, 300, "practice_memory"),
    _range("wrist_extension", "on_s", 5, 10, "practice_memory"),
    _range("wrist_extension", "off_s", 5, 20, "practice_memory"),
    _range("thumb", "frequency_hz", 20, 40, "S22"),
    _range("shoulder_subluxation", "frequency_hz", 10, 36, "S15"),
    _range("shoulder_subluxation", "pulse_width_us", 200, 300, "S15"),
    _range("shoulder_subluxation", "on_s", 10, 15, "practice_memory"),
    _range("shoulder_subluxation", "off_s", 5, 30, "practice_memory"),
    _range("ankle_dorsiflexion", "frequency_hz", 30, 50, "practice_memory"),
    _range("ankle_dorsiflexion", "pulse_width_us", 200, 300, "practice_memory"),
    _range("ankle_dorsiflexion", "on_s", 5, 10, "practice_memory"),
    _range("ankle_dorsiflexion", "off_s", 10, 20, "practice_memory"),
    _range("spasticity_nmes", "frequency_hz", 20, 50, "practice_memory"),
)
STEADY_RANGES = (
    _range("tens_low", "frequency_hz", 1, 5, "S32"),
    _range("tens_low", "pulse_width_us", 200, 250, "S32"),
    _range("tens_high", "frequency_hz", 80, 150, "S32"),
    _range("tens_high", "pulse_width_us", 50, 200, "S32"),
    _range("tens_brief", "frequency_hz", 100, 150, "practice_memory"),
    _range("tens_brief", "pulse_width_us", 150, 250, "practice_memory"),
    _range("tens_brief", "session_min", 0, 15, "practice_memory"),
    _range("spasticity_tens", "frequency_hz", 50, 200, "S26"),
    _range("spasticity_tens", "pulse_width_us", 60, 300, "S26"),
)
GOALS = tuple(dict.fromkeys(one.goal for one in (*MUSCLE_RANGES, *STEADY_RANGES)))
_WITHOUT_GOAL = ("frequency_hz", "pulse_width_us")


def _values(s: Settings, on_s: float, off_s: float) -> Iterator[tuple[str, str, float]]:
    for quantity in _WITHOUT_GOAL:
        yield quantity, quantity, getattr(s, quantity)
        for n, channel in enumerate(s.channels):
            if (own := getattr(channel, quantity)) is not None:
                yield f"channels[{n}].{quantity}", quantity, own
    yield "session_min", "session_min", s.session_min
    if not s.is_steady:
        yield "ramp_up_s", "ramp_up_s", s.ramp_up_s
        yield "hold_s", "on_s", on_s
        yield "rest_s", "off_s", off_s


def _ranges_for(s: Settings, goal: str | None, quantity: str) -> list[Range]:
    table = STEADY_RANGES if s.is_steady else MUSCLE_RANGES
    if goal is None and quantity not in _WITHOUT_GOAL:
        return []
    return [one for one in table if one.quantity == quantity and goal in (None, one.goal)]


def _nearest(ranges: list[Range], value: float) -> Range:
    """Gives the range whose edge is nearest by ratio."""
    return min(ranges, key=lambda one: 1 - value / one.least if value < one.least else 1 - one.most / value)


def practice_findings(settings: Settings, on_ms: int, off_ms: int, goal: str | None = None) -> Iterator[Finding]:
    """Notes each value that lies outside every range of its goal; the nearest range is named.

    Without a goal only frequency and pulse width are looked at, against all goals of that kind of drive.
    """
    for field, quantity, value in _values(settings, on_ms / MS_PER_S, off_ms / MS_PER_S):
        ranges = _ranges_for(settings, goal, quantity)
        if not ranges or any(one.least * (1 - 1e-9) <= value <= one.most * (1 + 1e-9) for one in ranges):
            continue
        near = _nearest(ranges, value)
        yield make_finding(
            NOTE, f"practice_{quantity}", source=near.source, field=field, value=value, limit=(near.least, near.most)
        )
